package ref

var waterSources = []Source{
	{Key: "jcgm100", Citation: "JCGM 100:2008. Evaluation of measurement data: Guide to the expression of uncertainty in measurement. Section 5.1.", Seen: "memory"},
	{Key: "freezecherry1979", Citation: "Freeze R.A., Cherry J.A. 1979. Groundwater. Prentice-Hall. Table 2.4, porosity of gravel 25-40 %, sand 25-50 %.", Seen: "memory"},
	{Key: "nisthb44", Citation: "NIST Handbook 44, Appendix C, General tables of units of measurement; NIST Special Publication 811.", Seen: "memory"},
	{Key: "emerson1975", Citation: "Emerson K., Russo R.C., Lund R.E., Thurston R.V. 1975. Aqueous ammonia equilibrium calculations: effect of pH and temperature. J. Fish. Res. Board Can. 32:2379-2383.", DOI: "10.1139/f75-274", Seen: "memory"},
	{Key: "epa1989", Citation: "U.S. Environmental Protection Agency 1989. Ambient water quality criteria for ammonia (saltwater). EPA 440/5-88-004; salt term after Hampson 1977 and Whitfield 1974.", Seen: "memory"},
	{Key: "doe1994", Citation: "DOE 1994. Handbook of methods for the analysis of the various parameters of the carbon dioxide system in sea water, version 2: ionic strength from salinity.", Seen: "memory"},
	{Key: "benson1984", Citation: "Benson B.B., Krause D. 1984. The concentration and isotopic fractionation of oxygen dissolved in freshwater and seawater in equilibrium with the atmosphere. Limnol. Oceanogr. 29:620-632.", DOI: "10.4319/lo.1984.29.3.0620", Seen: "memory"},
	{Key: "weiss1970", Citation: "Weiss R.F. 1970. The solubility of nitrogen, oxygen and argon in water and seawater. Deep-Sea Res. 17:721-735.", DOI: "10.1016/0011-7471(70)90037-9", Seen: "memory"},
	{Key: "icao1993", Citation: "ICAO 1993. Manual of the ICAO standard atmosphere, Doc 7488.", Seen: "memory"},
	{Key: "fofonoff1983", Citation: "Fofonoff N.P., Millard R.C. 1983. Algorithms for computation of fundamental properties of seawater. UNESCO Technical Papers in Marine Science 44.", Seen: "memory"},
	{Key: "hill1986", Citation: "Hill K.D., Dauphinee T.M., Woods D.J. 1986. The extension of the Practical Salinity Scale 1978 to low salinities. IEEE J. Oceanic Eng. 11:109-112; as run in GSW 3.6.16.", DOI: "10.1109/JOE.1986.1145154", Seen: "output"},
	{Key: "perry1997", Citation: "Perry's Chemical Engineers' Handbook, densities of aqueous sodium chloride; CRC Handbook of Chemistry and Physics, concentrative properties at 20 C.", Seen: "memory"},
	{Key: "laliberte2004", Citation: "Laliberté M., Cooper W.E. 2004. Model for calculating the density of aqueous electrolyte solutions. J. Chem. Eng. Data 49:1141-1151; coefficients of the 2009 revision.", DOI: "10.1021/je0498659", Seen: "memory"},
	{Key: "plummer1982", Citation: "Plummer L.N., Busenberg E. 1982. The solubilities of calcite, aragonite and vaterite in CO2-H2O solutions between 0 and 90 C. Geochim. Cosmochim. Acta 46:1011-1040; as in the database wateq4f.dat of PHREEQC 3.8.9.", DOI: "10.1016/0016-7037(82)90056-4", Seen: "output"},
	{Key: "harned1958", Citation: "Harned H.S., Owen B.B. 1958. The physical chemistry of electrolytic solutions, 3rd ed. Reinhold. Ion product of water.", Seen: "memory"},
	{Key: "stumm1996", Citation: "Stumm W., Morgan J.J. 1996. Aquatic chemistry, 3rd ed. Wiley. Davies equation; mixing by alkalinity and total carbonate.", Seen: "memory"},
	{Key: "griffin1973", Citation: "Griffin R.A., Jurinak J.J. 1973. Estimation of activity coefficients from the electrical conductivity of natural aquatic systems and soil extracts. Soil Sci. 116:26-30.", DOI: "10.1097/00010694-197307000-00005", Seen: "memory"},
	{Key: "standardmethods", Citation: "APHA, AWWA, WEF. Standard Methods for the Examination of Water and Wastewater, methods 2510 (conductivity) and 4500-O (oxygen).", Seen: "memory"},
	{Key: "crcconductivity", Citation: "CRC Handbook of Chemistry and Physics, equivalent conductivity of electrolytes in aqueous solution and ionic conductivity at infinite dilution, 25 C.", Seen: "memory"},
	{Key: "phreeqc3", Citation: "Parkhurst D.L., Appelo C.A.J. 2013. Description of input and examples for PHREEQC version 3. U.S. Geological Survey Techniques and Methods 6-A43; program 3.8.9.", DOI: "10.3133/tm6A43", Seen: "output"},
}
