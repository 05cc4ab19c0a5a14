package clearance

// Figure names one uncertain number of the model.
type Figure int

// The figures. Durations and rates are at 24 °C; the values of each condition
// with range and basis are in its data file.
const (
	MoultMean Figure = iota // d, mean interval between moults of a host
	MoultCV                 // its coefficient of variation
	MatMean                 // d, attached juvenile to adult
	MatCV                   // its coefficient of variation
	AdultLife               // d, mean
	JuvHaz                  // 1/d, death of juveniles
	Lay                     // fertile eggs per adult and day
	DevMean                 // d, development of an egg
	DevCV                   // its coefficient of variation
	EggHaz                  // 1/d, loss of eggs while on the host
	HOn                     // chance that a ripe egg hatches on the animal
	Stay                    // chance that a larva hatched there settles there
	Via                     // chance that an egg survives being shed
	HatchMean               // d, shed and ripe to hatched (Gamma, shape 2)
	Beta                    // l/d, finding one host in a litre
	LarvaLife               // d, mean
	Shed                    // chance that a worm goes with the shed skin
	Leave                   // d, mean, until a displaced worm leaves the skin
	FreeLife                // d, mean, of a worm swimming after that
	PullEff                 // chance that one pull finds a skin
	PMiss                   // chance that a planned day of pulls is missed
	KJ                      // hazard of treatment, juvenile over adult
	KL                      // hazard of treatment, larva over adult
	MoultQ10                // factor on moulting per 10 °C
	WormQ10                 // factor on the worm's clocks per 10 °C
	HostHaz                 // 1/d, death of hosts
	Stress                  // chance that a host dies within 2 d of a dose
	Prev                    // share of hosts infested at arrival, if any is
	LoadMean                // worms per infested host, before truncation at 1
	LoadK                   // its negative binomial size
	FAdult                  // share of adults among arriving worms
	Age                     // d, mean age of arriving adults
	SAdult                  // chance to see one adult in a good look
	SJuv                    // chance to see one juvenile
	SEgg                    // chance to see an egg row
	Photo                   // share of a look that was usable; scales the three
	FPAdult                 // chance of a false worm on a clean animal
	FPEgg                   // chance of a false egg row on a clean animal
	figures
)

var figureNames = [figures]string{
	"MoultMean", "MoultCV", "MatMean", "MatCV", "AdultLife", "JuvHaz", "Lay",
	"DevMean", "DevCV", "EggHaz", "HOn", "Stay", "Via", "HatchMean", "Beta",
	"LarvaLife", "Shed", "Leave", "FreeLife", "PullEff", "PMiss", "KJ", "KL",
	"MoultQ10", "WormQ10", "HostHaz", "Stress", "Prev", "LoadMean", "LoadK", "FAdult", "Age", "sAdult", "sJuv", "sEgg", "photo",
	"fpAdult", "fpEgg",
}

// String returns the figure's name as data files spell it.
func (f Figure) String() string { return figureNames[f] }

// FigureNamed returns the figure that data files call name.
func FigureNamed(name string) (Figure, bool) {
	for i, n := range figureNames {
		if n == name {
			return Figure(i), true
		}
	}
	return 0, false
}

// Values are one value for every figure: one possible truth.
type Values [figures]float64
