package dose_test

import (
	"encoding/json"
	"errors"
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"holdfast/science/ref"
	"holdfast/science/water/dose"
)

func ptr[T any](v T) *T { return &v }

func check(t tb, p dose.Proposal) []dose.Finding {
	t.Helper()
	found, err := dose.Check(p)
	if err != nil {
		t.Fatalf("%+v: %v", p, err)
	}
	return found
}

func level(found []dose.Finding, code string) dose.Level {
	for _, f := range found {
		if f.Code == code {
			return f.Level
		}
	}
	return ""
}

// bath is a praziquantel bath that nothing speaks against.
func bath() dose.Proposal {
	return dose.Proposal{
		Ingredient: "praziquantel", Form: "bath", MgL: 2.5, Hours: 96, With: []dose.Company{dose.Shrimp},
		CopperMg: ptr(0.0), TempC: ptr(24.0), O2: ptr(8.0), CarbonOut: ptr(true), LampOff: ptr(true), AirOn: ptr(true),
	}
}

func TestUsualPracticePasses(t *testing.T) {
	if found := check(t, bath()); len(found) != 0 {
		t.Errorf("2.5 mg/l of praziquantel: %+v", found)
	}
	dip := dose.Proposal{Ingredient: "sodium_chloride_dip", Form: "dip", MgL: 30000, Hours: 30.0 / 3600, With: []dose.Company{dose.Shrimp}, CopperMg: ptr(0.0)}
	if found := check(t, dip); len(found) != 0 {
		t.Errorf("a salt dip of 30 g/l: %+v", found)
	}
}

// Every dose in the range of every ingredient, typed ten times too large or too
// small, is refused before it is ticked.
func TestTenfoldSlipIsCaught(t *testing.T) {
	ranges := 0
	for _, i := range dose.Ingredients() {
		for _, u := range i.Uses {
			ranges++
			rapid.Check(t, func(t *rapid.T) {
				meant := rapid.Float64Range(u.LowMgL, u.HighMgL).Draw(t, "meant")
				p := dose.Proposal{Ingredient: i.ID, Form: u.Form, MgL: meant}
				if l := level(check(t, p), "dose"); l != "" {
					t.Fatalf("%s at %g mg/l is within its range: %s", i.ID, meant, l)
				}
				for _, slip := range []float64{0.1, 10, 100, 1000, 0.001} {
					p.MgL = meant * slip
					if l := level(check(t, p), "dose"); l != dose.Refuse {
						t.Fatalf("%s at %g mg/l for %g passes as %q", i.ID, p.MgL, meant, l)
					}
				}
			})
		}
	}
	if ranges < 5 {
		t.Fatalf("only %d ranges", ranges)
	}
}

func TestRulesSpeak(t *testing.T) {
	for name, c := range map[string]struct {
		code   string
		level  dose.Level
		change func(*dose.Proposal)
	}{
		"a little strong":  {"dose", dose.Warn, func(p *dose.Proposal) { p.MgL = 6 }},
		"too long":         {"time", dose.Refuse, func(p *dose.Proposal) { p.Hours = 960 }},
		"copper shows":     {"copper", dose.Refuse, func(p *dose.Proposal) { p.CopperMg = ptr(0.05) }},
		"copper not known": {"copper", dose.Ask, func(p *dose.Proposal) { p.CopperMg = nil }},
		"carbon in":        {"carbon", dose.Refuse, func(p *dose.Proposal) { p.CarbonOut = ptr(false) }},
		"carbon not known": {"carbon", dose.Ask, func(p *dose.Proposal) { p.CarbonOut = nil }},
		"lamp on":          {"lamp", dose.Refuse, func(p *dose.Proposal) { p.LampOff = ptr(false) }},
		"air off":          {"air", dose.Refuse, func(p *dose.Proposal) { p.AirOn = ptr(false) }},
		"cold":             {"cold", dose.Warn, func(p *dose.Proposal) { p.TempC = ptr(15.0) }},
		"no thermometer":   {"cold", dose.Ask, func(p *dose.Proposal) { p.TempC = nil }},
		"stale water":      {"oxygen", dose.Refuse, func(p *dose.Proposal) { p.O2 = ptr(3.0) }},
		"snails":           {"harms_snail", dose.Warn, func(p *dose.Proposal) { p.With = append(p.With, dose.Snail) }},
		"another medicine": {"with_fenbendazole", dose.Refuse, func(p *dose.Proposal) { p.Others = []dose.Other{{Ingredient: "fenbendazole"}} }},
		"not washed out":   {"with_dyes", dose.Refuse, func(p *dose.Proposal) { p.Others = []dose.Other{{Ingredient: "dyes", DaysSince: 9, Changed: 0.9}} }},
		"the same again":   {"with_praziquantel", dose.Refuse, func(p *dose.Proposal) { p.Others = []dose.Other{{Ingredient: "praziquantel", DaysSince: 2}} }},
		"snails, benzimidazole": {"harms_snail", dose.Refuse, func(p *dose.Proposal) {
			p.Ingredient, p.MgL, p.With = "fenbendazole", 1, []dose.Company{dose.Snail}
		}},
		"best avoided":     {"avoid", dose.Warn, func(p *dose.Proposal) { p.Ingredient, p.MgL = "fenbendazole", 1 }},
		"copper as a cure": {"never", dose.Refuse, func(p *dose.Proposal) { p.Ingredient, p.MgL = "copper", 0.1 }},
		"no range known":   {"no_range", dose.Refuse, func(p *dose.Proposal) { p.Ingredient, p.MgL = "formaldehyde", 25 }},
		"dip as a bath":    {"no_range", dose.Refuse, func(p *dose.Proposal) { p.Form = "dip" }},
		"berried in brine": {"harms_berried", dose.Refuse, func(p *dose.Proposal) {
			p.Ingredient, p.Form, p.MgL, p.Hours, p.With = "sodium_chloride_dip", "dip", 30000, 0.01, []dose.Company{dose.Berried}
		}},
		"new skin in brine": {"harms_fresh_moult", dose.Refuse, func(p *dose.Proposal) {
			p.Ingredient, p.Form, p.MgL, p.Hours, p.With = "sodium_chloride_dip", "dip", 30000, 0.01, []dose.Company{dose.FreshMoult}
		}},
		"soft water in brine": {"harms_soft_water", dose.Refuse, func(p *dose.Proposal) {
			p.Ingredient, p.Form, p.MgL, p.Hours, p.With = "sodium_chloride_dip", "dip", 30000, 0.01, []dose.Company{dose.SoftWater}
		}},
	} {
		p := bath()
		c.change(&p)
		found := check(t, p)
		if got := level(found, c.code); got != c.level {
			t.Errorf("%s: %s is %q, want %q: %+v", name, c.code, got, c.level, found)
		}
		if !slices.IsSortedFunc(found, func(a, b dose.Finding) int {
			order := []dose.Level{dose.Refuse, dose.Warn, dose.Ask}
			return slices.Index(order, a.Level) - slices.Index(order, b.Level)
		}) {
			t.Errorf("%s: refusals come first: %+v", name, found)
		}
	}
}

func TestWashedOutIsForgotten(t *testing.T) {
	for _, o := range []dose.Other{
		{Ingredient: "dyes", DaysSince: 9, Changed: 0.8, Carbon: true},
		{Ingredient: "praziquantel", DaysSince: 25},
	} {
		p := bath()
		p.Others = []dose.Other{o}
		if l := level(check(t, p), "with_"+o.Ingredient); l != "" {
			t.Errorf("%+v is still held against it: %s", o, l)
		}
	}
}

func TestCheckRefusesBadInput(t *testing.T) {
	for field, change := range map[string]func(*dose.Proposal){
		"ingredient": func(p *dose.Proposal) { p.Ingredient = "garlic" },
		"form":       func(p *dose.Proposal) { p.Form = "spray" },
		"mg_l":       func(p *dose.Proposal) { p.MgL = -1 },
		"others":     func(p *dose.Proposal) { p.Others = []dose.Other{{Ingredient: "dyes", Changed: 80}} },
	} {
		p := bath()
		change(&p)
		_, err := dose.Check(p)
		wantField(t, field, err, field)
	}
	p := bath()
	p.Others = []dose.Other{{Ingredient: "garlic"}}
	_, err := dose.Check(p)
	wantField(t, "unknown other", err, "ingredient")
}

func TestIngredientsTable(t *testing.T) {
	list := dose.Ingredients()
	if len(list) < 10 {
		t.Fatalf("%d ingredients", len(list))
	}
	known := func(where, from string) {
		t.Helper()
		if _, ok := ref.Lookup(from); !ok && from != "common practice" && from != "judgement" {
			t.Errorf("%s: no such source %q", where, from)
		}
	}
	companies := dose.Companies()
	for _, i := range list {
		abouts := map[string]bool{}
		for _, n := range i.Notes {
			known(i.ID, n.From)
			abouts[n.About] = true
			if n.Say == "" {
				t.Errorf("%s: an empty note", i.ID)
			}
		}
		if !abouts["people"] || !abouts["law"] {
			t.Errorf("%s: protection of people and the law in general words are missing", i.ID)
		}
		for _, u := range i.Uses {
			known(i.ID, u.From)
		}
		for _, h := range i.Harms {
			known(i.ID, h.From)
			if !slices.Contains(companies, h.Whom) {
				t.Errorf("%s: harms %q, whom nobody asks about", i.ID, h.Whom)
			}
		}
		if i.Solubility != nil {
			known(i.ID, i.Solubility.From)
		}
		if i.HalfLife != nil {
			known(i.ID, i.HalfLife.From)
		}
	}
	if i, err := dose.Find("praziquantel"); err != nil || i.Use("bath").UsualMgL != 2.5 {
		t.Errorf("praziquantel at 2.5 mg/l is the usual practice: %+v, %v", i, err)
	}
}

func TestReadIngredientsRefuses(t *testing.T) {
	text, err := json.Marshal(dose.Ingredients())
	if err != nil {
		t.Fatal(err)
	}
	if list, err := dose.ReadIngredients(text); err != nil || len(list) != len(dose.Ingredients()) {
		t.Errorf("the table does not read itself: %v", err)
	}
	for name, change := range map[string]func(string) string{
		"not json":      func(s string) string { return s[1:] },
		"strange field": func(s string) string { return strings.Replace(s, `"name":`, `"brand":"x","name":`, 1) },
		"twice":         func(s string) string { return strings.Replace(s, `"id":"praziquantel"`, `"id":"areca"`, 1) },
		"wide range":    func(s string) string { return strings.Replace(s, `"high_mg_l":5,`, `"high_mg_l":50,`, 1) },
		"no source":     func(s string) string { return strings.Replace(s, `"from":"common practice"`, `"from":""`, 1) },
		"bad level":     func(s string) string { return strings.Replace(s, `"level":"warn"`, `"level":"shout"`, 1) },
		"bad standing":  func(s string) string { return strings.Replace(s, `"standing":"never"`, `"standing":"fine"`, 1) },
		"no name":       func(s string) string { return strings.Replace(s, `"name":"Praziquantel"`, `"name":""`, 1) },
		"solubility":    func(s string) string { return strings.Replace(s, `"low_mg_l":100,`, `"low_mg_l":900,`, 1) },
		"half-life":     func(s string) string { return strings.Replace(s, `"low_d":0.7`, `"low_d":70`, 1) },
	} {
		changed := change(string(text))
		if changed == string(text) {
			t.Errorf("%s: nothing was changed", name)
		}
		if _, err := dose.ReadIngredients([]byte(changed)); err == nil {
			t.Errorf("%s: accepted", name)
		}
	}
}

var noon = time.Date(2026, 11, 25, 12, 0, 0, 0, time.UTC)

func gate(t *testing.T, trial dose.Trial, now time.Time) dose.Gate {
	t.Helper()
	g, err := trial.Gate(now)
	if err != nil {
		t.Fatal(err)
	}
	return g
}

func TestTrialGate(t *testing.T) {
	trial := dose.Trial{Form: "bath", Started: noon, Animals: 5}
	g := gate(t, trial, noon)
	if g.State != dose.GateClosed || !g.OpensAt.Equal(noon.Add(24*time.Hour)) || !g.NextLook.Equal(noon.Add(time.Hour)) {
		t.Errorf("just started: %+v", g)
	}
	fine := func(after time.Duration) dose.TrialLook {
		return dose.TrialLook{At: noon.Add(after), Walking: 5}
	}
	trial.Looks = []dose.TrialLook{fine(time.Hour)}
	if g = gate(t, trial, noon.Add(2*time.Hour)); !g.NextLook.Equal(noon.Add(4*time.Hour)) || len(g.Missed) != 0 {
		t.Errorf("after the first look: %+v", g)
	}
	if g = gate(t, trial, noon.Add(25*time.Hour)); g.State != dose.GateClosed || len(g.Missed) != 1 || !g.NextLook.Equal(noon.Add(24*time.Hour)) {
		t.Errorf("time alone opens nothing: %+v", g)
	}
	trial.Looks = append(trial.Looks, fine(26*time.Hour))
	if g = gate(t, trial, noon.Add(27*time.Hour)); g.State != dose.GateOpen || !g.NextLook.IsZero() || len(g.Missed) != 1 {
		t.Errorf("a full day and all walk: %+v", g)
	}
	trial.Looks = []dose.TrialLook{fine(time.Hour), {At: noon.Add(3 * time.Hour), Walking: 4, Down: 1}, fine(25 * time.Hour)}
	if g = gate(t, trial, noon.Add(30*time.Hour)); g.State != dose.GateStopped || !strings.Contains(g.Say, "clean water") {
		t.Errorf("one went down, ever: %+v", g)
	}
	dip := dose.Trial{Form: "dip", Started: noon, Animals: 3, Looks: []dose.TrialLook{{At: noon.Add(time.Hour), Walking: 3}, {At: noon.Add(24 * time.Hour), Walking: 3}}}
	if g = gate(t, dip, noon.Add(24*time.Hour)); g.State != dose.GateOpen {
		t.Errorf("a dip borne for a day: %+v", g)
	}
	dip.Looks[1] = dose.TrialLook{At: noon.Add(24 * time.Hour), Walking: 2, Dead: 1}
	if g = gate(t, dip, noon.Add(24*time.Hour)); g.State != dose.GateStopped {
		t.Errorf("one died: %+v", g)
	}
}

// The gate never opens early, and never after a bad look.
func TestTrialGateProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		trial := dose.Trial{Form: rapid.SampledFrom([]string{"bath", "dip"}).Draw(t, "form"), Started: noon, Animals: rapid.IntRange(3, 5).Draw(t, "n")}
		now := noon.Add(time.Duration(rapid.IntRange(0, 3*24*60).Draw(t, "now")) * time.Minute)
		bad, late := false, false
		for range rapid.IntRange(0, 6).Draw(t, "looks") {
			at := noon.Add(time.Duration(rapid.IntRange(0, int(now.Sub(noon)/time.Minute)).Draw(t, "at")) * time.Minute)
			down := 0
			if rapid.IntRange(0, 9).Draw(t, "luck") == 0 {
				down = 1
			}
			trial.Looks = append(trial.Looks, dose.TrialLook{At: at, Walking: trial.Animals - down, Down: down})
			bad = bad || down > 0
			late = late || at.Sub(noon) >= 24*time.Hour
		}
		g, err := trial.Gate(now)
		if err != nil {
			t.Fatal(err)
		}
		want := dose.GateClosed
		if late {
			want = dose.GateOpen
		}
		if bad {
			want = dose.GateStopped
		}
		if g.State != want {
			t.Fatalf("gate is %s, want %s", g.State, want)
		}
	})
}

func TestTrialSaysWhatIsWrong(t *testing.T) {
	good := dose.Trial{Form: "bath", Started: noon, Animals: 5}
	for name, c := range map[string]struct {
		field  string
		change func(*dose.Trial)
	}{
		"form":        {"form", func(t *dose.Trial) { t.Form = "soak" }},
		"one":         {"animals", func(t *dose.Trial) { t.Animals = 1 }},
		"the lot":     {"animals", func(t *dose.Trial) { t.Animals = 200 }},
		"one lost":    {"looks", func(t *dose.Trial) { t.Looks = []dose.TrialLook{{At: noon, Walking: 4}} }},
		"tomorrow":    {"looks", func(t *dose.Trial) { t.Looks = []dose.TrialLook{{At: noon.Add(48 * time.Hour), Walking: 5}} }},
		"before":      {"looks", func(t *dose.Trial) { t.Looks = []dose.TrialLook{{At: noon.Add(-time.Hour), Walking: 5}} }},
		"less than 0": {"looks", func(t *dose.Trial) { t.Looks = []dose.TrialLook{{At: noon, Walking: 6, Dead: -1}} }},
	} {
		trial := good
		c.change(&trial)
		_, err := trial.Gate(noon.Add(time.Hour))
		wantField(t, name, err, c.field)
	}
}

func TestJudge(t *testing.T) {
	good := dose.Bath{
		Ingredient: "praziquantel", TargetMgL: 2.5, PlannedHours: 96, Hours: 96, WeighedMgL: ptr(2.49),
		CarbonOut: ptr(true), UVOff: ptr(true), LampOff: ptr(true), LowestC: ptr(23.0),
	}
	v, err := dose.Judge(good)
	if err != nil || v.Held != dose.Full || v.Failed != nil || v.Unknown != nil {
		t.Fatalf("a good bath: %+v, %v", v, err)
	}
	for name, c := range map[string]struct {
		held   string
		change func(*dose.Bath)
	}{
		"carbon left in":   {dose.Void, func(b *dose.Bath) { b.CarbonOut = ptr(false) }},
		"carbon not known": {dose.Partial, func(b *dose.Bath) { b.CarbonOut = nil }},
		"ended early":      {dose.Partial, func(b *dose.Bath) { b.Hours = 72 }},
		"hardly begun":     {dose.Void, func(b *dose.Bath) { b.Hours = 24 }},
		"weak":             {dose.Partial, func(b *dose.Bath) { b.WeighedMgL = ptr(2.0) }},
		"a tenth":          {dose.Void, func(b *dose.Bath) { b.WeighedMgL = ptr(0.25) }},
		"too cold":         {dose.Partial, func(b *dose.Bath) { b.LowestC = ptr(15.0) }},
		"germ lamp":        {dose.Partial, func(b *dose.Bath) { b.UVOff = ptr(false) }},
		"void stays void":  {dose.Void, func(b *dose.Bath) { b.CarbonOut, b.LowestC = ptr(false), ptr(15.0) }},
		"lamp not known":   {dose.Full, func(b *dose.Bath) { b.LampOff = nil }},
	} {
		b := good
		c.change(&b)
		v, err := dose.Judge(b)
		if err != nil || v.Held != c.held {
			t.Errorf("%s: %+v, %v, want %s", name, v, err, c.held)
		}
		if v.Held != dose.Full && len(v.Failed) == 0 {
			t.Errorf("%s: %s without saying why", name, v.Held)
		}
	}
	none := dose.Bath{Ingredient: "sodium_chloride_bath", PlannedHours: 72, Hours: 72}
	if v, err := dose.Judge(none); err != nil || v.Held != dose.Full || len(v.Unknown) != 1 {
		t.Errorf("salt minds neither carbon nor lamp: %+v, %v", v, err)
	}
	bad := good
	bad.PlannedHours = 0
	_, err = dose.Judge(bad)
	wantField(t, "no plan", err, "hours")
	bad = good
	bad.Ingredient = "garlic"
	_, err = dose.Judge(bad)
	wantField(t, "garlic", err, "ingredient")
}

func TestReason(t *testing.T) {
	if r, err := dose.Reason("reason", "  the vet said so  "); err != nil || r != "the vet said so" {
		t.Errorf("%q, %v", r, err)
	}
	_, err := dose.Reason("reason", "because")
	var in *ref.InputError
	if !errors.As(err, &in) || in.Field != "reason" {
		t.Errorf("too short: %v", err)
	}
}

func FuzzReadIngredients(f *testing.F) {
	text, err := json.Marshal(dose.Ingredients())
	if err != nil {
		f.Fatal(err)
	}
	f.Add(text)
	f.Add([]byte("[]"))
	f.Add([]byte(`[{"id":"x","name":"x","active":"x","standing":"usable","uses":[{"low_mg_l":1,"usual_mg_l":1,"high_mg_l":1,"from":"y"}]}]`))
	f.Fuzz(func(t *testing.T, text []byte) {
		list, err := dose.ReadIngredients(text)
		if err != nil {
			return
		}
		for _, i := range list {
			for _, u := range i.Uses {
				if !(u.LowMgL > 0 && 10*u.LowMgL > u.HighMgL) {
					t.Fatalf("accepted a range that lets a slip pass: %+v", u)
				}
			}
		}
	})
}
