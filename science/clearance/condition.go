package clearance

import (
	"bytes"
	"embed"
	"encoding/json"
	"fmt"
	"maps"
	"path"
	"slices"
	"strings"

	"holdfast/science/ref"
)

// Condition is a parasite with its clocks, what one sees of it, and what kills
// it. The worm with eggs is the pattern; other conditions are the same machinery
// with other figures.
type Condition struct {
	ID   string
	Name string
	// EggName is what a look calls its eggs ("egg row"); empty if it has none.
	EggName string
	Version int
	Note    string
	// Infested is the chance that a lot carries it at all.
	Infested Belief
	// EggMin is the number of eggs on an animal from which a look can see them.
	EggMin int
	// Cap is how many worms may ever be born in a run of up to 200 animals
	// before the run counts as not free.
	Cap        int
	Figures    [figures]Belief
	Treatments map[string]Treatment
}

// Treatment is something done to the animals that kills worms and spares eggs.
type Treatment struct {
	Name string `json:"name"`
	// Kind is "bath" or "dip".
	Kind string `json:"kind"`
	// Days is how long a full bath lasts; 0 for a dip.
	Days float64 `json:"days,omitempty"`
	// Kill is the share of adult worms that one full dose kills. One draw holds
	// for all doses of a lot.
	Kill Belief `json:"kill"`
	Note string `json:"note"`
}

type conditionJSON struct {
	ID         string                     `json:"id"`
	Name       string                     `json:"name"`
	EggName    string                     `json:"egg_name"`
	Version    int                        `json:"version"`
	Note       string                     `json:"note"`
	Infested   Belief                     `json:"infested"`
	EggMin     int                        `json:"egg_min"`
	Cap        int                        `json:"cap"`
	Figures    map[string]json.RawMessage `json:"figures"`
	Treatments map[string]Treatment       `json:"treatments"`
}

//go:embed conditions/*.json
var conditionFiles embed.FS

// Conditions returns the ids of the conditions that come with the program.
func Conditions() []string {
	entries, err := conditionFiles.ReadDir("conditions")
	if err != nil {
		panic(err) // embedded at build time
	}
	var ids []string
	for _, e := range entries {
		ids = append(ids, strings.TrimSuffix(e.Name(), ".json"))
	}
	return ids
}

// ConditionFile returns the data file of a condition that comes with the
// program, for a person to copy and change.
func ConditionFile(id string) ([]byte, error) {
	b, err := conditionFiles.ReadFile(path.Join("conditions", path.Base(id)+".json"))
	if err != nil {
		return nil, ref.Inputf("condition", "Choose one of: "+strings.Join(Conditions(), ", ")+".", "no life cycle is known for %q", id)
	}
	return b, nil
}

// LoadCondition returns a condition that comes with the program.
func LoadCondition(id string) (*Condition, error) {
	b, err := ConditionFile(id)
	if err != nil {
		return nil, err
	}
	return ParseCondition(b)
}

// ParseCondition reads the data file of a condition. Every figure must be there;
// an unknown one is an error.
func ParseCondition(data []byte) (*Condition, error) {
	var j conditionJSON
	d := json.NewDecoder(bytes.NewReader(data))
	d.DisallowUnknownFields()
	if err := d.Decode(&j); err != nil {
		return nil, ref.Inputf("condition", "Copy a data file that comes with the program and change its numbers.", "the condition cannot be read: %v", err)
	}
	c := &Condition{ID: j.ID, Name: j.Name, EggName: j.EggName, Version: j.Version, Note: j.Note,
		Infested: j.Infested, EggMin: j.EggMin, Cap: j.Cap, Treatments: j.Treatments}
	if err := c.Believe(j.Figures); err != nil {
		return nil, err
	}
	for f := range c.Figures {
		if c.Figures[f].Kind == "" {
			return nil, ref.Inputf("condition", "Copy the missing figure from a data file that comes with the program.", "figure %s is missing", Figure(f))
		}
	}
	return c, c.Check()
}

// Believe changes figures by their names, each a belief as data files write it
// (see Belief.UnmarshalJSON). The names of treatments change their kill,
// "infested" the chance that a lot carries the condition at all.
func (c *Condition) Believe(changes map[string]json.RawMessage) error {
	for _, name := range slices.Sorted(maps.Keys(changes)) {
		if t, ok := c.Treatments[name]; ok {
			if err := json.Unmarshal(changes[name], &t.Kill); err != nil {
				return named(name, err)
			}
			c.Treatments[name] = t
			continue
		}
		if name == "infested" {
			if err := json.Unmarshal(changes[name], &c.Infested); err != nil {
				return named(name, err)
			}
			continue
		}
		f, ok := FigureNamed(name)
		if !ok {
			return ref.Inputf("figures", "Use the names of the condition's data file.", "unknown figure %q", name)
		}
		if err := json.Unmarshal(changes[name], &c.Figures[f]); err != nil {
			return named(name, err)
		}
	}
	return nil
}

func named(name string, err error) error {
	if in, ok := err.(*ref.InputError); ok {
		return ref.Inputf(name, in.Hint, "%s", in.Message)
	}
	return ref.Inputf(name, "Copy the form from a data file that comes with the program.", "cannot be read: %v", err)
}

// Clone returns a copy whose beliefs may be changed.
func (c *Condition) Clone() *Condition {
	n := *c
	n.Treatments = maps.Clone(c.Treatments)
	return &n
}

// shares are the figures that are chances or shares, from 0 to 1.
var shares = []Figure{HOn, Stay, Via, Shed, PullEff, PMiss, Stress, Prev, FAdult, SAdult, SJuv, SEgg, Photo, FPAdult, FPEgg}

// positive are the figures that must be above 0.
var positive = []Figure{MoultMean, AdultLife, LarvaLife, FreeLife, MoultQ10, WormQ10, Prev, LoadMean, LoadK}

// Check returns an *ref.InputError if the beliefs cannot hold together, such as a
// chance above 1. Believe does not call it.
func (c *Condition) Check() error {
	bad := func(name, hint, format string, args ...any) error { return ref.Inputf(name, hint, format, args...) }
	for _, f := range shares {
		if b := c.Figures[f]; b.Kind == "ln" && b.A >= 1 || (b.Kind == "fix" || b.Kind == "unif") && max(b.A, b.B) > 1 {
			return bad(f.String(), "Give a share from 0 to 1.", "a chance cannot be above 1")
		}
	}
	for _, f := range positive {
		if b := c.Figures[f]; b.Kind == "fix" && b.A <= 0 {
			return bad(f.String(), "Give a number above 0.", "%g is not possible here", b.A)
		}
	}
	if c.Infested.Kind == "" || c.Infested.Mean() < 0 || c.Infested.Mean() > 1 {
		return bad("infested", "Give a chance from 0 to 1.", "the chance that a lot is infested is missing or out of range")
	}
	if c.Cap < 100 || c.EggMin < 1 {
		return bad("cap", "Copy both from a data file that comes with the program.", "cap (%d) or egg_min (%d) is too small", c.Cap, c.EggMin)
	}
	for id, t := range c.Treatments {
		if t.Kind != "dip" && (t.Kind != "bath" || t.Days <= 0) {
			return bad(id, `Use "dip", or "bath" with its days.`, "treatment %s is neither a bath nor a dip", id)
		}
	}
	return nil
}

// treatmentIDs returns the condition's treatments in a fixed order.
func (c *Condition) treatmentIDs() []string { return slices.Sorted(maps.Keys(c.Treatments)) }

// draw fills in one possible truth: a value for every figure and a kill for
// every treatment. Biology (what holds for every lot) and the state of the lot at
// arrival have streams of their own.
func (c *Condition) draw(k key, v *Values, kill []float64, ids []string) {
	figs := k.child(runFigures)
	for f := range c.Figures {
		b := &c.Figures[f]
		x := b.draw(figs, at(uint64(f), 0))
		v[f] = x
	}
	for _, f := range shares {
		v[f] = min(v[f], 1)
	}
	for i, id := range ids {
		t := c.Treatments[id]
		kill[i] = t.Kill.draw(k.child(runKills).child(hashName(id)), 0)
	}
}

// hashName turns a treatment's id into a number, so that its draw does not
// depend on what other treatments there are (FNV-1a).
func hashName(s string) uint64 {
	h := uint64(14695981039346656037)
	for i := range len(s) {
		h = (h ^ uint64(s[i])) * 1099511628211
	}
	return h
}

// String names the condition and the version of its data.
func (c *Condition) String() string { return fmt.Sprintf("%s (data %d)", c.Name, c.Version) }
