package ref

var clearanceSources = []Source{
	{
		Key:      "steele2014",
		Citation: "Steele, G.L., Lea, D., Flood, C.H. (2014). Fast splittable pseudorandom number generators. ACM SIGPLAN Notices 49(10), 453-472.",
		DOI:      "10.1145/2714064.2660195",
		Seen:     "memory",
	},
	{
		Key:      "kahn1951",
		Citation: "Kahn, H., Harris, T.E. (1951). Estimation of particle transmission by random sampling. National Bureau of Standards Applied Mathematics Series 12, 27-30.",
		Seen:     "memory",
	},
	{
		Key:      "marsaglia2000ziggurat",
		Citation: "Marsaglia, G., Tsang, W.W. (2000). The ziggurat method for generating random variables. Journal of Statistical Software 5(8), 1-7.",
		DOI:      "10.18637/jss.v005.i08",
		Seen:     "memory",
	},
	{
		Key:      "marsaglia2000gamma",
		Citation: "Marsaglia, G., Tsang, W.W. (2000). A simple method for generating gamma variables. ACM Transactions on Mathematical Software 26(3), 363-372.",
		DOI:      "10.1145/358407.358414",
		Seen:     "memory",
	},
}
