package web

import (
	"bytes"
	"encoding/json"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"math"
	"math/rand/v2"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"holdfast"
	"holdfast/desk"
	"holdfast/photo"
	"holdfast/reference"
)

// TestTeachingIsTakenNamedAndTakenBack judges marks in a shop whose eggs look
// otherwise than the built-in model thinks: the refit is better on verdicts it
// has not seen, is taken under a name of its own, asks for the photographs to be
// read again, and both it and the built-in model can be gone back to.
func TestTeachingIsTakenNamedAndTakenBack(t *testing.T) {
	const animals, marks = 40, 6
	s, lot, _ := benched(t)
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
	if err := s.Desk.SetBench(ctx, desk.BenchSettings{FalseMarks: 20, MarksAtOnce: true}); err != nil {
		t.Fatal(err)
	}
	b := bench(t, s, lot)
	if len(b.Photos) != animals {
		t.Fatalf("%d photographs, want %d", len(b.Photos), animals)
	}
	wants, err := s.Desk.Store.OpenReadings(ctx, 1000)
	if err != nil || len(wants) != animals {
		t.Fatalf("%d wait to be read, %v", len(wants), err)
	}
	old := photo.BuiltIn().Rows
	rng := rand.New(rand.NewPCG(3, 5))
	truth := map[string][]bool{}
	for _, w := range wants {
		r := desk.Reading{W: 4000, H: 3000, Orientation: 1, Format: "png", PxPerMM: 60, Sharp: 20, Usable: true}
		for k := range marks {
			x, z := make([]float64, len(old.Features)), 0.0
			for j := range x {
				u := rng.NormFloat64()
				x[j] = old.Mean[j] + old.SD[j]*u
				switch j {
				case 3:
					z -= 3 * u
				case 8:
					z += 2.5 * u
				}
			}
			truth[w.SHA256] = append(truth[w.SHA256], rng.Float64() < 1/(1+math.Exp(-z)))
			r.Marks = append(r.Marks, desk.ReadMark{Kind: photo.Dots, X: float64(600 * k), Y: 100, W: 200, H: 100, ByChance: 0.5, Features: x, Dots: 6})
		}
		body, err := json.Marshal(r)
		if err == nil {
			err = s.Desk.Store.KeepReading(ctx, w.SHA256, w.Way, body)
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	day := b.Day
	for i, x := range b.Photos {
		if err := s.Desk.PutPhoto(ctx, lot, x.SHA256, i+1, holdfast.Left); err != nil {
			t.Fatal(err)
		}
		said := desk.Said{Done: true, Marked: true}
		for k, real := range truth[x.SHA256] {
			f := holdfast.Finding{Condition: holdfast.Pigment, Photo: x.SHA256, Box: &holdfast.Box{X: 600 * k, Y: 100, W: 200, H: 100}}
			if real {
				f.Condition = reference.EggRow
			}
			said.Findings = append(said.Findings, f)
		}
		if err := s.Desk.Say(ctx, lot, day, i+1, "Mara", said); err != nil {
			t.Fatal(err)
		}
	}
	if w := as(t, s, "Mara", "POST", "/lots/"+lot+"/bench/save", url.Values{"chosen": {"random"}}); w.Code != http.StatusSeeOther {
		t.Fatalf("saving: status %d: %s", w.Code, w.Body)
	}
	w := as(t, s, "Mara", "POST", "/bench/refit", nil)
	if w.Code != http.StatusOK || !strings.Contains(w.Body.String(), "Refit 1 was made") {
		t.Fatalf("refit: status %d", w.Code)
	}
	all, inUse, err := s.Desk.ModelVersions(ctx)
	if err != nil || len(all) != 1 || !all[0].Kept || all[0].Who != "Mara" || inUse != "1" {
		t.Fatalf("%+v in use %q, %v", all, inUse, err)
	}
	models, err := s.Desk.Models(ctx, "1")
	if err != nil || models.Rows == nil || models.Rows.Version != "shop-1" || models.Rows.Weight[3] >= old.Weight[3] || models.Rows.Weight[8] <= old.Weight[8] {
		t.Errorf("the model in use did not learn: %v", err)
	}
	rereads := func() int {
		bench(t, s, lot) // asks for what is wanted now
		wants, err := s.Desk.Store.OpenReadings(ctx, 1000)
		if err != nil {
			t.Fatal(err)
		}
		return len(wants)
	}
	if n := rereads(); n != animals {
		t.Errorf("with the refit %d photographs are to be read again, want %d", n, animals)
	}
	for _, back := range []string{"", "1", ""} {
		if w := post(t, s, "/bench/model", url.Values{"version": {back}}); w.Code != http.StatusSeeOther {
			t.Fatalf("going back to %q: status %d", back, w.Code)
		}
		if now, err := s.Desk.ModelsInUse(ctx); err != nil || now != back {
			t.Errorf("in use %q, want %q, %v", now, back, err)
		}
	}
	if n := rereads(); n != 0 {
		t.Errorf("back with the built-in model %d photographs are to be read again, want none", n)
	}
}
