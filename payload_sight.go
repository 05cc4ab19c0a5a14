package holdfast

// SightSet states how well one way of looking sees one condition on an animal
// seen from all sides, as the shop learned it from animals that were looked at
// twice. The newest one for the same way and condition holds.
type SightSet struct {
	By        string `json:"by"`
	Condition string `json:"condition"`
	// A and B shape the beta distribution of the sensitivity; both 0 mean that
	// the desk's own guess holds again.
	A float64 `json:"a"`
	B float64 `json:"b"`
	// Carriers is on how many animals known to carry it this rests.
	Carriers int `json:"carriers"`
}

// KindSightSet is the kind of a [SightSet].
const KindSightSet Kind = "sight_set"

// Kind implements [Payload].
func (*SightSet) Kind() Kind { return KindSightSet }

func (p *SightSet) check(c *checker) {
	c.oneOf("by", p.By, ByEye, ByLens, ByPhoto, ByMicroscope)
	c.name("condition", p.Condition)
	if p.A != 0 || p.B != 0 {
		c.number("a", p.A, 0.1, 10000, "")
		c.number("b", p.B, 0.1, 10000, "")
	}
	c.count("carriers", p.Carriers, 0)
}

// SightKey names a way of looking at a condition.
type SightKey struct{ By, Condition string }
