package web

import (
	"html"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"

	"holdfast"
	"holdfast/desk"
)

// hidden reads a hidden field of the first form that has it.
func hidden(t *testing.T, body, name string) string {
	t.Helper()
	_, rest, ok := strings.Cut(body, `name="`+name+`" value="`)
	if !ok {
		t.Fatalf("the page has no hidden field %q", name)
	}
	value, _, _ := strings.Cut(rest, `"`)
	return html.UnescapeString(value)
}

func get(t *testing.T, s *Server, path string) *httptest.ResponseRecorder {
	t.Helper()
	w := httptest.NewRecorder()
	s.ServeHTTP(w, httptest.NewRequest("GET", "http://localhost"+path, nil))
	return w
}

func lotOf(t *testing.T, s *Server) string {
	t.Helper()
	_, lots, err := s.Desk.Receive(t.Context(), desk.Actor{Who: "Jo"}, desk.Arrival{Supplier: "Invented Farm", Lines: []desk.ArrivalLine{{Strain: "Blue velvet", Declared: 60}}})
	if err != nil {
		t.Fatal(err)
	}
	return lots[0]
}

func TestLookAnimalByAnimal(t *testing.T) {
	s := newServer(t)
	lot := lotOf(t, s)
	path := "/lots/" + lot + "/look"
	body := get(t, s, path+"?task=look/x/1").Body.String()
	step := func(v url.Values) *httptest.ResponseRecorder {
		v.Set("look", hidden(t, body, "look"))
		v.Set("id", hidden(t, body, "id"))
		w := post(t, s, path, v)
		if w.Code < 300 || w.Code >= 400 {
			body = w.Body.String()
		}
		return w
	}
	if w := step(url.Values{"do": {"next"}}); w.Code != http.StatusBadRequest {
		t.Errorf("an animal without a side seen: status %d, want 400", w.Code)
	}
	step(url.Values{"do": {"next"}, "side": {"left", "head"}})
	step(url.Values{"do": {"next"}, "side": {"left", "right", "belly", "head"}, "say": {"egg_row"}})
	if !strings.Contains(body, "2 judged, 1 with signs") {
		t.Errorf("the page does not count what was judged")
	}
	if strings.Contains(body, "likely clear") {
		t.Errorf("the chance is shown before anybody asked for it")
	}
	step(url.Values{"do": {"show"}})
	if !strings.Contains(body, "Rostrum worm: 0") || !strings.Contains(body, "likely clear") {
		t.Errorf("the chance asked for is not shown")
	}
	if w := step(url.Values{"do": {"save"}}); w.Code != http.StatusSeeOther {
		t.Fatalf("saving: status %d", w.Code)
	}
	v, err := s.Desk.View(t.Context(), lot)
	if err != nil {
		t.Fatal(err)
	}
	p := v.Lot.Events[len(v.Lot.Events)-1].Payload.(*holdfast.Inspection)
	if len(p.Animals) != 2 || p.Task != "look/x/1" || p.Animals[1].Findings[0].Condition != "egg_row" || p.Animals[0].Place == "" || p.Blind {
		t.Errorf("saved %+v", p)
	}
}

func TestLookManyAtOnce(t *testing.T) {
	s := newServer(t)
	lot := lotOf(t, s)
	path := "/lots/" + lot + "/look"
	body := get(t, s, path).Body.String()
	send := func(looked, with string, more url.Values) *httptest.ResponseRecorder {
		v := url.Values{"do": {"quick"}, "look": {hidden(t, body, "look")}, "id": {hidden(t, body, "id")}, "looked": {looked}, "with_rostrum_worm": {with}, "qside": {"left", "right", "belly", "head"}, "drawn": {"random"}, "by": {"lens"}}
		for k, x := range more {
			v[k] = x
		}
		return post(t, s, path, v)
	}
	for _, bad := range [][2]string{{"", ""}, {"-3", ""}, {"61", ""}, {"30", "31"}, {"NaN", "1"}, {"1e3", "1"}} {
		if w := send(bad[0], bad[1], nil); w.Code != http.StatusBadRequest {
			t.Errorf("%q looked at, %q with worms: status %d, want 400", bad[0], bad[1], w.Code)
		}
	}
	if w := send("30", "2", url.Values{"drawn": {}}); w.Code != http.StatusBadRequest {
		t.Errorf("without saying how they were chosen: status %d, want 400", w.Code)
	}
	for range 2 { // sent twice, kept once
		if w := send("30", "2", nil); w.Code != http.StatusSeeOther {
			t.Fatalf("status %d", w.Code)
		}
	}
	v, err := s.Desk.View(t.Context(), lot)
	if err != nil {
		t.Fatal(err)
	}
	if f := v.Assessed[0].Figure; f.Looked != 30 || f.Positive != 2 {
		t.Errorf("figure %+v, want 30 looked at and 2 positive once", f)
	}
	if w := post(t, s, path, url.Values{"do": {"next"}, "look": {`{"n":1000000000}`}}); w.Code != http.StatusBadRequest {
		t.Errorf("a forged look: status %d", w.Code)
	}
}
