package drawing

import (
	"encoding/xml"
	"io"
	"math"
	"regexp"
	"strings"
	"testing"
)

func all(t *testing.T) []Drawing {
	t.Helper()
	var out []Drawing
	for _, n := range Names() {
		d, ok := Draw(n)
		if !ok {
			t.Fatalf("%s is named and cannot be drawn", n)
		}
		out = append(out, d)
	}
	if len(out) < 35 {
		t.Fatalf("only %d drawings", len(out))
	}
	return out
}

// TestDrawingsAreWellFormed reads every element: sound XML, a title, a
// description, ids that no other drawing uses, and finite numbers.
func TestDrawingsAreWellFormed(t *testing.T) {
	ids := map[string]string{}
	for _, d := range all(t) {
		if d.Title == "" || len(d.Desc) < 40 || !strings.HasSuffix(d.Desc, ".") {
			t.Errorf("%s: title %q, description %q", d.Name, d.Title, d.Desc)
		}
		dec := xml.NewDecoder(strings.NewReader(d.SVG))
		seen := map[string]bool{}
		for {
			tok, err := dec.Token()
			if err == io.EOF {
				break
			}
			if err != nil {
				t.Fatalf("%s: %v", d.Name, err)
			}
			start, ok := tok.(xml.StartElement)
			if !ok {
				continue
			}
			seen[start.Name.Local] = true
			for _, a := range start.Attr {
				if a.Name.Local == "id" {
					if ids[a.Value] != "" {
						t.Errorf("%s uses the id %q of %s", d.Name, a.Value, ids[a.Value])
					}
					ids[a.Value] = d.Name
				}
				if strings.Contains(a.Value, "NaN") || strings.Contains(a.Value, "Inf") {
					t.Errorf("%s: %s=%q", d.Name, a.Name.Local, a.Value)
				}
			}
		}
		if !seen["title"] || !seen["desc"] || !strings.Contains(d.SVG, `role="img"`) {
			t.Errorf("%s is mute", d.Name)
		}
	}
}

// TestColoursAreThePages: nothing but currentColor, the page's variables and
// none, and no style attribute, script or outside address.
func TestColoursAreThePages(t *testing.T) {
	colour := regexp.MustCompile(`(?:fill|stroke)="([^"]*)"`)
	for _, d := range all(t) {
		found := colour.FindAllStringSubmatch(d.SVG, -1)
		if len(found) == 0 {
			t.Errorf("%s has no colour at all", d.Name)
		}
		for _, m := range found {
			switch m[1] {
			case "none", "currentColor", "var(--mark,currentColor)", "var(--sheet,Canvas)":
			default:
				t.Errorf("%s: colour %q", d.Name, m[1])
			}
		}
		for _, not := range []string{"style=", "<style", "<script", "href", "url("} {
			if strings.Contains(d.SVG, not) {
				t.Errorf("%s contains %q", d.Name, not)
			}
		}
	}
}

// TestLabelsStandFree: no two labels overlap and none leaves the sheet.
func TestLabelsStandFree(t *testing.T) {
	for _, d := range all(t) {
		if len(d.Labels) == 0 {
			t.Errorf("%s has no label", d.Name)
		}
		for i, a := range d.Labels {
			if a.X < 0 || a.Y < 0 || a.X+a.W > width || a.Y+a.H > d.Height {
				t.Errorf("%s: label %d leaves the sheet: %+v", d.Name, i, a)
			}
			for _, b := range d.Labels[:i] {
				if a.X < b.X+b.W && b.X < a.X+a.W && a.Y < b.Y+b.H && b.Y < a.Y+a.H {
					t.Errorf("%s: labels overlap: %+v and %+v", d.Name, a, b)
				}
			}
		}
	}
}

// TestBarsAreToScale measures the drawn bar against the window: the nested
// view says how many units are seen across, 20 of them a millimetre.
func TestBarsAreToScale(t *testing.T) {
	view := regexp.MustCompile(`<svg x="0" y="0" width="(\d+)" height="[\d.]+" viewBox="\S+ \S+ (\S+) \S+"`)
	piece := regexp.MustCompile(`<rect x="([\d.]+)" y="[\d.]+" width="([\d.]+)" height="9"`)
	n := 0
	for _, d := range all(t) {
		if d.Bar == 0 {
			continue
		}
		n++
		v := view.FindStringSubmatch(d.SVG)
		pieces := piece.FindAllStringSubmatch(d.SVG, -1)
		if v == nil || len(pieces) != 5 {
			t.Fatalf("%s: no window or %d pieces", d.Name, len(pieces))
		}
		perMM := number(t, v[1]) / number(t, v[2]) * unitsPerMM
		length := number(t, pieces[4][1]) + number(t, pieces[4][2]) - number(t, pieces[0][1])
		if math.Abs(length/perMM-d.Bar) > 0.01*d.Bar {
			t.Errorf("%s: the bar of %g mm is %.3f mm long", d.Name, d.Bar, length/perMM)
		}
		if length < 50 || length > 260 {
			t.Errorf("%s: a bar of %.0f units", d.Name, length)
		}
	}
	if n < 30 {
		t.Fatalf("only %d bars", n)
	}
}

func number(t *testing.T, text string) float64 {
	t.Helper()
	var v float64
	if err := xml.Unmarshal([]byte("<v>"+text+"</v>"), &v); err != nil {
		t.Fatal(err)
	}
	return v
}

func TestDrawingsDoNotChangeByThemselves(t *testing.T) {
	for _, n := range Names() {
		a, _ := Draw(n)
		b, _ := Draw(n)
		if a.SVG != b.SVG {
			t.Errorf("%s differs from itself", n)
		}
		if !strings.Contains(a.Small, `aria-hidden="true"`) || strings.Contains(a.Small, "<text") {
			t.Errorf("%s: the small drawing speaks", n)
		}
		if len(a.SVG) > 60_000 {
			t.Errorf("%s is %d bytes", n, len(a.SVG))
		}
	}
	if _, ok := Draw("unicorn"); ok {
		t.Error("a drawing of nothing")
	}
}
