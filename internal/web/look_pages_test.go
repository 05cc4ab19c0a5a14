package web

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"html"
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"
	"time"

	"holdfast"
	"holdfast/desk"
	"holdfast/internal/cli"
	"holdfast/internal/web/webtest"
	"holdfast/internal/web/words"
)

// inspect enters a look at n animals seen from all sides.
func inspect(t *testing.T, s *Server, who, lot string, n, positive int, change func(*holdfast.Inspection)) holdfast.ID {
	t.Helper()
	p := holdfast.Inspection{By: holdfast.ByLens, Random: true, LookedFor: []string{"rostrum_worm", "segmented_worm"}}
	for i := range n {
		a := holdfast.Animal{No: i + 1, Seen: holdfast.Sides}
		if i < positive {
			a.Findings = []holdfast.Finding{{Condition: "rostrum_worm"}}
		}
		p.Animals = append(p.Animals, a)
	}
	if change != nil {
		change(&p)
	}
	id, err := s.Desk.Inspect(t.Context(), desk.Actor{Who: who}, lot, "", p)
	if err != nil {
		t.Fatal(err)
	}
	return id
}

var commandLine = regexp.MustCompile(`(?s)<pre class="command"[^>]*><code>(.*?)</code>`)

// The figures of the Look page are those of the command it prints.
func TestLookPageStatesTheCommandsFigures(t *testing.T) {
	s := newServer(t)
	lot := lotOf(t, s)
	path := "/lots/" + lot + "/look"
	body := get(t, s, path).Body.String()
	step := func(v url.Values) {
		t.Helper()
		v.Set("look", hidden(t, body, "look"))
		v.Set("id", hidden(t, body, "id"))
		w := post(t, s, path, v)
		if w.Code != http.StatusOK {
			t.Fatalf("status %d", w.Code)
		}
		body = w.Body.String()
	}
	step(url.Values{"do": {"next"}, "side": {"left", "head"}})
	for range 6 {
		step(url.Values{"do": {"next"}, "side": {"left", "right", "belly", "head"}})
	}
	for _, positive := range []bool{false, true} {
		if positive {
			step(url.Values{"do": {"next"}, "side": {"left", "right", "belly", "head"}, "say": {"rostrum_worm"}})
		}
		step(url.Values{"do": {"show"}})
		found := commandLine.FindAllStringSubmatch(body, -1)
		if len(found) < 2 {
			t.Fatalf("%d commands on the page", len(found))
		}
		for _, m := range found {
			line := strings.Fields(html.UnescapeString(m[1]))
			var out, errs bytes.Buffer
			if status := cli.Run(context.Background(), append(line[1:], "--json"), cli.Streams{Out: &out, Err: &errs}); status != 0 || line[0] != "holdfast" {
				t.Fatalf("%s: status %d, %s", m[1], status, errs.String())
			}
			var doc struct {
				Apparent struct {
					ClopperPearson [2]float64 `json:"clopper_pearson"`
				} `json:"apparent"`
				True struct {
					Estimate float64    `json:"estimate"`
					Interval [2]float64 `json:"interval"`
				} `json:"true"`
				Free struct {
					Chance float64 `json:"chance"`
					Prior  float64 `json:"prior"`
				} `json:"free"`
			}
			if err := json.Unmarshal(out.Bytes(), &doc); err != nil {
				t.Fatal(err)
			}
			// The block that ends with this command.
			block := body[:strings.Index(body, m[0])]
			block = block[strings.LastIndex(block, `class="proof"`):]
			for _, want := range []string{
				words.Percent(doc.Free.Chance), "before the look " + words.Percent(doc.Free.Prior),
				words.OfHundred(doc.True.Estimate) + " of 100",
				fmt.Sprintf("%s to %s of 100", words.OfHundred(doc.Apparent.ClopperPearson[0]), words.OfHundred(doc.Apparent.ClopperPearson[1])),
				fmt.Sprintf("%s to %s of 100", words.OfHundred(doc.True.Interval[0]), words.OfHundred(doc.True.Interval[1])),
			} {
				if !strings.Contains(block, want) {
					t.Errorf("%s: the page does not say %q", m[1], want)
				}
			}
			out.Reset()
			if status := cli.Run(context.Background(), line[1:], cli.Streams{Out: &out, Err: &errs}); status != 0 {
				t.Fatal(errs.String())
			}
			if says, _, _ := strings.Cut(out.String(), "\n"); !strings.Contains(html.UnescapeString(block), says) {
				t.Errorf("the command says %q, the page does not", says)
			}
		}
	}
	if !strings.Contains(body, "no number of clean ones makes up for that") {
		t.Error("the page does not say what the positive means")
	}
}

// What stands on the page before and while nothing was found.
func TestLookPageSaysLuckAndWhenToStop(t *testing.T) {
	s := newServer(t)
	lot := lotOf(t, s)
	path := "/lots/" + lot + "/look"
	body := get(t, s, path).Body.String()
	if !strings.Contains(body, "carried it, you would miss") {
		t.Error("the page does not say what the look can miss")
	}
	if strings.Contains(body, "What this look proves by itself") || strings.Contains(body, `class="command"`) {
		t.Error("a figure is shown before anybody asked")
	}
	w := post(t, s, path, url.Values{"do": {"show"}, "look": {hidden(t, body, "look")}, "id": {hidden(t, body, "id")}})
	for _, want := range []string{"more clean and you are at", "One with signs among the next would mean"} {
		if !strings.Contains(w.Body.String(), want) {
			t.Errorf("the page does not say %q", want)
		}
	}
}

func TestQuickLookSaysHowTheyWereChosen(t *testing.T) {
	s := newServer(t)
	lot := lotOf(t, s)
	path := "/lots/" + lot + "/look"
	body := get(t, s, path).Body.String()
	send := func(change url.Values) (int, string) {
		v := url.Values{"do": {"quick"}, "look": {hidden(t, body, "look")}, "id": {hidden(t, body, "id")}, "looked": {"20"}, "qside": {"left", "right", "belly", "head"}, "drawn": {"random"}, "by": {"lens"}}
		for k, x := range change {
			v[k] = x
		}
		w := post(t, s, path, v)
		if w.Code < 400 {
			body = get(t, s, path).Body.String()
		}
		return w.Code, w.Body.String()
	}
	for name, bad := range map[string]url.Values{
		"all, but they were not":  {"drawn": {"all"}},
		"half a picture":          {"pool": {"3"}},
		"a picture of nobody":     {"pool": {"0"}},
		"a picture of a thousand": {"pool": {"1000"}},
		"more with than pictures": {"pool": {"5"}, "with_rostrum_worm": {"5"}},
		"among fewer than seen":   {"drawn": {"weak_first"}, "quick_among": {"19"}},
		"among more than alive":   {"drawn": {"weak_first"}, "quick_among": {"61"}},
		"chosen by magic":         {"drawn": {"magic"}},
		"among NaN":               {"drawn": {"as_caught"}, "quick_among": {"NaN"}},
		"chosen above by magic":   {"chosen": {"magic"}},
	} {
		if code, page := send(bad); code != http.StatusBadRequest || !strings.Contains(page, "aria-invalid") && !strings.Contains(page, `class="faults`) {
			t.Errorf("%s: status %d", name, code)
		}
	}
	for name, c := range map[string]struct {
		form url.Values
		want func(*holdfast.Inspection) bool
	}{
		"weak": {url.Values{"drawn": {"weak_first"}, "quick_among": {"25"}}, func(p *holdfast.Inspection) bool {
			return p.Chosen == holdfast.ChosenWeak && !p.Random && p.Among == 25
		}},
		"caught": {url.Values{"drawn": {"as_caught"}}, func(p *holdfast.Inspection) bool {
			return p.Chosen == holdfast.ChosenAsCaught && !p.Random && p.Among == 0
		}},
		"pictures": {url.Values{"pool": {"5"}, "with_rostrum_worm": {"1"}}, func(p *holdfast.Inspection) bool {
			return p.Pool == 5 && len(p.Animals) == 4 && p.Looked() == 20 && p.Positive() == 1
		}},
		"all": {url.Values{"drawn": {"all"}, "looked": {"60"}}, func(p *holdfast.Inspection) bool {
			return p.Chosen == holdfast.ChosenAll && p.Random && p.Looked() == 60
		}},
	} {
		if code, _ := send(c.form); code != http.StatusSeeOther {
			t.Errorf("%s: status %d", name, code)
			continue
		}
		v, err := s.Desk.View(t.Context(), lot)
		if err != nil {
			t.Fatal(err)
		}
		if p := v.Lot.Events[len(v.Lot.Events)-1].Payload.(*holdfast.Inspection); !c.want(p) {
			t.Errorf("%s: kept %+v", name, p)
		}
	}
}

// Other eyes judge the same animals, blind; from that the shop learns, and may
// reckon with it.
func TestSecondPairOfEyesTeaches(t *testing.T) {
	s := newServer(t)
	lot := lotOf(t, s)
	if body := get(t, s, "/looking").Body.String(); !strings.Contains(body, "No animals were looked at twice yet") {
		t.Error("the empty page does not say that it is empty")
	}
	first := inspect(t, s, "Jo", lot, 20, 14, nil)
	body := get(t, s, "/looking").Body.String()
	link := "/lots/" + lot + "/look?second=" + string(first)
	if !strings.Contains(html.UnescapeString(body), link) {
		t.Fatalf("the page does not offer the look once more")
	}
	body = get(t, s, link).Body.String()
	if strings.Contains(body, "Show the chance") || strings.Contains(body, "with signs of") {
		t.Error("the second look is not blind")
	}
	path := "/lots/" + lot + "/look"
	for i := range 20 {
		v := url.Values{"do": {"next"}, "side": {"left", "right", "belly", "head"}, "by": {"eye"}, "look": {hidden(t, body, "look")}, "id": {hidden(t, body, "id")}}
		if i < 6 {
			v["say"] = []string{"rostrum_worm"}
		}
		w := post(t, s, path, v)
		if w.Code != http.StatusOK {
			t.Fatalf("animal %d: status %d", i+1, w.Code)
		}
		body = w.Body.String()
	}
	if w := post(t, s, path, url.Values{"do": {"save"}, "look": {hidden(t, body, "look")}, "id": {hidden(t, body, "id")}}); w.Code != http.StatusSeeOther {
		t.Fatalf("saving: status %d", w.Code)
	}
	sight, err := s.Desk.LearnSight(t.Context())
	if err != nil || len(sight.Pairs) != 2 {
		t.Fatalf("%+v, %v", sight, err)
	}
	// Beta(1, 1) and 6 seen of the 14 that the lens found: mean 7/16.
	eye := sight.Learned[0]
	if eye.By != holdfast.ByEye || eye.Carriers != 14 || eye.Seen != 6 || eye.Share != 7.0/16 || !eye.Enough() {
		t.Errorf("learned %+v", eye)
	}
	body = get(t, s, "/looking?pair=0").Body.String()
	for _, want := range []string{"By eye you see about 4 in 10", "One lot alone cannot tell", "Too few to reckon with", "It saw 6 of 14"} {
		if !strings.Contains(body, want) {
			t.Errorf("the page does not say %q", want)
		}
	}
	webtest.Parse(t, strings.NewReader(body))
	adopt := url.Values{"do": {"adopt"}, "by": {"eye"}, "condition": {"rostrum_worm"}, "id": {hidden(t, body, "id")}}
	w := post(t, s, "/looking", adopt)
	if w.Code != http.StatusSeeOther {
		t.Fatalf("adopting: status %d", w.Code)
	}
	did := get(t, s, w.Header().Get("Location")).Body.String()
	if !strings.Contains(did, "as you adopted it") || !strings.Contains(did, "Undo") {
		t.Error("what was adopted is not said, or cannot be taken back")
	}
	shop, err := s.Desk.Settings(t.Context())
	if err != nil || shop.Sight[holdfast.SightKey{By: "eye", Condition: "rostrum_worm"}].A != 7 {
		t.Errorf("settings %+v, %v", shop.Sight, err)
	}
	if w := post(t, s, "/looking", url.Values{"do": {"forget"}, "by": {"eye"}, "condition": {"rostrum_worm"}}); w.Code != http.StatusSeeOther {
		t.Errorf("forgetting: status %d", w.Code)
	}
	for name, bad := range map[string]url.Values{
		"too few":  {"do": {"adopt"}, "by": {"lens"}, "condition": {"rostrum_worm"}},
		"no way":   {"do": {"adopt"}, "by": {"nose"}, "condition": {"rostrum_worm"}},
		"nothing":  {},
		"bad name": {"do": {"forget"}, "by": {"eye"}, "condition": {"../x"}},
	} {
		if w := post(t, s, "/looking", bad); w.Code < 400 || w.Code >= 500 {
			t.Errorf("%s: status %d", name, w.Code)
		}
	}
	for _, bad := range []string{"x", string(first) + "0", "018f0000-0000-7000-8000-000000000000"} {
		if w := get(t, s, path+"?second="+bad); w.Code < 400 || w.Code >= 500 {
			t.Errorf("a second look at %q: status %d", bad, w.Code)
		}
	}
}

func TestSheetIsTheSameAtTheSameAddress(t *testing.T) {
	s := newServer(t)
	lot := lotOf(t, s)
	path := "/lots/" + lot + "/look/sheet"
	w := get(t, s, path+"?n=12&way=count")
	if w.Code != http.StatusSeeOther {
		t.Fatalf("status %d", w.Code)
	}
	at := w.Header().Get("Location")
	one, two := get(t, s, at).Body.String(), get(t, s, at).Body.String()
	rows := regexp.MustCompile(`number (\d+)`).FindAllStringSubmatch(one, -1)
	if len(rows) != 12 {
		t.Fatalf("%d animals on the sheet", len(rows))
	}
	seen := map[string]bool{}
	for i, m := range rows {
		if seen[m[1]] {
			t.Errorf("animal %s stands twice", m[1])
		}
		seen[m[1]] = true
		if again := regexp.MustCompile(`number (\d+)`).FindAllStringSubmatch(two, -1); again[i][1] != m[1] {
			t.Fatal("the same address gives another sheet")
		}
	}
	webtest.Parse(t, strings.NewReader(one))
	if !strings.Contains(one, "could be caught") {
		t.Error("the sheet does not say what bias does")
	}
	net := get(t, s, path+"?seed=abc&n=5").Body.String()
	if !strings.Contains(net, "Dip the net") || strings.Count(net, `<th scope="row">`) != 5 {
		t.Error("the sheet for the net is not whole")
	}
	for _, bad := range []string{"n=0", "n=61", "n=NaN", "n=-3", "way=magic", "net=0", "could=1", "n=1e9", "n=" + strings.Repeat("9", 300)} {
		if w := get(t, s, path+"?seed=abc&"+bad); w.Code != http.StatusBadRequest {
			t.Errorf("%s: status %d", bad[:min(len(bad), 20)], w.Code)
		}
	}
}

func TestHourIsShared(t *testing.T) {
	s := newServer(t)
	if body := get(t, s, "/hour").Body.String(); !strings.Contains(body, "No lot to look at") {
		t.Error("the empty page does not say that it is empty")
	}
	a, b := lotOf(t, s), lotOf(t, s)
	body := get(t, s, "/hour").Body.String()
	if strings.Count(body, "checked") < 2 {
		t.Error("the lots on hold are not chosen to begin with")
	}
	ask := func(change url.Values) (int, string) {
		q := url.Values{"do": {"share"}, "minutes": {"60"}, "seconds": {"30"}, "setup": {"5"}, "harm": {"500"}, "hold": {"60"}, "by": {"lens"}, "lot": {a, b}}
		for k, v := range change {
			q[k] = v
		}
		w := get(t, s, "/hour?"+q.Encode())
		return w.Code, w.Body.String()
	}
	code, body := ask(nil)
	webtest.Parse(t, strings.NewReader(body))
	if code != http.StatusOK || !strings.Contains(body, "the loss to expect falls from") || !strings.Contains(body, "/look?by=lens") {
		t.Errorf("status %d, no share", code)
	}
	plan, err := s.Desk.Hour(t.Context(), desk.HourForm{Minutes: 60, Seconds: 30, SetupMinutes: 5, By: "lens", Lots: []string{a, b}, Harm: 500, Hold: 60})
	if err != nil || plan.After >= plan.Before || plan.Seconds > 3600 || len(plan.Shares) != 2 {
		t.Errorf("%+v, %v", plan, err)
	}
	if _, body = ask(url.Values{"minutes": {"1"}}); !strings.Contains(body, "No look that fits") {
		t.Error("a minute is not said to be too little")
	}
	if code, body = ask(url.Values{"lot": {}}); code != http.StatusOK || !strings.Contains(body, "Choose at least one lot") {
		t.Errorf("no lot chosen: status %d", code)
	}
	for name, bad := range map[string]url.Values{"minutes": {"minutes": {""}}, "seconds": {"seconds": {"0"}}, "harm": {"harm": {"-1"}}, "hold": {"hold": {"NaN"}}, "huge": {"harm": {"1e300"}}, "by": {"by": {"nose"}}} {
		if code, _ := ask(bad); code != http.StatusBadRequest {
			t.Errorf("%s: status %d", name, code)
		}
	}
	if code, _ = ask(url.Values{"lot": {"nowhere"}}); code != http.StatusOK {
		t.Errorf("a lot that is not on the page: status %d", code)
	}
}

func TestReckonedTellsEveryStep(t *testing.T) {
	s := newServer(t)
	lot := lotOf(t, s)
	path := "/lots/" + lot + "/reckoned"
	if body := get(t, s, path).Body.String(); !strings.Contains(body, "Nobody has looked for it yet") {
		t.Error("the page of a lot nobody looked at does not say so")
	}
	inspect(t, s, "Jo", lot, 10, 0, nil)
	second := s.Desk.Now()
	s.Desk.Now = func() time.Time { return second.Add(time.Hour) }
	inspect(t, s, "Jo", lot, 12, 0, nil)
	s.Desk.Now = func() time.Time { return second.Add(2 * time.Hour) }
	inspect(t, s, "Jo", lot, 8, 0, func(p *holdfast.Inspection) { p.Random, p.Chosen, p.Among = false, holdfast.ChosenWeak, 9 })
	inspect(t, s, "Jo", lot, 8, 0, func(p *holdfast.Inspection) { p.Random, p.Chosen = false, holdfast.ChosenAsCaught })
	body := get(t, s, path).Body.String()
	webtest.Parse(t, strings.NewReader(body))
	for _, want := range []string{"Drawn at random; each of them went back", "Weak ones on purpose", "Whichever could be caught", "had those looked at been kept apart", "If nobody looks again", "holds the chance between", "holdfast estimate --looked 10"} {
		if !strings.Contains(body, want) {
			t.Errorf("the page does not say %q", want)
		}
	}
	v, err := s.Desk.View(t.Context(), lot)
	if err != nil {
		t.Fatal(err)
	}
	r, ok, err := v.Returned(v.Assessed[0])
	if err != nil || !ok || r.Looks != 2 || r.Animals != 22 || !(r.Without > r.With) {
		t.Errorf("with and without return: %+v %v %v", r, ok, err)
	}
	// Martin and others 2007: f (1-i) a week; equilibrium before a look 1 - i/s.
	d, err := v.Decay(v.Assessed[0], 0.02)
	if err != nil || d.Why != "" {
		t.Fatalf("%+v %v", d, err)
	}
	f := d.After[0]
	if got, want := d.After[2], f*0.98*0.98; got < want-1e-12 || got > want+1e-12 {
		t.Errorf("after two weeks %v, want %v", got, want)
	}
	if want := 1 - 0.02/d.Sees; d.Before < want-1e-12 || d.Before > want+1e-12 {
		t.Errorf("a routine settles at %v before a look, want %v", d.Before, want)
	}
	for _, bad := range []string{"NaN", "-1", "51", "x", "1e9"} {
		if w := get(t, s, path+"?weekly="+bad); w.Code != http.StatusBadRequest {
			t.Errorf("weekly %s: status %d", bad, w.Code)
		}
	}
	if n := len(webtest.Parse(t, get(t, s, path+"?weekly=1").Body).All("[name=weekly]")); n != 1 {
		t.Errorf("%d fields are called weekly", n)
	}
	if w := get(t, s, path+"?weekly=50"); w.Code != http.StatusOK {
		t.Errorf("weekly 50: status %d", w.Code)
	}
	if w := get(t, s, "/lots/nowhere/reckoned"); w.Code != http.StatusNotFound {
		t.Errorf("no such lot: status %d", w.Code)
	}
}

// Receive says how many to look at first, and why, in one sentence: an example
// while nothing is known, and for each strain as soon as its number is. The
// number is the command's.
func TestReceiveSaysHowManyToLookAtFirst(t *testing.T) {
	s := newServer(t)
	body := get(t, s, "/receive").Body.String()
	if !strings.Contains(body, "As an example, a lot of 100. Look at 32 of these 100 first: if 10 of them carried it") {
		t.Error("the empty page does not say it")
	}
	v := url.Values{"n": {"1"}, "do": {"more"}, "declared_0": {"70"}, "doa_0": {"10"}, "strain_0": {"Blue"}}
	page := post(t, s, "/receive", v).Body.String()
	var out bytes.Buffer
	if status := cli.Run(context.Background(), strings.Fields("sample --population 60 --prevalence 0.1 --confidence 0.95 --sensitivity 0.8 --json"), cli.Streams{Out: &out, Err: &out}); status != 0 {
		t.Fatal(out.String())
	}
	var doc struct {
		LookAt int `json:"look_at"`
	}
	if err := json.Unmarshal(out.Bytes(), &doc); err != nil {
		t.Fatal(err)
	}
	if want := fmt.Sprintf("Look at %d of these 60 first", doc.LookAt); !strings.Contains(page, want) {
		t.Errorf("the page does not say %q", want)
	}
}
