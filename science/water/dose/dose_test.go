package dose_test

import (
	"encoding/csv"
	"errors"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"holdfast/science/ref"
	"holdfast/science/water"
	"holdfast/science/water/dose"
)

type tb interface {
	Helper()
	Errorf(format string, args ...any)
	Fatalf(format string, args ...any)
}

func closeTo(t tb, what string, got, want, tolerance float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tolerance) {
		t.Errorf("%s = %.10g, want %.10g within %g", what, got, want, tolerance)
	}
}

// rows reads a check file as numbers by column and fails when it is empty.
func rows(t *testing.T, name string) []map[string]float64 {
	t.Helper()
	f, err := os.Open("testdata/" + name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	all, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	if len(all) < 2 {
		t.Fatalf("%s has no rows", name)
	}
	var out []map[string]float64
	for _, row := range all[1:] {
		m := map[string]float64{}
		for i, key := range all[0] {
			if v, err := strconv.ParseFloat(row[i], 64); err == nil {
				m[key] = v
			}
		}
		out = append(out, m)
	}
	return out
}

func litres(l float64) water.Volume { return water.Volume{Litres: l} }

func wantField(t *testing.T, what string, err error, field string) {
	t.Helper()
	var in *ref.InputError
	if !errors.As(err, &in) || in.Field != field || in.Hint == "" {
		t.Errorf("%s: %#v, want a complaint about %s", what, err, field)
	}
}

// Arithmetic of the notes: product = target · litres / strength.
func TestMixAgainstTable(t *testing.T) {
	for _, r := range rows(t, "water_dose.csv") {
		m, err := dose.Order{Volume: litres(r["volume_L"]), MgL: r["target_mg_L"], Strength: dose.Strength{MgPer: 10 * r["strength_pct"], Unit: dose.Gram}}.Mix()
		if err != nil {
			t.Fatal(err)
		}
		closeTo(t, "product, mg", 1000*m.Amount, r["product_mg"], 5.1e-5)
	}
}

// Arithmetic: C = C0 2^(-t/h).
func TestDecayAgainstTable(t *testing.T) {
	for _, r := range rows(t, "water_decay.csv") {
		if r["t_h"] == 0 {
			continue
		}
		run, err := dose.Course{
			Order: dose.Order{Volume: litres(100), MgL: r["C0"], Strength: dose.Pure},
			Days:  r["t_h"] / 24, HalfLifeDays: r["half_life_h"] / 24,
		}.Follow()
		if err != nil {
			t.Fatal(err)
		}
		closeTo(t, "concentration", run.EndMgL, r["C"], 5.1e-9)
	}
}

func TestParseStrength(t *testing.T) {
	for text, want := range map[string]struct {
		mg   float64
		unit dose.Unit
	}{
		"50 %": {500, dose.Gram}, "100 %": {1000, dose.Gram}, "5 % w/w": {50, dose.Gram}, "50 mg/g": {50, dose.Gram},
		"5 % w/v": {50, dose.Millilitre}, "50 mg/ml": {50, dose.Millilitre}, "50 g/l": {50, dose.Millilitre},
		"50 mg per tablet": {50, dose.Tablet}, "0.5 g/dose": {500, dose.Dose},
	} {
		s, err := dose.ParseStrength("strength", text)
		if err != nil || math.Abs(s.MgPer-want.mg) > 1e-9 || s.Unit != want.unit {
			t.Errorf("%q: %+v, %v", text, s, err)
		}
	}
	for _, text := range []string{"", "0 %", "-5 %", "120 %", "50", "50 ml", "2000 g/l", "50 %%"} {
		_, err := dose.ParseStrength("strength", text)
		wantField(t, text, err, "strength")
	}
	five, _ := dose.ParseStrength("strength", "5 %")
	if n, err := five.Times(); err != nil || n != 20 {
		t.Errorf("a 5 %% powder needs %g times the weight, want 20 (%v)", n, err)
	}
	if _, err := (dose.Strength{MgPer: 50, Unit: dose.Tablet}).Times(); err == nil {
		t.Error("tablets have no pure form")
	}
}

// The demo tank: 2.5 mg/l of a 50 % powder in 98.3 litres.
func TestMixOfTheUsualPractice(t *testing.T) {
	half, err := dose.ParseStrength("strength", "50 %")
	if err != nil {
		t.Fatal(err)
	}
	v := water.Volume{Litres: 98.3, Low: 95.4, High: 101.2}
	m, err := dose.Order{Volume: v, MgL: 2.5, Strength: half, SolubilityMgL: 100}.Mix()
	if err != nil {
		t.Fatal(err)
	}
	closeTo(t, "active", m.ActiveMg, 245.75, 1e-9)
	closeTo(t, "amount", m.Amount, 0.4915, 1e-12)
	if m.InHand != 0.49 || m.Unit != dose.Gram || !m.Direct || m.Stock != nil {
		t.Errorf("in hand: %+v", m)
	}
	closeTo(t, "mg/l", m.MgL, 0.49*500/98.3, 1e-12)
	closeTo(t, "low", m.Low, 0.49*500/101.2, 1e-12)
	closeTo(t, "high", m.High, 0.49*500/95.4, 1e-12)
	closeTo(t, "water that dissolves it", m.DissolveL, 2.4575, 1e-12)
	other := m.AtOtherStrength(1, 0.05)
	closeTo(t, "pure", other[0], 0.24575, 1e-12)
	closeTo(t, "5 %", other[1], 4.915, 1e-12)
}

func drawOrder(t *rapid.T) dose.Order {
	return dose.Order{
		Volume:   litres(rapid.Float64Range(0.5, 2000).Draw(t, "litres")),
		MgL:      rapid.Float64Range(0.05, 5).Draw(t, "mg/l"),
		Strength: dose.Strength{MgPer: rapid.Float64Range(10, 1000).Draw(t, "mg per g"), Unit: dose.Gram},
	}
}

func TestDoseIsLinear(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		o := drawOrder(t)
		k := rapid.Float64Range(0.1, 10).Draw(t, "factor")
		m, err := o.Mix()
		if err != nil {
			t.Fatal(err)
		}
		more := o
		more.Volume.Litres *= k
		inVolume, err := more.Mix()
		if err != nil {
			t.Fatal(err)
		}
		stronger := o
		stronger.MgL *= k
		inTarget, err := stronger.Mix()
		if err != nil {
			t.Fatal(err)
		}
		closeTo(t, "in volume", inVolume.Amount, k*m.Amount, 1e-12*k*m.Amount)
		closeTo(t, "in target", inTarget.Amount, k*m.Amount, 1e-12*k*m.Amount)
		if math.Abs(m.InHand-m.Amount) > 0.005+1e-12 || m.InHand < 0 {
			t.Fatalf("%g g is rounded to %g", m.Amount, m.InHand)
		}
	})
}

func TestMixRefuses(t *testing.T) {
	good := dose.Order{Volume: litres(100), MgL: 2.5, Strength: dose.Pure}
	for field, change := range map[string]func(*dose.Order){
		"volume":   func(o *dose.Order) { o.Volume.Litres = -3 },
		"target":   func(o *dose.Order) { o.MgL = math.NaN() },
		"strength": func(o *dose.Order) { o.Strength.MgPer = 0 },
		"scale":    func(o *dose.Order) { o.Measure.Step = -1 },
	} {
		o := good
		change(&o)
		_, err := o.Mix()
		wantField(t, field, err, field)
	}
}

// A dose below twenty steps of the scale is made as a stock: enough is weighed,
// it dissolves, and the part taken is the dose.
func TestStock(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		step := rapid.SampledFrom([]float64{0.1, 0.01, 0.001}).Draw(t, "step")
		amount := step * rapid.Float64Range(0.05, 19.9).Draw(t, "steps")
		s := dose.Strength{MgPer: rapid.Float64Range(50, 1000).Draw(t, "mg per g"), Unit: dose.Gram}
		solubility := rapid.SampledFrom([]float64{0, 100, 400, 350000}).Draw(t, "solubility")
		stock, err := dose.MakeStock(amount, s, dose.Measure{Step: step}, solubility, false)
		var none *ref.NoAnswer
		if errors.As(err, &none) {
			if solubility == 0 || solubility > 1000 {
				t.Fatalf("a stock of %g g exists: %v", amount, err)
			}
			return
		}
		if err != nil {
			t.Fatal(err)
		}
		if stock.WeighG < dose.StepsAtLeast*step*(1-1e-9) {
			t.Fatalf("%g g is too little for a scale to %g g", stock.WeighG, step)
		}
		if solubility > 0 && stock.MgPerL > solubility {
			t.Fatalf("%g mg/l does not dissolve (%g)", stock.MgPerL, solubility)
		}
		if stock.TakeML > stock.InML || stock.InML > 20000 {
			t.Fatalf("take %g of %g ml", stock.TakeML, stock.InML)
		}
		closeTo(t, "dose taken", stock.DoseG, amount, 0.01*amount)
		closeTo(t, "strength", stock.MgPerL, stock.WeighG*s.MgPer/stock.InML*1000, 1e-9*stock.MgPerL)
	})
	small, err := dose.Order{Volume: litres(5), MgL: 2.5, Strength: dose.Pure, SolubilityMgL: 400}.Mix()
	if err != nil {
		t.Fatal(err)
	}
	if small.Direct || small.Stock == nil {
		t.Fatalf("12.5 mg on a 0.01 g scale needs a stock: %+v", small)
	}
	closeTo(t, "what the stock makes", small.MgL, 2.5, 0.01*2.5)
	cloud, err := dose.MakeStock(0.005, dose.Pure, dose.Measure{Step: 0.01}, 0.01, true)
	if err != nil || !cloud.Suspended {
		t.Errorf("a suspension has no limit: %+v, %v", cloud, err)
	}
	_, err = dose.MakeStock(1, dose.Strength{MgPer: 50, Unit: dose.Tablet}, dose.Measure{Step: 0.01}, 0, false)
	wantField(t, "tablets", err, "strength")
	_, err = dose.MakeStock(0, dose.Pure, dose.Measure{Step: 0.01}, 0, false)
	wantField(t, "nothing", err, "amount")
}

// 245 mg of praziquantel: half a litre is refused, one litre may do, two and a
// half surely do.
func TestCheckStock(t *testing.T) {
	_, err := dose.CheckStock(245, 0.5, 100, 400)
	wantField(t, "half a litre", err, "stock")
	if sure, err := dose.CheckStock(245, 1, 100, 400); err != nil || sure {
		t.Errorf("one litre: %v, %v", sure, err)
	}
	if sure, err := dose.CheckStock(245, 2.5, 100, 400); err != nil || !sure {
		t.Errorf("two and a half: %v, %v", sure, err)
	}
	_, err = dose.CheckStock(245, 0, 100, 400)
	wantField(t, "no water", err, "stock")
}

func TestLabelDose(t *testing.T) {
	m, err := dose.LabelDose{PerLitre: 1.0 / 40, Unit: dose.Tablet}.Mix(litres(98.3), dose.Measure{})
	if err != nil || math.Abs(m.Amount-2.4575) > 1e-12 || m.InHand != 2.5 || !m.Direct {
		t.Errorf("tablets: %+v, %v", m, err)
	}
	_, err = dose.LabelDose{Unit: dose.Tablet}.Mix(litres(98.3), dose.Measure{})
	wantField(t, "nothing", err, "target")
	_, err = dose.LabelDose{PerLitre: 1, Unit: dose.Tablet}.Mix(litres(-1), dose.Measure{})
	wantField(t, "no water", err, "volume")
}

// Of a label's rate only shares of its dose are known. Arithmetic: 4 tablets to
// 160 l; a change of 30 % takes 1.2 tablets out, of which 1.25 can be measured, so
// that 0.05 of a tablet too much is in the water; after the next change 0.7 of that
// is left and 1.165 are missing, measured as 1.25 again.
func TestLabelDoseOverDays(t *testing.T) {
	label := dose.LabelDose{PerLitre: 1.0 / 40, Unit: dose.Tablet}
	run, err := label.Follow(dose.Course{Order: dose.Order{Volume: litres(160), MgL: 99, Strength: dose.Pure}, Days: 3, ChangeShare: 0.3, ChangeDays: 1})
	if err != nil || len(run.Redoses) != 2 || run.Mix.InHand != 4 || run.Mix.MgL != 0 {
		t.Fatalf("%+v, %v", run, err)
	}
	for i, r := range run.Redoses {
		if math.Abs(r.Amount-1.2) > 1e-12 || r.InHand != 1.25 || math.Abs(r.Day-float64(i+1)) > 1e-12 {
			t.Errorf("further dose %d: %+v", i, r)
		}
	}
	if math.Abs(run.LowestMg-0.7) > 1e-12 || run.EndMgL != 1 {
		t.Errorf("the least is %v of a dose, at the end %v", run.LowestMg, run.EndMgL)
	}
	if last := run.Curve[len(run.Curve)-1].WeighedMgL; math.Abs(last-(4.05*0.7+1.25)/4) > 1e-12 {
		t.Errorf("as measured %v of a dose at the end", last)
	}
	_, err = label.Follow(dose.Course{Order: dose.Order{Volume: litres(160)}, Days: -1})
	wantField(t, "no days", err, "days")
	_, err = dose.LabelDose{Unit: dose.Tablet}.Follow(dose.Course{Order: dose.Order{Volume: litres(160)}, Days: 1})
	wantField(t, "nothing", err, "target")
}

// The shares are those of any product whose strength is known: a label's rate
// goes the same way as the concentration that it makes.
func TestLabelDoseGoesAsAConcentration(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := drawCourse(t)
		c.Strength, c.Measure = dose.Strength{MgPer: 50, Unit: dose.Millilitre}, dose.Measure{Step: 0.1}
		known, err := c.Follow()
		if err != nil {
			t.Skip(err)
		}
		run, err := dose.LabelDose{PerLitre: c.MgL / 50, Unit: dose.Millilitre}.Follow(c)
		if err != nil || len(run.Curve) != len(known.Curve) || len(run.Redoses) != len(known.Redoses) {
			t.Fatalf("%d points and %d doses, want %d and %d (%v)", len(run.Curve), len(run.Redoses), len(known.Curve), len(known.Redoses), err)
		}
		for i, p := range known.Curve {
			if got := run.Curve[i]; got.Day != p.Day || math.Abs(got.MgL-p.MgL/c.MgL) > 1e-9 {
				t.Fatalf("day %v: %v of a dose, want %v", p.Day, got.MgL, p.MgL/c.MgL)
			}
		}
		for i, r := range known.Redoses {
			if got := run.Redoses[i]; math.Abs(got.Amount-r.Amount) > 1e-9*(1+r.Amount) {
				t.Fatalf("further dose %v, want %v", got.Amount, r.Amount)
			}
		}
	})
}

// A change of 30 % every third day takes 30 % of the dose out each time.
func TestRedoseReplacesWhatWasRemoved(t *testing.T) {
	run, err := dose.Course{
		Order: dose.Order{Volume: litres(120), MgL: 2.5, Strength: dose.Strength{MgPer: 500, Unit: dose.Gram}},
		Days:  14, ChangeShare: 0.3, ChangeDays: 3,
	}.Follow()
	if err != nil {
		t.Fatal(err)
	}
	closeTo(t, "first dose", run.Mix.Amount, 0.6, 1e-12)
	if len(run.Redoses) != 4 {
		t.Fatalf("%d re-doses, want 4 (days 3, 6, 9, 12)", len(run.Redoses))
	}
	for i, r := range run.Redoses {
		closeTo(t, "day", r.Day, float64(3*(i+1)), 1e-9)
		closeTo(t, "re-dose", r.Amount, 0.18, 1e-12)
		closeTo(t, "weighed", r.InHand, 0.18, 1e-12)
	}
	closeTo(t, "end", run.EndMgL, 2.5, 1e-12)
	closeTo(t, "lowest", run.LowestMg, 1.75, 1e-12)
}

func drawCourse(t *rapid.T) dose.Course {
	c := dose.Course{Order: drawOrder(t), Days: rapid.Float64Range(0.2, 40).Draw(t, "days")}
	if rapid.Bool().Draw(t, "changes") {
		c.ChangeShare = rapid.Float64Range(0.01, 1).Draw(t, "share")
		c.ChangeDays = rapid.Float64Range(0.25, 10).Draw(t, "every")
	}
	if rapid.Bool().Draw(t, "fades") {
		c.HalfLifeDays = rapid.Float64Range(0.2, 20).Draw(t, "half-life")
	}
	if rapid.Bool().Draw(t, "absorbed") {
		c.AbsorbDays = rapid.Float64Range(0.2, 20).Draw(t, "absorb")
	}
	if rapid.Bool().Draw(t, "own redose") {
		c.RedoseDays = rapid.Float64Range(0.25, 10).Draw(t, "redose")
	}
	return c
}

// slowCurve follows a course in small steps from the definition, for the
// concentration just before day.
func slowCurve(c dose.Course, day float64) float64 {
	level, steps := c.MgL, int(2000*day)+1
	dt := day / float64(steps)
	redose := c.RedoseDays
	if redose == 0 {
		redose = c.ChangeDays
	}
	passed := func(every, from, to float64) bool {
		return every > 0 && math.Floor(to/every+1e-9) > math.Floor(from/every+1e-9)
	}
	for i := range steps {
		from, to := float64(i)*dt, float64(i+1)*dt
		for _, half := range []float64{c.HalfLifeDays, c.AbsorbDays} {
			if half > 0 {
				level *= math.Pow(0.5, dt/half)
			}
		}
		if i == steps-1 {
			break
		}
		if passed(c.ChangeDays, from, to) {
			level *= 1 - c.ChangeShare
		}
		if passed(redose, from, to) {
			level = c.MgL
		}
	}
	return level
}

func TestCourseProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := drawCourse(t)
		run, err := c.Follow()
		if err != nil {
			t.Fatal(err)
		}
		step := 0.005 * c.Strength.MgPer / c.Volume.Litres
		last := -1.0
		for _, p := range run.Curve {
			if p.Day < last || p.MgL < 0 || p.WeighedMgL < 0 || p.MgL > c.MgL*(1+1e-12) {
				t.Fatalf("curve goes wrong at %+v", p)
			}
			last = p.Day
			if p.After == dose.Redosed {
				closeTo(t, "re-dose holds the target", p.MgL, c.MgL, 1e-12*c.MgL)
				closeTo(t, "weighed re-dose holds it to rounding", p.WeighedMgL, c.MgL, step*(1+1e-9)+1e-12)
			}
		}
		if end := run.Curve[len(run.Curve)-1]; math.Abs(end.Day-c.Days) > 1e-9 || math.Abs(end.MgL-run.EndMgL) > 1e-12 {
			t.Fatalf("ends at %+v, want day %g", end, c.Days)
		}
		for _, r := range run.Redoses {
			if r.Amount < -1e-12 || r.InHand < 0 || r.Day >= c.Days {
				t.Fatalf("re-dose %+v of a bath of %g days", r, c.Days)
			}
		}
	})
}

func TestCourseAgainstSmallSteps(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := drawCourse(t)
		// Halves of a day keep happenings away from the very end.
		c.ChangeDays, c.RedoseDays = math.Round(c.ChangeDays)+0.5, 0
		c.ChangeShare = math.Max(c.ChangeShare, 0.1)
		c.Days = math.Round(c.Days) + 0.25
		run, err := c.Follow()
		if err != nil {
			t.Fatal(err)
		}
		closeTo(t, "end", run.EndMgL, slowCurve(c, c.Days), 5e-3*c.MgL)
	})
}

func TestCourseRefuses(t *testing.T) {
	good := dose.Course{Order: dose.Order{Volume: litres(100), MgL: 2.5, Strength: dose.Pure}, Days: 4}
	for name, c := range map[string]struct {
		field  string
		change func(*dose.Course)
	}{
		"no days":    {"days", func(c *dose.Course) { c.Days = 0 }},
		"endless":    {"days", func(c *dose.Course) { c.Days = math.Inf(1) }},
		"over 100 %": {"change", func(c *dose.Course) { c.ChangeShare, c.ChangeDays = 1.2, 3 }},
		"all day":    {"change", func(c *dose.Course) { c.ChangeShare, c.ChangeDays = 0.3, 1e-4 }},
		"never":      {"change", func(c *dose.Course) { c.ChangeShare = 0.3 }},
		"redose":     {"redose", func(c *dose.Course) { c.RedoseDays = -1 }},
		"half-life":  {"half_life", func(c *dose.Course) { c.HalfLifeDays = -1 }},
		"absorption": {"absorb", func(c *dose.Course) { c.AbsorbDays = 1e-5 }},
		"its volume": {"volume", func(c *dose.Course) { c.Volume.Litres = 0 }},
	} {
		course := good
		c.change(&course)
		_, err := course.Follow()
		wantField(t, name, err, c.field)
	}
}

func TestClear(t *testing.T) {
	c := dose.Course{Order: dose.Order{Volume: litres(100), MgL: 2.5, Strength: dose.Pure}, Days: 4, HalfLifeDays: 2}
	clear, err := c.Clear(2.5, 0.1, 0.5)
	if err != nil {
		t.Fatal(err)
	}
	// 2.5 -> 1.25 -> 0.625 -> 0.3125 -> 0.15625 -> 0.078
	if clear.Changes != 5 {
		t.Errorf("%d changes, want 5", clear.Changes)
	}
	closeTo(t, "at once", clear.OnceShare, 0.96, 1e-12)
	closeTo(t, "waiting", *clear.WaitDays, 2*math.Log2(25), 1e-9)
	c.HalfLifeDays = 0
	clear, err = c.Clear(0.05, 0.1, 0.5)
	if err != nil || clear.Changes != 0 || clear.OnceShare != 0 || clear.WaitDays != nil {
		t.Errorf("already clear: %+v, %v", clear, err)
	}
	if _, err := c.Clear(2.5, 0.1, 2); err == nil {
		t.Error("a change of 200 % must be refused")
	}
}

// Handbook densities: a tablespoon of table salt to a US cup.
func TestDip(t *testing.T) {
	dip, err := dose.PlanDip(dose.DipOrder{WaterL: 0.5, GPerL: 30, TempC: 20})
	if err != nil {
		t.Fatal(err)
	}
	want := rows(t, "water_salt_dip.csv")
	found := false
	for _, r := range want {
		if r["g_salt"] == 18 && r["mL_water"] == 236.588 {
			closeTo(t, "folk g/l of water", dip.Folk.GPerLWater, r["g_per_L_of_water"], 0.005*r["g_per_L_of_water"])
			closeTo(t, "folk g/l", dip.Folk.GPerL, r["g_per_L_solution"], 0.005*r["g_per_L_solution"])
			found = true
		}
		if r["g_salt"] == 15 && r["mL_water"] == 500 {
			closeTo(t, "start g/l", dip.Brine.GPerL, r["g_per_L_solution"], 0.005*r["g_per_L_solution"])
			closeTo(t, "start per cent", 100*dip.Brine.Share, r["mass_pct"], 0.005*r["mass_pct"])
		}
	}
	if !found {
		t.Error("the folk recipe is not in the table")
	}
	if dip.WeighG != 15 || dip.Brine.GPerLWater >= dip.Folk.GPerLWater/2 || dip.Seconds > dip.Longest {
		t.Errorf("start weaker than the folk recipe: %+v", dip)
	}
	for name, c := range map[string]struct {
		field string
		order dose.DipOrder
	}{
		"ten times": {"salt", dose.DipOrder{WaterL: 1, GPerL: 300, TempC: 20}},
		"a tenth":   {"salt", dose.DipOrder{WaterL: 1, GPerL: 3, TempC: 20}},
		"a thimble": {"volume", dose.DipOrder{WaterL: 0.01, GPerL: 30, TempC: 20}},
		"boiling":   {"temp", dose.DipOrder{WaterL: 1, GPerL: 30, TempC: 90}},
		"bad scale": {"scale", dose.DipOrder{WaterL: 1, GPerL: 30, TempC: 20, ScaleG: -1}},
	} {
		_, err := dose.PlanDip(c.order)
		wantField(t, name, err, c.field)
	}
}

func TestSpoons(t *testing.T) {
	s, err := dose.InSpoons(18, dose.TableSalt, "tbsp_us")
	if err != nil || s.Spoons != 1 || !(s.LowG < 18 && s.HighG > 18) {
		t.Errorf("18 g of table salt: %+v, %v", s, err)
	}
	flakes, err := dose.InSpoons(18, dose.Flakes, "tbsp_us")
	if err != nil || flakes.Spoons != 1.75 {
		t.Errorf("18 g of flakes: %+v, %v", flakes, err)
	}
	var none *ref.NoAnswer
	if _, err := dose.InSpoons(0.2, dose.TableSalt, "tbsp_us"); !errors.As(err, &none) {
		t.Errorf("a pinch: %v", err)
	}
	_, err = dose.InSpoons(18, "sugar", "tbsp_us")
	wantField(t, "sugar", err, "salt")
	_, err = dose.InSpoons(18, dose.TableSalt, "tbsp")
	wantField(t, "some tablespoon", err, "spoon")
	if !strings.Contains(err.Error(), "several") {
		t.Errorf("say that a tablespoon is several: %v", err)
	}
	_, err = dose.InSpoons(-1, dose.TableSalt, "tbsp_us")
	wantField(t, "less than nothing", err, "amount")
	p, err := dose.Poured(dose.TableSalt)
	if err != nil || p.Value > 0.6*dose.CrystalDensity {
		t.Errorf("salt is poured at half its own density: %+v, %v", p, err)
	}
	if _, err := dose.FolkDip(dose.TableSalt, "tbsp_us", "cup", 20); err == nil {
		t.Error("a cup of no country must be refused")
	}
}
