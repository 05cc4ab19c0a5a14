package paper

import (
	"archive/zip"
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"math"
	"reflect"
	"strings"
	"testing"
	"time"

	"github.com/xuri/excelize/v2"
	"pgregory.net/rapid"

	"holdfast/intake"
	"holdfast/money"
)

func TestGuard(t *testing.T) {
	for s, want := range map[string]string{
		"": "", "Blue": "Blue", "=1+1": "'=1+1", "+1": "'+1", "-1": "'-1", "@x": "'@x", "\tx": "'\tx", "\rx": "'\nx", "\nx": "'\nx", "'x": "''x", "＝1": "'＝1", "a=1": "a=1", " =1": " =1", "1-2": "1-2", "'": "''",
	} {
		if got := Guard(s); got != want {
			t.Errorf("Guard(%q) = %q, want %q", s, got, want)
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		s := strings.ReplaceAll(wild().Draw(t, "text"), "\r", "\n")
		if got := Unguard(Guard(s)); got != s {
			t.Fatalf("%q came back as %q", s, got)
		}
		if g := Guard(s); g != "" && strings.ContainsRune("=+-@\t\n\r", rune(g[0])) {
			t.Fatalf("%q is unguarded", g)
		}
	})
}

// wild draws texts with the characters that matter to spreadsheets.
func wild() *rapid.Generator[string] {
	return rapid.StringOf(rapid.OneOf(rapid.RuneFrom([]rune("=+-@'\",;\t\n\r ab_x0041éß蝦😀<&>")), rapid.Rune()))
}

// TestRoundTrip writes sheets in both formats and reads every cell back with
// other readers: encoding/csv and excelize.
func TestRoundTrip(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		currency := rapid.SampledFrom([]string{"EUR", "JPY", "KWD"}).Draw(t, "currency")
		s := Sheet{Name: "All", Columns: []Column{{Title: "Name"}, {Title: "Animals", Kind: Count}, {Title: "Price", Kind: Money, Currency: currency}, {Title: "Day", Kind: Date}, {Title: "Share", Kind: Share}}}
		var rows [][]Cell
		var want [][]string
		for range rapid.IntRange(0, 5).Draw(t, "rows") {
			text := legal(wild().Draw(t, "text"))
			n := rapid.Int64Range(-1e14, 1e14).Draw(t, "count")
			m := rapid.Int64Range(-1e14, 1e14).Draw(t, "minor")
			day := time.Date(1901, 1, rapid.IntRange(1, 80000).Draw(t, "day"), 13, 0, 0, 0, time.UTC)
			share := float64(rapid.IntRange(0, 1000).Draw(t, "share")) / 1000
			rows = append(rows, []Cell{T(text), N(n), M(m), D(day), S(share)})
			amount, _ := money.Decimal(m, currency)
			want = append(want, []string{Guard(text), fmt.Sprint(n), amount, day.Format(time.DateOnly), fmt.Sprint(share)})
		}
		s.Rows = Rows(rows)

		var buf bytes.Buffer
		if err := WriteCSV(&buf, s); err != nil {
			t.Fatal(err)
		}
		r := csv.NewReader(bytes.NewReader(bytes.TrimPrefix(buf.Bytes(), []byte("\ufeff"))))
		got, err := r.ReadAll()
		if err != nil || len(got) != len(want)+1 || len(want) > 0 && !reflect.DeepEqual(got[1:], want) {
			t.Fatalf("CSV %q, want %q (%v)", got, want, err)
		}

		buf.Reset()
		if err := WriteXLSX(&buf, s); err != nil {
			t.Fatal(err)
		}
		f, err := excelize.OpenReader(&buf)
		if err != nil {
			t.Fatal(err)
		}
		defer f.Close()
		for i, row := range want {
			for j, text := range row {
				if j == 3 {
					continue // a day is a number there; see TestDay
				}
				ref, _ := excelize.CoordinatesToCellName(j+1, i+2)
				value, err := f.GetCellValue("All", ref, excelize.Options{RawCellValue: true})
				if err != nil {
					t.Fatal(err)
				}
				if j > 0 {
					text = fmt.Sprint(number(text))
					value = fmt.Sprint(number(value))
				}
				if value != text {
					t.Fatalf("%s is %q, want %q", ref, value, text)
				}
			}
		}
	})
}

// legal leaves out what XML cannot hold.
func legal(s string) string {
	return strings.Map(func(r rune) rune {
		if r == '\t' || r == '\n' || r >= 0x20 && r <= 0xd7ff || r >= 0xe000 && r <= 0xfffd || r >= 0x10000 {
			return r
		}
		return -1
	}, s)
}

// TestDay holds day numbers worked out from the two that ECMA-376 part 1,
// 18.17.4.1, prints: 1 for 1900-01-01 in the 1900 system, whose 60 is the
// 29 February 1900 that never was, and thus 61 for 1900-03-01.
func TestDay(t *testing.T) {
	for text, want := range map[string]int64{"1900-03-01": 61, "2000-01-01": 36526, "2026-11-25": 46351} {
		day, err := time.Parse(time.DateOnly, text)
		if err != nil {
			t.Fatal(err)
		}
		if got := days(day); got != want {
			t.Errorf("%s is day %d, want %d", text, got, want)
		}
	}
	zone := time.FixedZone("", 13*3600)
	if got := days(time.Date(2000, 1, 1, 0, 30, 0, 0, zone)); got != 36526 {
		t.Errorf("the civil day of a far zone is %d", got)
	}
}

// TestIntakeReadsIt writes packing lists and reads them back with the reader
// of packing lists: the same lines, from both formats.
func TestIntakeReadsIt(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		currency := rapid.SampledFrom([]string{"EUR", "JPY", "KWD", "USD"}).Draw(t, "currency")
		s := Sheet{Name: "Packing list", Columns: []Column{{Title: "Box"}, {Title: "Strain"}, {Title: "Scientific name"}, {Title: "Quantity", Kind: Count}, {Title: "DOA", Kind: Count}, {Title: "Unit price", Kind: Money, Currency: currency}}}
		var rows [][]Cell
		var want []intake.Line
		for i := range rapid.IntRange(1, 20).Draw(t, "rows") {
			l := intake.Line{Row: i + 2, Box: rapid.StringMatching(`[A-Z][0-9]{1,2}`).Draw(t, "box"), Strain: rapid.StringMatching(`[A-Z][a-zé]{2,8}( [A-Z][a-z]{2,8})? [0-9]{3}`).Draw(t, "strain"),
				Species: rapid.SampledFrom([]string{"Neocaridina davidi", "Caridina logemanni", ""}).Draw(t, "species"), Count: rapid.IntRange(1, 1_000_000).Draw(t, "count"),
				Priced: true, PriceExact: true, PriceMinor: rapid.Int64Range(0, 1_000_000).Draw(t, "price"), Currency: currency}
			l.DOA = rapid.IntRange(0, l.Count).Draw(t, "doa")
			l.TotalMinor = l.PriceMinor * int64(l.Count)
			rows = append(rows, []Cell{T(l.Box), T(l.Strain), T(l.Species), N(int64(l.Count)), N(int64(l.DOA)), M(l.PriceMinor)})
			want = append(want, l)
		}
		s.Rows = Rows(rows)
		for name, write := range map[string]func(io.Writer) error{
			"CSV":  func(w io.Writer) error { return WriteCSV(w, s) },
			"XLSX": func(w io.Writer) error { return WriteXLSX(w, s) },
		} {
			var buf bytes.Buffer
			if err := write(&buf); err != nil {
				t.Fatal(err)
			}
			table, err := intake.Read(buf.Bytes(), intake.Options{})
			if err != nil {
				t.Fatal(err)
			}
			m := intake.Guess(table)
			if m.Decimal == "" {
				m.Decimal = "." // our own files have a point; 0.125 alone would not tell
			}
			if r := intake.Apply(table, m); !reflect.DeepEqual(r.Lines, want) {
				t.Fatalf("%s: %+v, problems %v; want %+v", name, r.Lines, r.Problems, want)
			}
		}
	})
}

func TestHostileTexts(t *testing.T) {
	long := strings.Repeat("😀", 20000)
	s := Sheet{Name: "x", Columns: []Column{{Title: "=cmd()"}}, Rows: Rows([][]Cell{{T("=1+1")}, {T(long)}, {T("a\x00b\x0bc")}, {T("_x0041_")}, {T("\xff")}})}
	var buf bytes.Buffer
	if err := WriteXLSX(&buf, s); err != nil {
		t.Fatal(err)
	}
	f, err := excelize.OpenReader(&buf)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	cell := func(ref string) string { v, _ := f.GetCellValue("x", ref); return v }
	if cell("A1") != "'=cmd()" || cell("A2") != "'=1+1" || cell("A5") != "_x0041_" {
		t.Errorf("cells %q %q %q", cell("A1"), cell("A2"), cell("A5"))
	}
	if !strings.HasSuffix(cell("A3"), "whole text)") || len([]rune(cell("A3"))) > 17000 {
		t.Errorf("the long text ends in %q", cell("A3")[len(cell("A3"))-40:])
	}
	if formula, _ := f.GetCellFormula("x", "A2"); formula != "" {
		t.Errorf("a formula %q was written", formula)
	}
}

func TestExtremes(t *testing.T) {
	s := Sheet{Name: "x", Columns: []Column{{Title: "n", Kind: Count}, {Title: "m", Kind: Money, Currency: "EUR"}, {Title: "d", Kind: Date}, {Title: "s", Kind: Share}},
		Rows: Rows([][]Cell{
			{N(math.MaxInt64), M(math.MinInt64), D(time.Date(1850, 5, 1, 0, 0, 0, 0, time.UTC)), S(math.NaN())},
			{{}, {}, D(time.Time{}), S(math.Inf(1))},
		})}
	var buf bytes.Buffer
	if err := WriteXLSX(&buf, s); err != nil {
		t.Fatal(err)
	}
	f, err := excelize.OpenReader(&buf)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := f.GetRows("x")
	want := []string{"9223372036854775807", "-92233720368547758.08", "1850-05-01"}
	if err != nil || len(rows) < 2 || !reflect.DeepEqual(rows[1], want) {
		t.Errorf("rows %q (%v), want %q", rows, err, want)
	}
}

func TestMisuse(t *testing.T) {
	text := []Column{{Title: "a"}}
	broken := errors.New("store failed")
	for name, s := range map[string]Sheet{
		"wrong kind":  {Columns: text, Rows: Rows([][]Cell{{N(1)}})},
		"too wide":    {Columns: text, Rows: Rows([][]Cell{{T("a"), T("b")}})},
		"no currency": {Columns: []Column{{Title: "a", Kind: Money}}, Rows: Rows(nil)},
		"failing":     {Columns: text, Rows: func(yield func([]Cell, error) bool) { yield(nil, broken) }},
	} {
		if WriteCSV(io.Discard, s) == nil {
			t.Errorf("%s was written as CSV", name)
		}
		if WriteXLSX(io.Discard, s) == nil {
			t.Errorf("%s was written as XLSX", name)
		}
	}
}

func TestSheetNames(t *testing.T) {
	long := strings.Repeat("long name ", 5)
	got := SheetNames([]Sheet{{Name: "Lots"}, {Name: "lots"}, {Name: "a/b:c*?[x]"}, {Name: ""}, {Name: "''"}, {Name: long}, {Name: long}, {Name: "Lots 2"}})
	want := []string{"Lots", "lots 2", "a b c   x", "Sheet", "Sheet 2", "long name long name long name l", "long name long name long name 2", "Lots 2 2"}
	if !reflect.DeepEqual(got, want) {
		t.Errorf("%q, want %q", got, want)
	}
}

// TestSameParts wants the same parts from the same sheets; their order in the
// archive is the library's and not fixed.
func TestSameParts(t *testing.T) {
	parts := func() map[string]uint32 {
		var buf bytes.Buffer
		if err := WriteXLSX(&buf, RegisterSheets(sample())...); err != nil {
			t.Fatal(err)
		}
		z, err := zip.NewReader(bytes.NewReader(buf.Bytes()), int64(buf.Len()))
		if err != nil {
			t.Fatal(err)
		}
		m := map[string]uint32{}
		for _, f := range z.File {
			m[f.Name] = f.CRC32
		}
		return m
	}
	if a, b := parts(), parts(); !reflect.DeepEqual(a, b) || len(a) < 10 {
		t.Errorf("two writings differ: %v, %v", a, b)
	}
}

func BenchmarkXLSX(b *testing.B) {
	benchmark(b, func(s Sheet) error { return WriteXLSX(io.Discard, s) })
}
func BenchmarkCSV(b *testing.B) { benchmark(b, func(s Sheet) error { return WriteCSV(io.Discard, s) }) }

// benchmark writes 50,000 rows of 8 columns.
func benchmark(b *testing.B, write func(Sheet) error) {
	s := Sheet{Name: "x", Columns: []Column{{Title: "a"}, {Title: "b"}, {Title: "c", Kind: Count}, {Title: "d", Kind: Count}, {Title: "e", Kind: Money, Currency: "EUR"}, {Title: "f", Kind: Date}, {Title: "g", Kind: Share}, {Title: "h"}}}
	row := []Cell{T("Blue Velvet"), T("Tank 12"), N(200), N(3), M(4500), D(time.Date(2026, 11, 25, 0, 0, 0, 0, time.UTC)), S(0.93), T("note")}
	s.Rows = func(yield func([]Cell, error) bool) {
		for range 50_000 {
			if !yield(row, nil) {
				return
			}
		}
	}
	b.ReportAllocs()
	for b.Loop() {
		if err := write(s); err != nil {
			b.Fatal(err)
		}
	}
}
