package chart_test

import (
	"encoding/xml"
	"flag"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"holdfast/internal/web/chart"
	"holdfast/internal/web/chart/sample"
)

var update = flag.Bool("update", false, "write the golden drawings anew")

// drawings are all golden drawings by name.
func drawings() map[string]string {
	all := map[string]string{
		"walk-wide": sample.Walk().Wide(), "walk-tall": sample.Walk().Tall(),
		"bigwalk-wide": sample.BigWalk().Wide(), "bigwalk-tall": sample.BigWalk().Tall(),
		"strip":       chart.Strip{Chance: .72, Low: .6, High: .84, Line: .95}.SVG(),
		"strip-found": chart.Strip{Chance: .27, Low: .24, High: .31, Line: .95, Found: true}.SVG(),
		"strip-guess": chart.Strip{Chance: .71, Line: .95, Guess: true}.SVG(),
		"scale":       chart.StripScale(.95),
		"water":       chart.Water(.8),
		"pipe":        chart.Pipe(chart.Carrying),
	}
	for _, n := range sample.Evidence() {
		all[n.Name+"-wide"], all[n.Name+"-tall"] = n.Evidence.Wide(), n.Evidence.Tall()
	}
	return all
}

// The golden drawings are change alarms: whoever changes one looks at it (the
// gallery test writes pictures to HOLDFAST_SHOTS) and runs with -update.
func TestGolden(t *testing.T) {
	for name, got := range drawings() {
		path := filepath.Join("testdata", name+".svg")
		if *update {
			if err := os.WriteFile(path, []byte(got), 0o644); err != nil {
				t.Fatal(err)
			}
			continue
		}
		want, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		if string(want) != got {
			t.Errorf("%s has changed; look at it, then run with -update", path)
		}
	}
}

// Every drawing is well-formed, says nothing that is not a number, and keeps
// to classes, since the content policy forbids style attributes.
func TestDrawingsAreSound(t *testing.T) {
	for name, got := range drawings() {
		d := xml.NewDecoder(strings.NewReader(got))
		for {
			tok, err := d.Token()
			if err == io.EOF {
				break
			}
			if err != nil {
				t.Fatalf("%s: %v", name, err)
			}
			if e, ok := tok.(xml.StartElement); ok {
				for _, a := range e.Attr {
					if a.Name.Local == "style" {
						t.Errorf("%s: style attribute on %s", name, e.Name.Local)
					}
				}
			}
		}
		for _, bad := range []string{"NaN", "Inf"} {
			if strings.Contains(got, bad) {
				t.Errorf("%s contains %s", name, bad)
			}
		}
	}
}

func TestWordsTellTheChart(t *testing.T) {
	for name, want := range map[string][]string{
		"course":  {"rostrum worm", "3 of 40", "27", "86", "8 Feb", "9 in a hundred short", "19 in 20"},
		"reaches": {"white spot", "It is reached on 27 Nov"},
		"nothing": {"Nothing is known of it yet"},
		"ends":    {"1 of 1", "0 of 500"},
	} {
		for _, n := range sample.Evidence() {
			if n.Name != name {
				continue
			}
			got := n.Evidence.Words()
			for _, w := range want {
				if !strings.Contains(got, w) {
					t.Errorf("%s: %q does not say %q", name, got, w)
				}
			}
			if n.Name == "course" {
				rows := n.Evidence.Rows()
				if len(rows) != 9+8+3+4+6 {
					t.Errorf("table has %d rows", len(rows))
				}
				for i := 1; i < len(rows); i++ {
					if rows[i].Day.Before(rows[i-1].Day) {
						t.Errorf("row %d is out of order", i)
					}
				}
			}
		}
	}
}
