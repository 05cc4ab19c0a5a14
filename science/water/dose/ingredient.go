package dose

import (
	"bytes"
	_ "embed"
	"encoding/json"
	"fmt"
	"strings"
	"sync"

	"holdfast/science/ref"
)

//go:embed ingredients.json
var ingredientsJSON []byte

// Standing says how far an ingredient may be thought of at all.
type Standing string

// Standings.
const (
	Usable Standing = "usable"
	Avoid  Standing = "avoid" // more risk than gain for most
	Never  Standing = "never" // kills shrimp
)

// Level says how hard a rule speaks.
type Level string

// Levels, the hardest first.
const (
	Refuse Level = "refuse" // not without a typed reason
	Warn   Level = "warn"   // shown beside the dose
	Ask    Level = "ask"    // an answer is missing
)

// Ingredient is one active ingredient in one way of using it, by its generic
// name. Every statement carries its source: a key of ref.Sources, "common
// practice" or "judgement".
type Ingredient struct {
	ID string `json:"id"`
	// Book is the id of the same thing in the reference book, empty for none.
	Book     string   `json:"book"`
	Name     string   `json:"name"`
	Active   string   `json:"active"`
	Standing Standing `json:"standing"`
	// Evidence is "trial" (on shrimp), "analogy" (on relatives) or "practice".
	Evidence string `json:"evidence"`
	Uses     []Use  `json:"uses"`
	// Kills and Spares are ids of conditions in the reference book.
	Kills  []string `json:"kills"`
	Spares []string `json:"spares"`
	Harms  []Harm   `json:"harms"`
	// Solubility in water, nil when nothing is known.
	Solubility *Solubility `json:"solubility"`
	// Suspension says that it is used as a cloud of grains.
	Suspension bool      `json:"suspension"`
	HalfLife   *HalfLife `json:"half_life"`
	// CarbonTakes and LightBreaks say what ends it early.
	CarbonTakes bool `json:"carbon_takes"`
	LightBreaks bool `json:"light_breaks"`
	// ColdestC is the temperature below which a bath counts in part; 0 for none.
	ColdestC float64 `json:"coldest_c"`
	// NotWith are ids of other ingredients, or "*" for every other.
	NotWith []string `json:"not_with"`
	Notes   []Note   `json:"notes"`
}

// Use is a range of strengths met in one form of use. It is not advice.
type Use struct {
	// Form is "bath", "dip" or "tools".
	Form      string  `json:"form"`
	LowMgL    float64 `json:"low_mg_l"`
	HighMgL   float64 `json:"high_mg_l"`
	UsualMgL  float64 `json:"usual_mg_l"`
	HoursLow  float64 `json:"hours_low"`
	HoursHigh float64 `json:"hours_high"`
	From      string  `json:"from"`
}

// Harm is whom it hurts.
type Harm struct {
	Whom  Company `json:"whom"`
	Level Level   `json:"level"`
	Say   string  `json:"say"`
	From  string  `json:"from"`
}

// Solubility is what a litre of water takes up: surely Low, perhaps High.
type Solubility struct {
	ValueMgL float64 `json:"value_mg_l"`
	LowMgL   float64 `json:"low_mg_l"`
	HighMgL  float64 `json:"high_mg_l"`
	From     string  `json:"from"`
}

// HalfLife is how fast it fades in a tank, days.
type HalfLife struct {
	ValueD float64 `json:"value_d"`
	LowD   float64 `json:"low_d"`
	HighD  float64 `json:"high_d"`
	From   string  `json:"from"`
}

// Note is one more statement about it: "evidence", "solving", "temperature",
// "hardness", "light", "oxygen", "people" (protection) or "law".
type Note struct {
	About string `json:"about"`
	Say   string `json:"say"`
	From  string `json:"from"`
}

// Company is who or what else is in the water.
type Company string

// Company that matters to some ingredient.
const (
	Shrimp         Company = "shrimp"
	Berried        Company = "berried"
	FreshMoult     Company = "fresh_moult"
	Juvenile       Company = "juvenile"
	Weak           Company = "weak"
	SoftWater      Company = "soft_water"
	Snail          Company = "snail"
	Plant          Company = "plant"
	Fish           Company = "fish"
	ScalelessFish  Company = "scaleless_fish"
	FilterBacteria Company = "filter_bacteria"
)

// Companies lists them in the order a form asks.
func Companies() []Company {
	return []Company{Shrimp, Berried, FreshMoult, Juvenile, Weak, SoftWater, Snail, Plant, Fish, ScalelessFish, FilterBacteria}
}

var ingredients = sync.OnceValues(func() ([]Ingredient, error) { return ReadIngredients(ingredientsJSON) })

// Ingredients returns the embedded table.
func Ingredients() []Ingredient {
	list, err := ingredients()
	if err != nil {
		panic("dose: embedded ingredients: " + err.Error()) // the program is broken, not its input
	}
	return list
}

// ReadIngredients reads a table of the form of the embedded one, so that a shop
// can keep a copy of its own, and refuses what the rules could not use.
func ReadIngredients(text []byte) ([]Ingredient, error) {
	dec := json.NewDecoder(bytes.NewReader(text))
	dec.DisallowUnknownFields()
	var list []Ingredient
	if err := dec.Decode(&list); err != nil {
		return nil, ref.Inputf("ingredients", "Copy the form of the built-in table.", "the table cannot be read: %v", err)
	}
	seen := map[string]bool{}
	for _, i := range list {
		if seen[i.ID] {
			return nil, ref.Inputf("ingredients", "Give each ingredient an id of its own.", "%q stands twice", i.ID)
		}
		seen[i.ID] = true
		if err := i.check(); err != nil {
			return nil, ref.Inputf("ingredients", "Copy the form of the built-in table.", "%s: %v", i.ID, err)
		}
	}
	return list, nil
}

func (i Ingredient) check() error {
	if i.ID == "" || i.Name == "" || i.Active == "" {
		return fmt.Errorf("id, name and active are needed")
	}
	if i.Standing != Usable && i.Standing != Avoid && i.Standing != Never {
		return fmt.Errorf("standing %q", i.Standing)
	}
	for _, u := range i.Uses {
		if !(u.LowMgL > 0 && u.LowMgL <= u.UsualMgL && u.UsualMgL <= u.HighMgL) || u.From == "" {
			return fmt.Errorf("a range of %s is out of order or without source", u.Form)
		}
		// Wider, and ten times a dose could still pass as a dose.
		if u.HighMgL*slip*slip >= 10*u.LowMgL {
			return fmt.Errorf("the range of %s is too wide to catch a lost decimal point", u.Form)
		}
	}
	for _, h := range i.Harms {
		if h.Level != Refuse && h.Level != Warn || h.Say == "" || h.From == "" {
			return fmt.Errorf("a harm to %s lacks level, words or source", h.Whom)
		}
	}
	if s := i.Solubility; s != nil && !(s.LowMgL > 0 && s.LowMgL <= s.ValueMgL && s.ValueMgL <= s.HighMgL) {
		return fmt.Errorf("solubility out of order")
	}
	if h := i.HalfLife; h != nil && !(h.LowD > 0 && h.LowD <= h.ValueD && h.ValueD <= h.HighD) {
		return fmt.Errorf("half-life out of order")
	}
	return nil
}

// Find returns the ingredient with an id. The error names the ids there are.
func Find(id string) (Ingredient, error) {
	var ids []string
	for _, i := range Ingredients() {
		if i.ID == id {
			return i, nil
		}
		ids = append(ids, i.ID)
	}
	return Ingredient{}, ref.Inputf("ingredient", "Choose "+strings.Join(ids, ", ")+".", "no such ingredient: %q", id)
}

// Use returns the range for a form of use, or nil when none is given.
func (i Ingredient) Use(form string) *Use {
	for n := range i.Uses {
		if i.Uses[n].Form == form {
			return &i.Uses[n]
		}
	}
	return nil
}
