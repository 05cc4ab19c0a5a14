package web

import (
	"bytes"
	"encoding/json"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"testing"

	"holdfast"
	"holdfast/desk"
	"holdfast/internal/web/webtest"
	"holdfast/photo"
)

// pretend adds so many photographs, each put to an animal of its own, with one
// row marked on each.
func pretend(t *testing.T, s *Server, lot string, animals int) {
	t.Helper()
	ctx := t.Context()
	var files []file
	for i := range animals {
		m := image.NewGray(image.Rect(0, 0, 8, 8))
		m.SetGray(i%8, i/8, color.Gray{uint8(40 + i)})
		var b bytes.Buffer
		if err := png.Encode(&b, m); err != nil {
			t.Fatal(err)
		}
		files = append(files, file{fmt.Sprintf("%02d.png", i), b.Bytes()})
	}
	addFiles(t, s, lot, "application/json", files...)
	bench(t, s, lot)
	wants, err := s.Desk.Store.OpenReadings(ctx, 1000)
	if err != nil || len(wants) != animals {
		t.Fatalf("%d wait to be read, %v", len(wants), err)
	}
	body, err := json.Marshal(desk.Reading{W: 4000, H: 3000, Orientation: 1, Format: "png", PxPerMM: 60, Sharp: 20, Usable: true,
		Marks: []desk.ReadMark{{Kind: photo.Dots, X: 600, Y: 100, W: 200, H: 100, ByChance: 0.5, Dots: 6, Features: make([]float64, len(photo.FeaturesOf(photo.Dots)))}}})
	if err != nil {
		t.Fatal(err)
	}
	for i, w := range wants {
		if err := s.Desk.Store.KeepReading(ctx, w.SHA256, w.Way, body); err != nil {
			t.Fatal(err)
		}
		if err := s.Desk.PutPhoto(ctx, lot, w.SHA256, i+1, holdfast.Left); err != nil {
			t.Fatal(err)
		}
	}
}

// A person judges alone, then says what each mark is: the marks are a second
// reader, and what both say teaches how well each sees. Whoever saw the marks
// first teaches nothing. What was learned is adopted and moves the chance.
func TestMarksTeachHowWellPhotographsAreSeen(t *testing.T) {
	s, lot, _ := benched(t)
	ctx := t.Context()
	pretend(t, s, lot, 20)
	animal := func(no int) string { return "/lots/" + lot + "/bench/animal/" + strconv.Itoa(no) }
	send := func(no int, v url.Values) {
		t.Helper()
		if w := as(t, s, "Mara", "POST", animal(no), v); w.Code != http.StatusSeeOther {
			t.Fatalf("animal %d: status %d: %s", no, w.Code, w.Body)
		}
	}
	judge := func(no int, alone, mark string) {
		t.Helper()
		send(no, url.Values{"do": {"done"}, "say": {alone}})
		v := url.Values{"do": {"keep"}}
		if mark != "egg_row" && alone == "egg_row" || mark == "" {
			v.Set("say", alone)
		}
		if mark != "" {
			doc := webtest.Parse(t, as(t, s, "Mara", "GET", animal(no), nil).Body)
			v.Set(webtest.Attr(doc.All(`select[form=judge]`)[0], "name"), mark)
		}
		send(no, v)
	}
	no := 0
	times := func(n int, alone, mark string) {
		t.Helper()
		for range n {
			no++
			judge(no, alone, mark)
		}
	}
	times(8, "egg_row", "egg_row") // both
	times(4, "nothing", "egg_row") // only the mark
	times(3, "egg_row", "pigment") // only the person: the mark is something else
	times(1, "egg_row", "")        // nobody said what the mark is
	times(1, "nothing", "pigment")
	// The marks were seen, all was forgotten and said again: it is not said alone.
	no++
	send(no, url.Values{"do": {"done"}, "say": {"nothing"}})
	send(no, url.Values{"do": {"forget"}})
	if body := as(t, s, "Mara", "GET", animal(no), nil).Body.String(); strings.Contains(body, "What the desk marked") {
		t.Error("forgotten, the marks still stand there")
	}
	judge(no, "egg_row", "egg_row")
	// The marks were in view from the start.
	if err := s.Desk.SetBench(ctx, desk.BenchSettings{FalseMarks: 1, MarksAtOnce: true}); err != nil {
		t.Fatal(err)
	}
	times(1, "egg_row", "egg_row")
	if w := as(t, s, "Mara", "POST", "/lots/"+lot+"/bench/save", url.Values{"chosen": {"random"}}); w.Code != http.StatusSeeOther {
		t.Fatalf("saving: status %d: %s", w.Code, w.Body)
	}
	sight, err := s.Desk.LearnSight(ctx)
	if err != nil || len(sight.Learned) != 1 {
		t.Fatalf("%+v, %v", sight, err)
	}
	l, m := sight.Learned[0], sight.Marks
	if l.By != holdfast.ByPhoto || l.Condition.ID != "rostrum_worm" || l.Carriers != 12 || l.Seen != 8 || l.MarkCarriers != 12 || l.MarkSeen != 8 || l.Belief.A != 9 || l.Belief.B != 5 {
		t.Errorf("of people: %+v", l)
	}
	if m.Rows != 11 || m.Marked != 8 || m.Unsaid != 1 || m.InView != 2 || m.Belief.A != 9 || m.Belief.B != 4 {
		t.Errorf("of the marks: %+v", m)
	}
	r, err := s.Desk.FinderRecord(ctx)
	if err != nil || r.OnlyMarks != 4 || r.Seen != m {
		t.Errorf("the record is %+v, %v", r, err)
	}
	body := get(t, s, "/looking").Body.String()
	for _, part := range []string{"It saw 8 of 12 that another look or a mark found", "Of these 12 are known by a mark of the desk that was then called real; 8 had been named", "On 11 animals. The desk had marked it on 8", "weighs as much as 2 animals", "2 animals judged with the marks in view"} {
		if !strings.Contains(body, part) {
			t.Errorf("the page of how well we see does not say %q", part)
		}
	}
	// A clean look at another lot proves less once the shop knows that it sees
	// less than was guessed.
	clean := lotOf(t, s)
	look := holdfast.Inspection{By: holdfast.ByPhoto, Random: true, Chosen: holdfast.ChosenRandom, LookedFor: []string{"rostrum_worm"}, Planned: 20}
	for i := range 20 {
		look.Animals = append(look.Animals, holdfast.Animal{No: i + 1, Seen: holdfast.Sides})
	}
	if _, err := s.Desk.Inspect(ctx, desk.Actor{Who: "Mara"}, clean, "", look); err != nil {
		t.Fatal(err)
	}
	before, err := s.Desk.View(ctx, clean)
	if err != nil {
		t.Fatal(err)
	}
	if w := as(t, s, "Mara", "POST", "/looking", url.Values{"do": {"adopt"}, "by": {"photo"}, "condition": {"rostrum_worm"}}); w.Code != http.StatusSeeOther {
		t.Fatalf("adopting: status %d: %s", w.Code, w.Body)
	}
	shop, err := s.Desk.Settings(ctx)
	if err != nil || shop.Sight[holdfast.SightKey{By: "photo", Condition: "rostrum_worm"}].A != 9 {
		t.Errorf("adopted %+v, %v", shop.Sight, err)
	}
	after, err := s.Desk.View(ctx, clean)
	if err != nil || !(after.Assessed[0].Figure.Chance < before.Assessed[0].Figure.Chance) {
		t.Errorf("chance of clear %v, and %v once photographs are known to show less, %v", before.Assessed[0].Figure.Chance, after.Assessed[0].Figure.Chance, err)
	}
}
