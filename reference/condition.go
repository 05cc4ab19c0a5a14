package reference

// Stable ids of what an inspection can report on an animal. The desk writes
// them into its journal.
const (
	RostrumWorm    = "rostrum_worm"    // Scutariella-like temnocephalid flatworm
	EggRow         = "egg_row"         // rows of eggs under the gill cover: a sign of RostrumWorm
	SegmentedWorm  = "segmented_worm"  // branchiobdellid, Holtodrilus-like
	OtherFlatworm  = "other_flatworm"  // Monodiscus-like and others
	Ciliates       = "ciliates"        // peritrichs: fuzz and tufts
	GreenGrowth    = "green_growth"    // Cladogonium
	MuscleParasite = "muscle_parasite" // microsporidia of muscle
	ShellLesion    = "shell_lesion"    // rust spots, eroded pits
	WaterMould     = "water_mould"     // cotton on wounds and dead eggs
	GillBulge      = "gill_bulge"      // bopyrid isopod
	ListedDisease  = "listed_disease"  // suspicion of a notifiable disease
	CrayfishPlague = "crayfish_plague" // Aphanomyces astaci
	Other          = "other"           // something else, described in words
	CannotTell     = "cannot_tell"     // seen, not judged
)

// Kind sorts what can be seen.
type Kind string

// Kinds, from what lives on the animal to what is not on it at all.
const (
	Parasite Kind = "parasite" // takes from the animal
	Epibiont Kind = "epibiont" // lives on it, harms when many
	Disease  Kind = "disease"  // infection
	Disorder Kind = "disorder" // not infectious
	Pest     Kind = "pest"     // lives in the tank
	Normal   Kind = "normal"   // belongs to a healthy animal
	Artefact Kind = "artefact" // dirt, bubbles, glare
	Unknown  Kind = "unknown"  // something else, cannot tell
)

// Isolation is how far to keep animals with a condition apart.
type Isolation string

// Isolation levels, from none to a standstill.
const (
	NoIsolation    Isolation = "none"            // nothing beyond the usual
	OwnTools       Isolation = "own_tools"       // own net and tube, last on the round
	OwnTank        Isolation = "own_tank"        // no shared water, own tools, last on the round
	HoldEverything Isolation = "hold_everything" // nothing in, nothing out, call the authority
)

// Condition is anything that may be seen on an animal or beside it: parasite,
// epibiont, disease, disorder, tank pest, or a normal thing mistaken for one.
type Condition struct {
	ID         string   `yaml:"id" json:"id"`
	Name       string   `yaml:"name" json:"name"`
	OtherNames []string `yaml:"other_names" json:"other_names,omitempty"`
	// LocalNames are the shop's own words for it.
	LocalNames []string `yaml:"local_names" json:"local_names,omitempty"`
	Scientific string   `yaml:"scientific" json:"scientific,omitempty"`
	Kind       Kind     `yaml:"kind" json:"kind"`
	Agent      string   `yaml:"agent" json:"agent,omitempty"`
	// SignOf names the condition that this is a stage or sign of; such an entry
	// has no chance of clear of its own.
	SignOf string `yaml:"sign_of" json:"sign_of,omitempty"`
	// Key is its place among the verdict keys of an inspection, from 1; 0 means
	// it is reached through "something else".
	Key int `yaml:"key" json:"key,omitempty"`
	// KeyLabel is the short word on that key.
	KeyLabel string `yaml:"key_label" json:"key_label,omitempty"`
	// Tracked means that the desk keeps a chance of clear of it for a lot whose
	// species can carry it, and that the release gate asks for that chance.
	Tracked bool `yaml:"tracked" json:"tracked"`
	// CarriedBy lists the ids of the groups whose animals can carry it.
	CarriedBy []string `yaml:"carried_by" json:"carried_by,omitempty"`
	// Sites lists site ids, most usual first.
	Sites []string `yaml:"sites" json:"sites,omitempty"`
	// SizeMM is the usual length in millimetres, smallest and largest; 0, 0
	// where a length means nothing.
	SizeMM [2]float64 `yaml:"size_mm" json:"size_mm"`
	// NotifiableSuspect: the law may require a report, no treatment, no movement.
	NotifiableSuspect bool `yaml:"notifiable_suspect" json:"notifiable_suspect"`
	// KillsNoCure: it kills and no cure is proven. No override of a hold.
	KillsNoCure bool      `yaml:"kills_no_cure" json:"kills_no_cure"`
	Isolation   Isolation `yaml:"isolation" json:"isolation,omitempty"`
	// LifeCycle is the id of the life cycle the course planner uses, or empty
	// when the planner does not know it.
	LifeCycle string `yaml:"life_cycle" json:"life_cycle,omitempty"`
	// Listed are ids of listed diseases that must be thought of.
	Listed []string `yaml:"listed" json:"listed,omitempty"`
	// Drawing is the name of the embedded drawing, without its ending.
	Drawing string `yaml:"drawing" json:"drawing,omitempty"`

	Look    []Claim  `yaml:"look" json:"look,omitempty"`
	Where   []Claim  `yaml:"where" json:"where,omitempty"`
	Life    []Claim  `yaml:"life" json:"life,omitempty"`
	Spreads []Claim  `yaml:"spreads" json:"spreads,omitempty"`
	Harm    []Claim  `yaml:"harm" json:"harm,omitempty"`
	Do      []Claim  `yaml:"do" json:"do,omitempty"`
	Stop    []Claim  `yaml:"stop" json:"stop,omitempty"`
	Law     []Claim  `yaml:"law" json:"law,omitempty"`
	Tell    []Claim  `yaml:"tell" json:"tell,omitempty"`
	Alike   []Alike  `yaml:"alike" json:"alike,omitempty"`
	Options []Option `yaml:"options" json:"options,omitempty"`
}

// Alike says how to tell a condition from one that looks like it.
type Alike struct {
	ID    string `yaml:"id" json:"id"`
	Claim `yaml:",inline"`
}

// Option is a treatment that people consider for a condition.
type Option struct {
	Medicine string `yaml:"medicine" json:"medicine"`
	// Evidence is one of "good", "moderate", "analogy", "practice", "none".
	Evidence string `yaml:"evidence" json:"evidence"`
	Claim    `yaml:",inline"`
}

// Sections returns what is to be said of the condition under its headings.
func (c Condition) Sections() []Section {
	return sections(
		Section{"What it looks like", c.Look},
		Section{"Where to look", c.Where},
		Section{"How it lives", c.Life},
		Section{"How it spreads", c.Spreads},
		Section{"Harm", c.Harm},
		Section{"What to do", c.Do},
		Section{"When to stop", c.Stop},
		Section{"The law", c.Law},
		Section{"What a buyer must be told", c.Tell},
	)
}

// IsCondition reports whether it is something wrong with an animal, rather
// than a tank pest or a look-alike.
func (c Condition) IsCondition() bool {
	switch c.Kind {
	case Parasite, Epibiont, Disease, Disorder, Unknown:
		return true
	}
	return false
}

// What is the word for its kind in searches: "condition", "look-alike" or
// "pest".
func (c Condition) What() string {
	switch {
	case c.IsLookAlike():
		return "look-alike"
	case c.Kind == Pest:
		return "pest"
	}
	return "condition"
}

// IsLookAlike reports whether it is normal or not of the animal at all.
func (c Condition) IsLookAlike() bool { return c.Kind == Normal || c.Kind == Artefact }
