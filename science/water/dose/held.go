package dose

import (
	"fmt"

	"holdfast/science/ref"
)

// Whether a bath's conditions held; the words that the journal stores.
const (
	Full    = "full"
	Partial = "partial"
	Void    = "void"
)

// Bath is how a bath really went. A question that nobody answered is nil.
type Bath struct {
	Ingredient   string  `json:"ingredient"`
	TargetMgL    float64 `json:"target_mg_l"`
	PlannedHours float64 `json:"planned_hours"`
	Hours        float64 `json:"hours"`
	// WeighedMgL is what the weighed dose made in the true water.
	WeighedMgL *float64 `json:"weighed_mg_l"`
	CarbonOut  *bool    `json:"carbon_out"`
	UVOff      *bool    `json:"uv_off"`
	// LampOff asks after the tank's light, for what light breaks down.
	LampOff *bool    `json:"lamp_off"`
	LowestC *float64 `json:"lowest_c"`
}

// Verdict is what a bath counts as, and why.
type Verdict struct {
	Held    string   `json:"held"`
	Failed  []string `json:"failed,omitempty"`
	Unknown []string `json:"unknown,omitempty"`
}

// Shares below which a bath counts less. Judgement: nobody has measured them.
var (
	bathVoidBelow    = ref.Param{Value: 0.5, Low: 0.3, High: 0.7, Unit: "share", Basis: ref.Guess, Note: "Of the hours or the dose, below which a bath counts as none."}
	bathPartialBelow = ref.Param{Value: 0.9, Low: 0.8, High: 0.95, Unit: "share", Basis: ref.Guess, Note: "Of the hours or the dose, below which a bath counts in part."}
)

// Judge says whether the conditions of a bath held. Carbon left in, or less
// than half of the time or dose, voids it; ending early, too weak, too cold,
// lamp or germ lamp on make it partial, and so does a question about carbon
// that nobody answered. The error is a *ref.InputError for ingredient or hours.
func Judge(b Bath) (Verdict, error) {
	ingredient, err := Find(b.Ingredient)
	if err != nil {
		return Verdict{}, err
	}
	if !(b.PlannedHours > 0) || !(b.Hours >= 0) {
		return Verdict{}, ref.Inputf("hours", "Give the hours planned and the hours it really ran.", "%g of %g hours cannot be", b.Hours, b.PlannedHours)
	}
	v := &verdict{}
	v.share(b.Hours/b.PlannedHours, fmt.Sprintf("ended after %.3g of %.3g hours", b.Hours, b.PlannedHours))
	if b.WeighedMgL != nil && b.TargetMgL > 0 {
		v.share(*b.WeighedMgL/b.TargetMgL, fmt.Sprintf("weighed to %.3g of %.3g mg/l", *b.WeighedMgL, b.TargetMgL))
	} else {
		v.unknown("what was really weighed")
	}
	if b.CarbonOut == nil && ingredient.CarbonTakes {
		v.fail(Partial, "nobody said that carbon was out")
	} else {
		v.answer(b.CarbonOut, ingredient.CarbonTakes, Void, "carbon or resin was left in", "")
	}
	v.answer(b.UVOff, ingredient.LightBreaks, Partial, "the germ lamp (UV) was on", "whether the germ lamp was off")
	v.answer(b.LampOff, ingredient.LightBreaks, Partial, "the lamp was on", "whether the lamp was off")
	if ingredient.ColdestC > 0 {
		if b.LowestC == nil {
			v.unknown("how cold it got")
		} else if *b.LowestC < ingredient.ColdestC {
			v.fail(Partial, fmt.Sprintf("%.3g C is colder than %.3g C", *b.LowestC, ingredient.ColdestC))
		}
	}
	if v.held == "" {
		v.held = Full
	}
	return Verdict{Held: v.held, Failed: v.failed, Unknown: v.unanswered}, nil
}

type verdict struct {
	held       string
	failed     []string
	unanswered []string
}

func (v *verdict) worse(held string) {
	if held == Void || v.held == "" {
		v.held = held
	}
}

func (v *verdict) fail(held, why string) {
	v.worse(held)
	v.failed = append(v.failed, why)
}

func (v *verdict) unknown(what string) { v.unanswered = append(v.unanswered, what) }

func (v *verdict) share(got float64, why string) {
	switch {
	case got < bathVoidBelow.Value:
		v.fail(Void, why)
	case got < bathPartialBelow.Value:
		v.fail(Partial, why)
	}
}

// answer judges a yes-or-no condition that matters only for some ingredients.
func (v *verdict) answer(ok *bool, matters bool, held, why, question string) {
	switch {
	case !matters:
	case ok == nil:
		v.unknown(question)
	case !*ok:
		v.fail(held, why)
	}
}
