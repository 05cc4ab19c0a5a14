package signs

import "testing"

// TestContradictionsMakeNobodySure ticks what cannot all be true of one thing:
// either "something else" leads, or nobody has half of the weight, and no
// alarm is raised by it.
func TestContradictionsMakeNobodySure(t *testing.T) {
	for _, a := range []Answers{
		{"form": {"skin"}, "motion": {"loops"}, "depth": {"inside"}},                                                                 // an empty skin that walks inside
		{"site": {"water"}, "depth": {"inside"}, "form": {"pit"}, "motion": {"swims"}},                                               // a swimming hole
		{"deaths": {"none"}, "behaviour": {"frantic"}, "time": {"steady"}, "share": {"all"}, "others": {"ill"}},                      // all race for ever, none dies, others are ill
		{"form": {"beads"}, "sex": {"male"}, "site": {"pleopods"}, "motion": {"jerks"}, "colour": {"silver"}},                        // mirror-bright jerking eggs on a male
		{"form": {"crown"}, "site": {"muscle"}, "colour": {"silver"}, "moult": {"stays"}},                                            // a polyp in the muscle
		{"size": {"over_10_mm"}, "form": {"dots"}, "arrangement": {"pair"}, "motion": {"glides"}, "site": {"gill_chamber", "floor"}}, // gliding dots longer than the animal
	} {
		r, err := Default().Rank(a)
		if err != nil {
			t.Fatal(err)
		}
		if lead := r.Suspects[0]; lead.ID != Other && lead.Share >= 0.5 {
			t.Errorf("%v: %s leads with %.2f", a, lead.ID, lead.Share)
		}
		if r.Hold {
			t.Errorf("%v holds everything", a)
		}
	}
}
