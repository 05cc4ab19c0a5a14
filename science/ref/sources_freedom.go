package ref

var freedomSources = []Source{
	{Key: "cameron1998", Seen: "memory",
		Citation: "Cameron AR, Baldock FC. A new probability formula for surveys to substantiate freedom from disease. Preventive Veterinary Medicine 1998;34:1-17. Companion paper: Two-stage sampling in surveys to substantiate freedom from disease. 34:19-30."},
	{Key: "martin2007", Seen: "memory",
		Citation: "Martin PAJ, Cameron AR, Greiner M. Demonstrating freedom from disease using multiple complex data sources 1: a new methodology based on scenario trees. Preventive Veterinary Medicine 2007;79:71-97."},
	{Key: "fisher1935", Seen: "memory",
		Citation: "Fisher RA. The logic of inductive inference. Journal of the Royal Statistical Society 1935;98:39-82 (the noncentral hypergeometric distribution)."},
}
