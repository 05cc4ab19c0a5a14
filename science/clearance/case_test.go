package clearance

import (
	"context"
	"errors"
	"testing"

	"holdfast/science/ref"
)

// TestCaseErrors asks questions that are wrong in one place each.
func TestCaseErrors(t *testing.T) {
	two, minus := 2, -2.
	for name, spoil := range map[string]func(*Case){
		"animals":  func(c *Case) { c.Animals = 0 },
		"tanks":    func(c *Case) { c.Tanks = nil },
		"volume":   func(c *Case) { c.Tanks = []Tank{{}} },
		"temp":     func(c *Case) { c.Tanks = []Tank{{VolumeL: 1, Temp: []TempFrom{{3, 20}, {2, 20}}}} },
		"infested": func(c *Case) { c.Infested = &minus },
		"days":     func(c *Case) { c.Days = nil },
		"late":     func(c *Case) { c.Days = []float64{401} },
		"bag":      func(c *Case) { c.Bag = -1 },
		"line":     func(c *Case) { c.Line = 2 },
		"runs":     func(c *Case) { c.Runs = 5 },
		"today":    func(c *Case) { c.Today = -1 },
		"dose":     func(c *Case) { c.Doses = []Dose{{Treatment: "water", Days: 1}} },
		"bath":     func(c *Case) { c.Doses = []Dose{{Treatment: "praziquantel"}} },
		"dip":      func(c *Case) { c.Doses = []Dose{{Treatment: "sodium_chloride_dip", Days: 1}} },
		"lost":     func(c *Case) { c.Doses = []Dose{{Treatment: "praziquantel", Days: 1, Lost: 2}} },
		"pulls":    func(c *Case) { c.Pulls = []Pulls{{To: 9, PerDay: 5}} },
		"exit":     func(c *Case) { c.Exits = []Exit{{Day: 1, Animals: -1}} },
		"move":     func(c *Case) { c.Moves = []Move{{Day: 1, Animals: 1, To: 0}} },
		"look":     func(c *Case) { c.Looks = []Look{{Animals: 500}} },
		"counts":   func(c *Case) { c.Looks = []Look{{Animals: 5, Worms: 6}} },
		"both":     func(c *Case) { c.Looks = []Look{{Animals: 5, Worms: 1, Both: &two}} },
		"view":     func(c *Case) { c.Looks = []Look{{Animals: 5, View: 1.5}} },
		"planned":  func(c *Case) { c.Looks = []Look{{Animals: 5, Worms: 1, Planned: true}} },
		"to":       func(c *Case) { c.Looks = []Look{{Animals: 5, Worms: 1, PositivesTo: &two}} },
	} {
		c := plan(1, 14, 1, 20)
		spoil(&c)
		var in *ref.InputError
		if _, err := Evidence(context.Background(), c); !errors.As(err, &in) || in.Hint == "" {
			t.Errorf("%s: got %v, want an input error with a hint", name, err)
		}
	}
}

// TestCancel stops a question at once.
func TestCancel(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := Evidence(ctx, plan(1, 14, 1, 20)); !errors.Is(err, context.Canceled) {
		t.Errorf("got %v", err)
	}
}

// TestSharpen checks that the first answer comes from few runs and the last is
// sharp near the line.
func TestSharpen(t *testing.T) {
	c := plan(4, 14, 2, 98)
	p := .3
	c.Infested, c.Line = &p, .9
	c.Looks = []Look{{Day: 84, Animals: 30}, {Day: 98, Animals: 30}}
	var answers []Result
	last, err := Sharpen(context.Background(), c, func(r Result) bool { answers = append(answers, r); return true })
	if err != nil {
		t.Fatal(err)
	}
	if len(answers) == 0 || answers[0].Mixed.Runs > 1000 {
		t.Fatalf("%d answers", len(answers))
	}
	if se := last.Mixed.Points[0].Clear.SE; se > .005 {
		t.Errorf("error %g after %d runs", se, last.Mixed.Runs)
	}
	stop := 0
	if _, err := Sharpen(context.Background(), c, func(Result) bool { stop++; return false }); err != nil || stop != 1 {
		t.Errorf("%d reports, %v", stop, err)
	}
}
