package cli

import (
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"holdfast/photo/phantom"
)

// phantomFolder writes drawn photographs and their scales.
func phantomFolder(t *testing.T, photos map[string]*phantom.Photo) (dir, scales string) {
	t.Helper()
	dir = t.TempDir()
	table := "file,px_per_mm\n"
	for name, p := range photos {
		if err := os.WriteFile(filepath.Join(dir, name), p.JPEG(), 0o644); err != nil {
			t.Fatal(err)
		}
		table += fmt.Sprintf("%s,%.3f\n", name, p.Truth.PxPerMM)
	}
	scales = filepath.Join(t.TempDir(), "scales.csv")
	if err := os.WriteFile(scales, []byte(table), 0o644); err != nil {
		t.Fatal(err)
	}
	return dir, scales
}

func photosJSON(t *testing.T, args ...string) []photoRow {
	t.Helper()
	status, out, errs := run(t, append([]string{"photos", "--json"}, args...)...)
	if status != StatusDone {
		t.Fatalf("status %d: %s", status, errs)
	}
	var rows []photoRow
	if err := json.Unmarshal([]byte(out), &rows); err != nil {
		t.Fatal(err)
	}
	return rows
}

// TestPhotosMarksAPhantom looks at a drawn animal with a clear colony on it.
func TestPhotosMarksAPhantom(t *testing.T) {
	p := phantom.Tuning(38)
	dir, scales := phantomFolder(t, map[string]*phantom.Photo{"a.jpg": p})
	rows := photosJSON(t, "--scales", scales, dir)
	r := rows[0]
	if r.Eye == nil || math.Hypot(r.Eye[0]-p.Truth.Eyes[0][0], r.Eye[1]-p.Truth.Eyes[0][1]) > 0.4*p.Truth.PxPerMM {
		t.Errorf("eye %v, drawn at %v", r.Eye, p.Truth.Eyes)
	}
	if !r.Usable || !r.Best || r.Burst != 1 || len(r.Marks) < 5 {
		t.Errorf("%+v", r)
	}
	inside := func(m photoMark, f phantom.Find) bool {
		x, y := m.X+m.W/2, m.Y+m.H/2
		return m.Kind == string(f.Kind) && x > f.X-10 && x < f.X+f.W+10 && y > f.Y-10 && y < f.Y+f.H+10
	}
	hit := false
	for _, m := range r.Marks {
		if m.X < 0 || m.Y < 0 || m.X+m.W > phantom.Width || m.Y+m.H > phantom.Height || !(m.ExpectedFalse > 0) {
			t.Errorf("mark %+v", m)
		}
		if m.Shown != (m.ExpectedFalse <= 1) {
			t.Errorf("one false mark is accepted, and %+v", m)
		}
		for _, f := range p.Truth.Finds {
			hit = hit || m.Shown && m.Kind == "dots" && inside(m, f)
		}
	}
	if !hit {
		t.Error("the colony is not marked")
	}
	// The number of false marks shows more or fewer, and cuts nothing.
	none, all := photosJSON(t, "--scales", scales, "--false-marks", "0", dir)[0], photosJSON(t, "--scales", scales, "--false-marks", "1000", dir)[0]
	for i := range r.Marks {
		if none.Marks[i].Shown || !all.Marks[i].Shown {
			t.Errorf("mark %d: shown %v at 0, %v at 1000", i, none.Marks[i].Shown, all.Marks[i].Shown)
		}
	}
	if len(none.Marks) != len(r.Marks) || !strings.Contains(strings.Join(none.Notes, ";"), "nothing marked") {
		t.Errorf("at none: %d marks, %v", len(none.Marks), none.Notes)
	}
}

func TestPhotosWithoutAScaleCannotTell(t *testing.T) {
	dir, _ := phantomFolder(t, map[string]*phantom.Photo{"a.jpg": phantom.Tuning(38)})
	r := photosJSON(t, dir)[0]
	notes := strings.Join(r.Notes, ";")
	if !strings.Contains(notes, "cannot tell here: no scale") || !strings.Contains(notes, "nothing marked") {
		t.Errorf("notes %v", r.Notes)
	}
	for _, m := range r.Marks {
		if m.Shown {
			t.Errorf("shown without a scale: %+v", m)
		}
	}
	status, out, _ := run(t, "photos", dir)
	if status != StatusDone || strings.Contains(strings.ReplaceAll(out, "not a clean animal", ""), "clean") {
		t.Errorf("status %d:\n%s", status, out)
	}
	if r := photosJSON(t, "--px-per-mm", "4000", dir)[0]; !strings.Contains(strings.Join(r.Notes, ";"), "implausible scale") {
		t.Errorf("a picture of 0.4 mm: %v", r.Notes)
	}
}

// TestPhotosWritesASheet holds that the sheet stands alone, that what it links
// to is there, and that a focus stack is fused and shown beside its best frame.
func TestPhotosWritesASheet(t *testing.T) {
	scene, shots := phantom.Stack(3, 5, 600, 400)
	photos := map[string]*phantom.Photo{}
	for i, c := range shots {
		photos[fmt.Sprintf("s%d.jpg", i)] = scene.Shoot(c)
	}
	dir, scales := phantomFolder(t, photos)
	if err := os.WriteFile(filepath.Join(dir, "<b>bad.jpg"), []byte("no picture"), 0o644); err != nil {
		t.Fatal(err)
	}
	out := filepath.Join(t.TempDir(), "made", "here")
	status, text, errs := run(t, "photos", "--scales", scales, "--out", out, dir)
	if status != StatusDone || !strings.Contains(text, sheetName) {
		t.Fatalf("status %d: %s", status, errs)
	}
	b, err := os.ReadFile(filepath.Join(out, sheetName))
	if err != nil {
		t.Fatal(err)
	}
	page := string(b)
	for _, elsewhere := range []string{"http:", "https:", "//", "<script", "<b>bad"} {
		// Only outside the pictures, whose letters are chance.
		if bare := regexp.MustCompile(`data:image/jpeg;base64,[^"]*`).ReplaceAllString(page, ""); strings.Contains(bare, elsewhere) {
			t.Errorf("the sheet holds %q", elsewhere)
		}
	}
	links := regexp.MustCompile(`href="([^"]+)"`).FindAllStringSubmatch(page, -1)
	fused := 0
	for _, l := range links {
		data, err := os.ReadFile(filepath.Join(out, filepath.FromSlash(l[1])))
		if err != nil || len(data) < 500 {
			t.Errorf("%s: %d bytes, %v", l[1], len(data), err)
		}
		if strings.HasPrefix(l[1], fuseFolder+"/") {
			fused++
		}
	}
	if len(links) < 3 || !strings.Contains(page, "Rostrum and head") || !strings.Contains(page, "Could not be read") {
		t.Errorf("%d links", len(links))
	}
	if fused != 1 || !strings.Contains(page, "5 focus slices fused") {
		t.Errorf("%d fused pictures", fused)
	}
	if status, _, errs := run(t, "photos", "--out", filepath.Join(dir, "out"), dir); status != StatusInput || !strings.Contains(errs, "lies inside") {
		t.Errorf("a folder inside the photographs: %d %s", status, errs)
	}
}
