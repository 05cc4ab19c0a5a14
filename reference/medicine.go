package reference

import "fmt"

// Use says how far people may think of an active ingredient at all.
type Use string

// Uses, from what is in use to what kills.
const (
	Usable Use = "usable" // in use, with its cautions
	Avoid  Use = "avoid"  // in use, more risk than gain for most
	Never  Use = "never"  // kills shrimp
)

// Medicine is one active ingredient in one way of using it. Product names do
// not occur.
type Medicine struct {
	ID     string `yaml:"id" json:"id"`
	Name   string `yaml:"name" json:"name"`
	Active string `yaml:"active" json:"active"`
	Use    Use    `yaml:"use" json:"use"`
	// Kills and Spares are ids of conditions.
	Kills    []string `yaml:"kills" json:"kills,omitempty"`
	Spares   []string `yaml:"spares" json:"spares,omitempty"`
	Doses    []Dose   `yaml:"doses" json:"doses,omitempty"`
	Cautions []Claim  `yaml:"cautions" json:"cautions"`
}

// Dose is a range met in practice. It is not advice.
type Dose struct {
	Low  float64 `yaml:"low" json:"low"`
	High float64 `yaml:"high" json:"high"`
	// Unit is "g/L" or "mg/L" of the active ingredient.
	Unit     string  `yaml:"unit" json:"unit"`
	TimeLow  float64 `yaml:"time_low" json:"time_low"`
	TimeHigh float64 `yaml:"time_high" json:"time_high"`
	// TimeUnit is "s", "min" or "h".
	TimeUnit string `yaml:"time_unit" json:"time_unit"`
	From     string `yaml:"from" json:"from"`
	Caution  string `yaml:"caution" json:"caution"`
}

// Sections returns what is to be said of the medicine under its headings.
func (m Medicine) Sections() []Section {
	return sections(Section{"Ranges met, not advice", m.doseClaims()}, Section{"Cautions", m.Cautions})
}

// doseClaims are the doses in words, each with its caution.
func (m Medicine) doseClaims() []Claim {
	var out []Claim
	for _, d := range m.Doses {
		out = append(out, Claim{
			Say:     fmt.Sprintf("%g to %g %s for %g to %g %s", d.Low, d.High, d.Unit, d.TimeLow, d.TimeHigh, d.TimeUnit),
			From:    d.From,
			Caution: d.Caution,
		})
	}
	return out
}
