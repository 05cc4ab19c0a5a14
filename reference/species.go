package reference

import "fmt"

// Group is a set of species that carry the same things and are kept alike.
type Group struct {
	ID   string `yaml:"id" json:"id"`
	Name string `yaml:"name" json:"name"`
	// Animal is "shrimp", "prawn", "crayfish", "crab", "snail" or "fish".
	Animal string  `yaml:"animal" json:"animal"`
	Note   []Claim `yaml:"note" json:"note,omitempty"`
}

// Span is a range a species is kept in.
type Span struct {
	Low  float64 `yaml:"low" json:"low"`
	High float64 `yaml:"high" json:"high"`
	From string  `yaml:"from" json:"from"`
}

// Needs are the ranges a species is kept in. A range whose From is empty is
// not known here.
type Needs struct {
	TempC Span `yaml:"temp_c" json:"temp_c"`
	PH    Span `yaml:"ph" json:"ph"`
	// GH and KH are in degrees of German hardness.
	GH Span `yaml:"gh" json:"gh"`
	KH Span `yaml:"kh" json:"kh"`
	// Conductivity is in microsiemens per centimetre at 25 °C.
	Conductivity Span `yaml:"conductivity" json:"conductivity"`
}

// Strain is a colour form as the trade names it.
type Strain struct {
	ID   string `yaml:"id" json:"id"`
	Name string `yaml:"name" json:"name"`
	// Body is "clear", "part" or "opaque": how well one sees through the shell,
	// and so how well eggs under the gill cover can be seen.
	Body string `yaml:"body" json:"body"`
}

// Kept is a species, or a group of species the trade does not part, with its
// strains and needs.
type Kept struct {
	ID         string   `yaml:"id" json:"id"`
	Name       string   `yaml:"name" json:"name"`
	Scientific string   `yaml:"scientific" json:"scientific"`
	OtherNames []string `yaml:"other_names" json:"other_names,omitempty"`
	Group      string   `yaml:"group" json:"group"`
	// LengthMM is the adult length, smallest and largest.
	LengthMM [2]float64 `yaml:"length_mm" json:"length_mm"`
	Needs    Needs      `yaml:"needs" json:"needs"`
	Strains  []Strain   `yaml:"strains" json:"strains,omitempty"`
	Note     []Claim    `yaml:"note" json:"note,omitempty"`
	// Harmed lists ids of medicines that this species must not meet.
	Harmed []string `yaml:"harmed" json:"harmed,omitempty"`
}

// Sections returns the needs in words and the notes.
func (k Kept) Sections() []Section {
	needs := []Claim{}
	for _, n := range []struct {
		name, unit string
		span       Span
	}{
		{"Temperature", " °C", k.Needs.TempC},
		{"pH", "", k.Needs.PH},
		{"General hardness", " °dH", k.Needs.GH},
		{"Carbonate hardness", " °dH", k.Needs.KH},
		{"Conductivity", " µS/cm", k.Needs.Conductivity},
	} {
		if n.span.From != "" {
			needs = append(needs, Claim{Say: fmt.Sprintf("%s %g to %g%s", n.name, n.span.Low, n.span.High, n.unit), From: n.span.From})
		}
	}
	return sections(Section{"Kept at", needs}, Section{"To know", k.Note})
}

// Sections returns what is to be said of the group.
func (g Group) Sections() []Section { return sections(Section{"To know", g.Note}) }
