package intake

import (
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

var update = flag.Bool("update", false, "rewrite the golden files")

// TestLists reads every invented list in testdata/lists and compares all that
// a person would be told with its golden file. The golden files were read
// through by hand; facts lists what was worked out beforehand.
func TestLists(t *testing.T) {
	files, _ := filepath.Glob("testdata/lists/*.csv")
	books, _ := filepath.Glob("testdata/lists/*.xlsx")
	files = append(files, books...)
	if len(files) < 25 {
		t.Fatalf("only %d lists found", len(files))
	}
	for _, file := range files {
		t.Run(filepath.Base(file), func(t *testing.T) {
			data, err := os.ReadFile(file)
			if err != nil {
				t.Fatal(err)
			}
			got := tell(data)
			golden := filepath.Join("testdata/golden", filepath.Base(file)+".txt")
			if *update {
				if err := os.WriteFile(golden, []byte(got), 0o644); err != nil {
					t.Fatal(err)
				}
				return
			}
			want, err := os.ReadFile(golden)
			if err != nil {
				t.Fatal(err)
			}
			if got != string(want) {
				t.Errorf("got\n%s\nwant\n%s", got, want)
			}
		})
	}
}

// tell writes down what reading a list comes to.
func tell(data []byte) string {
	var b strings.Builder
	table, err := Read(data, Options{})
	if err != nil {
		return "error: " + err.Error() + "\n"
	}
	p := Look(table, nil)
	fmt.Fprintf(&b, "%s %s %q %q header %d+%d decimal %q currency %q confidence %.2f\n", p.Format, p.Encoding, p.Separator, p.Sheet, p.HeaderRow, p.HeaderRows, p.Mapping.Decimal, p.Mapping.Currency, p.Confidence)
	for _, s := range p.Sheets {
		fmt.Fprintf(&b, "sheet: %s, %d rows, taken %t: %s\n", s.Name, s.Rows, s.Taken, s.Why)
	}
	for _, n := range p.Notes {
		fmt.Fprintln(&b, "note:", n)
	}
	for _, c := range p.Columns {
		fmt.Fprintf(&b, "column %s %q = %q -> %q %.2f", c.Letter, c.Header, c.Key, c.Field, c.Confidence)
		if c.Per > 0 {
			fmt.Fprintf(&b, " per %d", c.Per)
		}
		if c.Currency != "" {
			fmt.Fprint(&b, " in ", c.Currency)
		}
		if c.Down {
			fmt.Fprint(&b, " down")
		}
		fmt.Fprintln(&b)
	}
	r := p.Result
	for _, s := range r.Skipped {
		fmt.Fprintf(&b, "skipped %d %q: %s\n", s.Row, s.Text, s.Why)
	}
	for _, w := range r.Warnings {
		fmt.Fprintln(&b, "warning", w)
	}
	for _, w := range r.Problems {
		fmt.Fprintln(&b, "problem", w)
	}
	for _, l := range r.Lines {
		fmt.Fprintf(&b, "line %d: %d (%d dead) %q species %q box %q bag %q size %q sex %q notes %q", l.Row, l.Count, l.DOA, l.Strain, l.Species, l.Box, l.Bag, l.Size, l.Sex, l.Notes)
		if l.Priced {
			fmt.Fprintf(&b, " at %d exact %t total %d %s", l.PriceMinor, l.PriceExact, l.TotalMinor, l.Currency)
		}
		fmt.Fprintln(&b)
	}
	fmt.Fprintf(&b, "animals %d, dead %d, total %d %s\n", r.Animals, r.Dead, r.TotalMinor, r.Currency)
	return b.String()
}
