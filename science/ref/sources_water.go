package ref

var waterSources = []Source{
	{Key: "jcgm100", Citation: "JCGM 100:2008. Evaluation of measurement data: Guide to the expression of uncertainty in measurement. Section 5.1.", Seen: "memory"},
	{Key: "freezecherry1979", Citation: "Freeze R.A., Cherry J.A. 1979. Groundwater. Prentice-Hall. Table 2.4, porosity of gravel 25-40 %, sand 25-50 %.", Seen: "memory"},
}
