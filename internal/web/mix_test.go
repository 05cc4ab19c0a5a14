package web_test

import (
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"holdfast"
	"holdfast/desk"
	"holdfast/internal/web"
)

// The dose follows from what was typed; nothing is said before the strength is
// known. Amounts: 120 l at 2.5 mg/l are 0.3 g of the pure substance; a gallon
// is 3.785411784 l (US) or 4.54609 l (imperial), NIST Handbook 44.
func TestMixSaysTheDose(t *testing.T) {
	v := serve(t, web.Config{})
	for _, c := range []struct{ query, want, not string }{
		{"", "Read the strength off the label first", "on the scale"},
		{"volume=120+l", "Read the strength off the label first", "on the scale"},
		{"volume=120+l&strength=100+%25", "0.3 gon the scale", ""},
		{"volume=120+l&strength=5+%25", "6 gon the scale", ""},
		{"volume=120+l&strength=5+%25", "At 100 % it would be 0.3 g", ""},
		{"volume=20+gal_us&strength=50+%25", "0.38 gon the scale", ""},
		{"volume=10+gal_imp&strength=50+%25", "0.23 gon the scale", ""},
		{"volume=120+l&strength=50+mg/ml", "6 mlin a syringe", ""},
		{"volume=120+l&strength=5+%25+w/v", "6 mlin a syringe", ""},
		{"volume=120+l&strength=50+mg+per+tablet", "6 tablets", ""},
		{"volume=100+l&strength=40+mg+per+tablet", "6¼ tablets", ""},
		{"volume=120+l&target=one+dose+per+40+l&strength=", "3 doses", "That makes"},
		{"volume=10+l&strength=50+mg/ml", "10 drops", ""},
		{"volume=2+l&strength=50+%25", "of that stock is the dose", ""},
		{"volume=120+l&strength=50+%25&scale=0.1+g", "no stock helps: it does not dissolve", ""},
		{"volume=120+l&strength=100+%25&volume-error=10+%25", "between 2.27 mg/l and 2.78 mg/l", ""},
		{"volume=120+l&strength=100+%25&change=30+%25+every+1+d&half-life=2+d&for=4+d", "Day 1:", ""},
		{"volume=120+l&strength=100+%25", "two to three weeks", ""},
		{"volume=120+l&strength=100+%25", "2.5 mg/l", ""},
		{"volume=120+l&strength=100+%25&target=25+mg/l", "10 times the usual 2.5 mg/l", ""},
		{"ingredient=sodium_chloride_bath&volume=20+l&strength=100+%25&spoon=tsp_metric&powder=table_salt", "level teaspoons, metric", ""},
	} {
		a := want(t, v.get("/mix?"+c.query), http.StatusOK)
		text := strings.ReplaceAll(a.Says("main"), "\u00a0", " ")
		if !strings.Contains(text, c.want) {
			t.Errorf("%s does not say %q:\n%.1500s", c.query, c.want, text)
		}
		if c.not != "" && strings.Contains(text, c.not) {
			t.Errorf("%s says %q", c.query, c.not)
		}
	}
}

// Wrong input at every field is answered at that field, kept as it was typed,
// and nothing is worked out.
func TestMixRefusesWhatCannotBe(t *testing.T) {
	v := serve(t, web.Config{})
	for field, all := range map[string][]string{
		"strength": {"150 %", "0 %", "-5 %", "50 l", "strong", "NaN", strings.Repeat("9", 500)}, "target": {"-2.5 mg/l", "2.5", "2.5 kg", "1 %", "1e999 mg/l"},
		"volume": {"-3 l", "30 gal", "120", "3 kg", "0 l", "1 ml per 40 l"}, "for": {"-2 d", "2 l", "400 d"}, "volume-error": {"100 %", "3", "-3 %"},
		"scale": {"0 g", "1 l", "-0.01 g"}, "change": {"30 %", "130 % every 3 d", "30 % every 0 d"}, "half-life": {"4 l", "0 d"}, "absorb": {"x"}, "redose": {"2"},
		"residue": {"x", "-1 mg/l", "3 l"}, "ingredient": {"nothing such"}, "spoon": {"tbsp_us"},
	} {
		for _, bad := range all {
			q := url.Values{"strength": {"50 %"}, "volume": {"120 l"}, "target": {"2.5 mg/l"}}
			q.Set(field, bad)
			a := want(t, v.get("/mix?"+q.Encode()), http.StatusBadRequest)
			if len(a.All("#"+field+"-err")) != 1 {
				t.Errorf("%s=%s: nothing is said at the field", field, bad)
			}
			if len(a.All(".dosed")) != 0 {
				t.Errorf("%s=%s: a dose is shown", field, bad)
			}
		}
	}
}

// What kills shrimp is never mixed, and a slip of ten times does not stand in
// big figures.
func TestMixStopsBeforeTheWeighing(t *testing.T) {
	v := serve(t, web.Config{})
	a := want(t, v.get("/mix?ingredient=copper&strength=50+%25&volume=10+l&target=1+mg/l"), http.StatusOK)
	says(t, a, "kills shrimp and snails in traces")
	if len(a.All(".dosed")) != 0 {
		t.Error("copper is weighed out")
	}
	a = want(t, v.get("/mix?strength=100+%25&volume=120+l&target=25+mg/l"), http.StatusOK)
	if len(a.All(".dosed.held")) != 1 {
		t.Error("ten times the dose stands in big figures")
	}
	a = want(t, v.get("/mix?strength=100+%25&volume=120+l"), http.StatusOK)
	if len(a.All(".dosed.held")) != 0 || len(a.All(".dosed")) != 1 {
		t.Error("the usual dose does not stand in big figures")
	}
}

func TestMixKnowsTheTank(t *testing.T) {
	d, lot := aLot(t)
	v := serve(t, web.Config{Desk: d})
	tank, err := d.Tank(t.Context(), "14")
	if err != nil {
		t.Fatal(err)
	}
	a := want(t, v.get("/tanks/14/mix?strength=100+%25"), http.StatusOK)
	if got := a.fields("main form")["volume"]; len(got) != 1 || !strings.HasPrefix(got[0], "54") || tank.Litres != 54 {
		t.Errorf("volume %v, the tank holds %v l", got, tank.Litres)
	}
	says(t, a, "as the water may be off by")
	want(t, v.get("/tanks/none/mix"), http.StatusNotFound)
	want(t, v.get("/lots/none/mix"), http.StatusNotFound)
	// The first thing for a lot is its trial.
	a = want(t, v.get("/lots/"+lot+"/mix?strength=100+%25"), http.StatusOK)
	says(t, a, "The trial begins now")
	a = want(t, v.get("/lots/"+lot+"/mix?strength=100+%25&who=lot"), http.StatusOK)
	says(t, a, "Not yet for the lot")
}

// From the trial to the bath of the lot and its end, by forms alone.
func TestFromTrialToBath(t *testing.T) {
	d, lot := aLot(t)
	now := noon
	d.Now = func() time.Time { now = now.Add(time.Millisecond); return now }
	v := serve(t, web.Config{Desk: d})
	page := "/lots/" + lot + "/mix"
	trial := want(t, v.get(page+"?strength=50+%25"), http.StatusOK)
	good := trial.sent("#mix", "stock_g", "0.2", "stock_ml", "1000", "taken_ml", "50", "count", "5", "set", "air", "set", "lamp", "set", "carbon")
	before := count(t, d)
	// 2 g of a 50 % product in 100 ml are 10 g/l; praziquantel dissolves to 0.4 g/l.
	strong := trial.sent("#mix", "stock_g", "2", "stock_ml", "100", "taken_ml", "0.5", "count", "5", "set", "air", "set", "lamp", "set", "carbon")
	says(t, want(t, v.post(page, strong), http.StatusBadRequest), "do not dissolve")
	for _, bad := range [][2]string{{"count", "2"}, {"count", "6"}, {"count", ""}, {"stock_g", ""}, {"stock_g", "-1"}, {"taken_ml", "2000"}, {"taken_ml", "500"}, {"copper", "x"}, {"temp", "99"}, {"volume", "-2 l"}, {"at", "yesterday"}} {
		f := url.Values{}
		for k, x := range good {
			f[k] = x
		}
		f.Set(bad[0], bad[1])
		a := want(t, v.post(page, f), http.StatusBadRequest)
		if len(a.All(".err"))+len(a.All("[role=alert]")) == 0 {
			t.Errorf("%v: nothing says what is wrong", bad)
		}
	}
	// Carbon not ticked, or copper in the water, needs a reason.
	f := trial.sent("#mix", "stock_g", "0.2", "stock_ml", "1000", "taken_ml", "50", "count", "5", "set", "air", "set", "lamp")
	says(t, want(t, v.post(page, f), http.StatusBadRequest), "Carbon or resin is in the filter")
	f = trial.sent("#mix", "stock_g", "0.2", "stock_ml", "1000", "taken_ml", "50", "count", "5", "set", "air", "set", "lamp", "set", "carbon", "copper", "0.1")
	says(t, want(t, v.post(page, f), http.StatusBadRequest), "Copper shows")
	if count(t, d) != before {
		t.Fatal("something was recorded")
	}
	a := want(t, v.post(page, good), http.StatusSeeOther)
	at := a.Header.Get("Location")
	if !strings.HasPrefix(at, "/lots/"+lot+"/treatments/") {
		t.Fatalf("led to %s", at)
	}
	where, _, _ := strings.Cut(at, "?")
	shown := want(t, v.get(at), http.StatusOK)
	says(t, shown, "Stock: 0.2 g in 1 L, 50 ml taken")
	says(t, shown, "Trial on 5")
	for _, bad := range [][]string{{"walking", "3", "down", "0", "dead", "0"}, {"walking", "", "down", "0", "dead", "0"}, {"walking", "5", "down", "", "dead", "0"}, {"walking", "-1", "down", "0", "dead", "6"}} {
		if a := want(t, v.post(where+"/look", shown.sent("#look", bad...)), http.StatusBadRequest); len(a.All(".err")) == 0 {
			t.Errorf("%v: nothing is said at a field", bad)
		}
	}
	// The lot's dose is shut, and opens a day later.
	lotForm := func() url.Values {
		p := want(t, v.get(page+"?strength=50+%25&who=lot"), http.StatusOK)
		return p.sent("#mix", "weighed", "0.27", "set", "air", "set", "lamp", "set", "carbon")
	}
	says(t, want(t, v.post(page, lotForm()), http.StatusBadRequest), "Closed until a look a full day after")
	now = now.Add(25 * time.Hour)
	shown = want(t, v.get(where), http.StatusOK)
	want(t, v.post(where+"/look", shown.sent("#look", "walking", "5", "down", "0", "dead", "0")), http.StatusSeeOther)
	says(t, want(t, v.get(where), http.StatusOK), "the whole dose may be given")
	tenfold := lotForm()
	tenfold.Set("weighed", "2.7")
	if a := want(t, v.post(page, tenfold), http.StatusBadRequest); len(a.All("#mix-weighed-err")) != 1 {
		t.Error("ten times the weight is not answered at its field")
	}
	a = want(t, v.post(page, lotForm()), http.StatusSeeOther)
	where, _, _ = strings.Cut(a.Header.Get("Location"), "?")
	shown = want(t, v.get(where), http.StatusOK)
	says(t, shown, "Running since")
	want(t, v.post(where+"/again", shown.sent("#again", "weighed", "0.1")), http.StatusSeeOther)
	want(t, v.post(where+"/again", shown.sent("#again", "weighed", "x")), http.StatusBadRequest)
	now = now.Add(48 * time.Hour)
	shown = want(t, v.get(where), http.StatusOK)
	says(t, shown, "End it")
	want(t, v.post(where+"/end", shown.sent("#end", "carbon", "yes", "uv", "yes")), http.StatusBadRequest)
	want(t, v.post(where+"/end", shown.sent("#end", "carbon", "no", "uv", "yes", "lamp", "yes", "carbon_back", "yes")), http.StatusSeeOther)
	says(t, want(t, v.get(where), http.StatusOK), "Does not count: carbon or resin was left in")
	l, err := d.Lot(t.Context(), lot)
	if err != nil {
		t.Fatal(err)
	}
	var given []*holdfast.Treatment
	for _, ev := range l.Events {
		if p, ok := ev.Payload.(*holdfast.Treatment); ok {
			given = append(given, p)
		}
	}
	if len(given) != 2 || !given[0].Trial || given[1].WeighedG == nil || *given[1].WeighedG != 0.27 || given[1].VolumeL != 54 || given[1].Held != holdfast.HeldVoid {
		t.Errorf("given %+v", given)
	}
}

func TestDip(t *testing.T) {
	d, lot := aLot(t)
	v := serve(t, web.Config{Desk: d})
	a := want(t, v.get("/dip?salt=30+g/l&bowl=1+l&water=20"), http.StatusOK)
	// 30 g of salt in a litre of water at 20 C: density of brine, Perry.
	for _, part := range []string{"30 gof common salt", "30 s, out at the first sign", "tablespoon to a cup is 76 g", "two to three weeks", "Density at 20", "lying on its side", "no longer moving its legs", "In at", "by the clock"} {
		if text := strings.ReplaceAll(a.Says("main"), "\u00a0", " "); !strings.Contains(strings.ToLower(text), strings.ToLower(part)) {
			t.Errorf("the dip does not say %q:\n%.2000s", part, text)
		}
	}
	for field, all := range map[string][]string{"spoon": {"bucket"}, "salt": {"-30 g/l", "30", "500 g/l", "1 g/l", "x"}, "bowl": {"-1 l", "1 cup", "0 l", "3 kg"}, "water": {"-5", "99", "NaN"}} {
		for _, bad := range all {
			a := want(t, v.get("/dip?"+url.Values{field: {bad}}.Encode()), http.StatusBadRequest)
			if len(a.All("#"+field+"-err")) != 1 {
				t.Errorf("%s=%s: nothing is said at the field", field, bad)
			}
		}
	}
	page := "/lots/" + lot + "/dip"
	form := want(t, v.get(page), http.StatusOK)
	says(t, want(t, v.post(page, form.sent("#dip", "count", "5", "seconds", "30", "weighed", "30", "with", "berried")), http.StatusBadRequest), "Berried animals lose their eggs")
	for _, bad := range [][]string{{"count", "2", "seconds", "30", "weighed", "30"}, {"count", "5", "seconds", "", "weighed", "30"}, {"count", "5", "seconds", "30", "weighed", ""}, {"count", "5", "seconds", "30", "weighed", "300"}, {"count", "5", "seconds", "30", "weighed", "30", "stopped", "bored"}} {
		want(t, v.post(page, form.sent("#dip", bad...)), http.StatusBadRequest)
	}
	got := want(t, v.post(page, form.sent("#dip", "count", "5", "seconds", "20", "weighed", "30", "stopped", "lying on its side")), http.StatusSeeOther)
	says(t, want(t, v.get(got.Header.Get("Location")), http.StatusOK), "Stopped")
	form = want(t, v.get(page+"?who=lot"), http.StatusOK)
	says(t, form, "Shut for the lot")
	want(t, v.post(page, form.sent("#dip", "count", "50", "seconds", "30", "weighed", "30", "reason", "The trial was on the weakest, by mistake.")), http.StatusSeeOther)
}

// A reading nobody took is neither filled in nor used.
func TestAcclimate(t *testing.T) {
	v := serve(t, web.Config{})
	bag := url.Values{"bag_temp_c": {"18"}, "bag_ph": {"6.4"}, "bag_ec_us_cm": {"350"}, "bag_tan_mg_l_n": {"3"}, "bag_kh_dh": {"3"}, "tank_temp_c": {"23"}, "tank_ph": {"7.4"},
		"tank_ec_us_cm": {"600"}, "tank_kh_dh": {"4"}, "count": {"50"}, "mass": {"0.2"}, "bag_l": {"0.5"}, "vessel_l": {"3"}, "step": {"20"}}
	a := want(t, v.get("/acclimate?"+bag.Encode()), http.StatusOK)
	for _, part := range []string{"Now, closed:", "With air:", "drops/s", "oxygen of the bag", "net them over"} {
		says(t, a, part)
	}
	less := url.Values{}
	for k, x := range bag {
		less[k] = x
	}
	less.Set("bag_tan_mg_l_n", "")
	a = want(t, v.get("/acclimate?"+less.Encode()), http.StatusOK)
	says(t, a, "worked out only when temperature, pH and total ammonia of the bag were all measured")
	if text := a.Says("main"); strings.Contains(text, "NH₃-N") {
		t.Error("ammonia is worked out of a reading that nobody took")
	}
	for field, all := range map[string][]string{"bag_ph": {"17", "-1", "x"}, "bag_temp_c": {"99"}, "tank_ec_us_cm": {"-5", "9e9"}, "bag_l": {"-1", "1000"}, "vessel_l": {"0.4"}, "count": {"-5", "0", "2.5"}, "mass": {"0"}, "step": {"0.5"}, "start": {"25:99"}, "gas_l": {"-1"}, "hours": {"x"}, "group": {"unicorns"}} {
		for _, bad := range all {
			f := url.Values{}
			for k, x := range bag {
				f[k] = x
			}
			f.Set(field, bad)
			a := want(t, v.get("/acclimate?"+f.Encode()), http.StatusBadRequest)
			if len(a.All("#"+field+"-err")) != 1 {
				t.Errorf("%s=%s: nothing is said at the field", field, bad)
			}
		}
	}
	want(t, v.get("/acclimate?delivery=none"), http.StatusNotFound)
	says(t, want(t, v.get("/acclimate"), http.StatusOK), "Write how many animals")
}

func TestWater(t *testing.T) {
	v := serve(t, web.Config{})
	for query, part := range map[string]string{
		"": "Cherry shrimp",
		"do=harden&litres=100&from_gh=0&from_kh=0&gh=8&kh=3&calcium=gypsum":                         "gypsum",
		"do=harden&litres=100&from_gh=8&from_kh=3&gh=8&kh=3":                                        "already",
		"do=pour&a_litres=20&a_ph=7&a_temp_c=20&a_kh_dh=5&b_litres=20&b_ph=6&b_temp_c=20&b_kh_dh=1": "The mean of the two would be 6.5",
		"do=pour&a_litres=20&a_gh_dh=10&b_litres=20&b_gh_dh=0":                                      "not known of both",
		"do=nitrate&rise=2&source=5&limit=30&every=7":                                               "56",
		"do=chlorine&litres=10&chlorine=100":                                                        "thiosulfate",
	} {
		says(t, want(t, v.get("/water?"+query), http.StatusOK), part)
	}
	for query, field := range map[string]string{
		"do=harden&litres=-1&from_gh=0&from_kh=0&gh=8&kh=3": "harden-litres", "do=harden&litres=10&from_gh=9&from_kh=0&gh=8&kh=3": "harden-gh", "do=harden&litres=10&from_kh=0&gh=8&kh=3": "harden-from_gh",
		"do=pour&a_litres=x&b_litres=1": "pour-a_litres", "do=pour&a_litres=1&a_ph=17&b_litres=1": "pour-a_ph", "do=nitrate&rise=-2&source=5&limit=30&every=7": "nitrate-rise", "do=chlorine&litres=10&chlorine=": "chlorine-chlorine",
	} {
		a := want(t, v.get("/water?"+query), http.StatusBadRequest)
		if len(a.All("#"+field+"-err")) != 1 {
			t.Errorf("%s: nothing is said at %s", query, field)
		}
	}
	says(t, want(t, v.get("/water?do=nitrate&rise=2&source=40&limit=30&every=7"), http.StatusOK), "")
}

func TestIngredients(t *testing.T) {
	a := want(t, serve(t, web.Config{}).get("/ingredients"), http.StatusOK)
	for _, part := range []string{"Copper in any form", "Never: kills shrimp", "2 mg/l to 5 mg/l", "Kills snails"} {
		says(t, a, part)
	}
	if len(a.All("#praziquantel")) != 1 || len(a.All("#copper")) != 1 {
		t.Error("an ingredient has no place of its own")
	}
}

func TestTankDrawsItsReadings(t *testing.T) {
	d, _ := aLot(t)
	v := serve(t, web.Config{Desk: d})
	a := want(t, v.get("/tanks/14"), http.StatusOK)
	says(t, a, "Nobody has measured this water yet")
	for i, temp := range []float64{23, 29} {
		ph, tan := 7.2, 1.0
		at := noon.AddDate(0, 0, i-3)
		if err := d.Measure(t.Context(), desk.Actor{Who: "Mara", At: at}, "14", holdfast.Water{TempC: &temp, PH: &ph, TAN: &tan}, "", ""); err != nil {
			t.Fatal(err)
		}
	}
	a = want(t, v.get("/tanks/14"), http.StatusOK)
	// Kept in 18 to 26 C: species.yaml, common practice.
	for _, part := range []string{"Kept in 18 to 26. It lies outside", "Un-ionized ammonia"} {
		says(t, a, part)
	}
	if n := len(a.All("#readings svg.series")); n != 8 { // four kinds, each wide and tall
		t.Errorf("%d drawings", n)
	}
}

// A label's own rate says nothing of the water in mg/l: its further doses are
// shares of a dose, and the round asks for them all the same. 4 tablets to 160 l;
// 30 % of the water is 1.2 of them, 1¼ as they can be broken.
func TestALabelsRateIsPlannedInShares(t *testing.T) {
	d, lot := aLot(t)
	v := serve(t, web.Config{Desk: d})
	query := "target=one+tablet+per+13.5+l&strength=&ingredient=&for=3+d&change=30+%25+every+1+d&volume=54+l"
	a := want(t, v.get("/lots/"+lot+"/mix?who=lot&"+query), http.StatusOK)
	text := strings.ReplaceAll(a.Says("main"), "\u00a0", " ")
	for _, say := range []string{"4 tablets", "Day 1: 1¼ tablets more", "70 % of a dose", "Shares of the label’s dose"} {
		if !strings.Contains(text, say) {
			t.Errorf("the page does not say %q", say)
		}
	}
	if strings.Contains(text, "0.7 mg/l") {
		t.Error("a share is called a concentration")
	}
	form := a.fields("#mix")
	form.Set("weighed", "4")
	form["set"] = []string{"air", "lamp", "carbon"}
	form.Set("reason", "The label's own rate, after a call to the veterinarian.")
	form.Set("at", "")
	done := v.post("/lots/"+lot+"/mix", form)
	if done.StatusCode != http.StatusSeeOther {
		t.Fatalf("status %d: %s", done.StatusCode, done.Says("main"))
	}
	l, err := d.Lot(t.Context(), lot)
	if err != nil {
		t.Fatal(err)
	}
	p := l.Events[len(l.Events)-1].Payload.(*holdfast.Treatment)
	if p.Plan == nil || len(p.Plan.Steps) != 2 || !p.Plan.Steps[0].Dose || p.Plan.Steps[0].Amount != 1.25 || p.Plan.Steps[0].ChangeShare != 0.3 || p.TargetMgL != 0 {
		t.Errorf("planned: %+v of %+v", p.Plan, p)
	}
}
