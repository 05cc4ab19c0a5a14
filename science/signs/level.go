package signs

// Other is the suspect "something else".
const Other = "other"

// Cap is the most by which one answer may change the odds between two
// suspects, unless the table calls the sign impossible.
const Cap = 30

// otherShare is the starting share of "something else". Judgement.
const otherShare = 0.08

// levelShare turns an ordinal word into how often, before the options of a
// question are brought to a sum of one. Judgement; the words matter more than
// the figures, and Cap limits what they can do.
var levelShare = map[string]float64{
	"always":     0.93,
	"often":      0.60,
	"sometimes":  0.20,
	"rare":       0.03,
	"impossible": 0,
}

// never is the share of an option that the table does not name.
const never = 0.002

// startWeight turns the ordinal word for how usual a suspect is in an
// importer's shop into a weight. Judgement.
var startWeight = map[string]float64{
	"common":    10,
	"usual":     5,
	"uncommon":  2,
	"rare":      1,
	"very_rare": 0.4,
}

// settingFactor turns an ordinal word into the factor by which a setting
// changes a starting weight. The largest ratio of two of them is Cap.
var settingFactor = map[string]float64{
	"much_more":  5,
	"more":       2.5,
	"less":       1 / 2.5,
	"hardly":     1. / 6,
	"impossible": 0,
}
