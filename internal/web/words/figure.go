package words

// figures are the life cycle's figures in the shop's words, by the names that
// data files give them.
var figures = map[string]string{
	"infested": "Carries it at all",

	"MoultMean": "Days between moults",
	"MoultCV":   "How unevenly moults come",
	"MatMean":   "From settling to first laying",
	"MatCV":     "How unevenly they come to lay",
	"AdultLife": "Life of an adult on its host",
	"JuvHaz":    "Death of its young",
	"Lay":       "Eggs a day",
	"DevMean":   "From laid to ripe",
	"DevCV":     "How unevenly eggs ripen",
	"EggHaz":    "Loss of eggs",
	"HOn":       "Hatching on the animal",
	"Stay":      "Settling where it hatched",
	"Via":       "Eggs that outlive the moult",
	"HatchMean": "From shed to hatched",
	"Beta":      "Finding a host",
	"LarvaLife": "Life of a swimming larva",
	"Shed":      "Going with the shed skin",
	"Leave":     "Leaving the shed skin",
	"FreeLife":  "Life off the host",
	"PullEff":   "A pull finds the skin",
	"PMiss":     "A planned pull is missed",
	"KJ":        "A dose against its young",
	"KL":        "A dose against larvae",
	"MoultQ10":  "Warmth and moults",
	"WormQ10":   "Warmth and its own clocks",
	"HostHaz":   "Death of the animals",
	"Stress":    "Death after a dose",
	"Prev":      "Animals infested on arrival",
	"LoadMean":  "How many on an infested animal",
	"LoadK":     "How unevenly they sit",
	"FAdult":    "Adults among those that arrive",
	"Age":       "How long those have been laying",
	"sAdult":    "Seeing an adult",
	"sJuv":      "Seeing a young one",
	"sEgg":      "Seeing eggs",
	"photo":     "A usable picture",
	"fpAdult":   "An adult seen by mistake",
	"fpEgg":     "Eggs seen by mistake",
}

// Figure is what people call a figure of the life cycle; "" for a name that is
// none, such as a treatment's.
func Figure(name string) string { return figures[name] }
