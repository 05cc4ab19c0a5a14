package e2e

import (
	"bytes"
	"image"
	"image/color"
	"image/draw"
	"image/png"
	"net/url"
	"os"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"holdfast"
	"holdfast/desk"
	"holdfast/internal/demo"
	"holdfast/internal/web/webtest"
)

// screens is where pictures of the pages are kept.
const screens = "../../docs/screens"

// Every page a shop lives in, with a year of an invented shop behind it.
func TestPagesOfTheInventedShop(t *testing.T) {
	b := webtest.New(t)
	s := open(t)
	s.Site = "demo"
	s.clock.set(time.Date(2026, 11, 25, 12, 0, 0, 0, time.UTC))
	if err := demo.Seed(t.Context(), s.Store, s.Evidence, s.clock.now(), nil); err != nil {
		t.Fatal(err)
	}
	rows, _, err := s.Store.Lots(t.Context(), desk.LotQuery{Statuses: []holdfast.Status{holdfast.Held}, Sort: desk.ByChanceLow})
	if err != nil || len(rows) == 0 {
		t.Fatalf("no lot is held (%v)", err)
	}
	lot := "/lots/" + url.PathEscape(rows[len(rows)-1].ID) // the first is the one nobody has looked at
	pages := []struct{ name, path string }{
		{"round", "/round"}, {"lots", "/lots"}, {"receive", "/receive"}, {"register", "/register"}, {"tanks", "/tanks"},
		{"lot", lot}, {"look", lot + "/look"},
	}
	for _, p := range pages {
		b.Everywhere(s.url+p.path, "", p.name, func() {
			if b.Text("main h1") == "" || b.Text("main h1") == "Not found" {
				t.Errorf("%s: the page is %q", p.path, b.Text("main h1"))
			}
		})
	}
	if os.Getenv("HOLDFAST_SCREENS") != "1" {
		return
	}
	for _, shot := range []struct {
		page   int
		size   webtest.Size
		scheme webtest.Scheme
	}{
		{0, webtest.Phone, webtest.Light}, {0, webtest.Laptop, webtest.Dark}, {1, webtest.Laptop, webtest.Light},
		{5, webtest.Laptop, webtest.Light}, {5, webtest.Phone, webtest.Dark}, {6, webtest.Phone, webtest.Light},
	} {
		b.Look(shot.size, shot.scheme)
		b.Go(s.url + pages[shot.page].path)
		name := pages[shot.page].name + "-" + shot.size.Name + "-" + string(shot.scheme)
		b.Shot(screens, name, false)
		squeeze(t, filepath.Join(screens, name+".png"))
	}
}

// squeeze keeps the 256 commonest colours of a picture: of a page's text and
// marks they are all that matters, and the file is half the size.
func squeeze(t *testing.T, path string) {
	t.Helper()
	raw, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	img, err := png.Decode(bytes.NewReader(raw))
	if err != nil {
		t.Fatal(err)
	}
	often := map[color.Color]int{}
	for y := range img.Bounds().Dy() {
		for x := range img.Bounds().Dx() {
			often[color.RGBAModel.Convert(img.At(x, y))]++
		}
	}
	var p color.Palette
	for c := range often {
		p = append(p, c)
	}
	slices.SortFunc(p, func(a, b color.Color) int { return often[b] - often[a] })
	small := image.NewPaletted(img.Bounds(), p[:min(256, len(p))])
	draw.Draw(small, small.Bounds(), img, image.Point{}, draw.Src)
	var b bytes.Buffer
	if err := (&png.Encoder{CompressionLevel: png.BestCompression}).Encode(&b, small); err != nil {
		t.Fatal(err)
	}
	if b.Len() > 150<<10 {
		t.Errorf("%s has %d kB, more than a picture of a page should", path, b.Len()>>10)
	}
	if err := os.WriteFile(path, b.Bytes(), 0o644); err != nil {
		t.Fatal(err)
	}
}
