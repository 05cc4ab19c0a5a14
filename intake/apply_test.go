package intake

import (
	"fmt"
	"os"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// TestFacts holds sums of the invented lists that were added up by hand when
// the lists were written.
func TestFacts(t *testing.T) {
	for name, want := range map[string]struct {
		lines, animals, dead int
		total                int64
		currency             string
	}{
		"plain.csv":                  {3, 750, 0, 32000, "EUR"},
		"german.csv":                 {3, 1450, 0, 65700, "EUR"},
		"chinese_gb18030.csv":        {3, 900, 0, 30400, "USD"},
		"japanese_sjis.csv":          {2, 300, 0, 29000, "JPY"},
		"polish_1250.csv":            {2, 240, 0, 49050, "PLN"},
		"french_1252.csv":            {2, 200, 0, 11200, "EUR"},
		"taiwan_utf16le.csv":         {2, 500, 3, 15500, "USD"},
		"italian_utf16be.csv":        {2, 350, 0, 15500, "EUR"},
		"dutch_bar.csv":              {3, 450, 2, 31500, "EUR"},
		"spanish.csv":                {4, 350, 0, 22500, "EUR"},
		"bags.csv":                   {3, 520, 0, 17600, "USD"},
		"price_per_100.csv":          {2, 1500, 0, 23800, "USD"},
		"sections.csv":               {4, 600, 0, 29400, "USD"},
		"kuwait.csv":                 {2, 150, 0, 15625, "KWD"},
		"swiss.csv":                  {2, 1600, 0, 69200, "CHF"},
		"two_sheets_merged.xlsx":     {5, 820, 0, 55700, "EUR"},
		"two_row_header.xlsx":        {2, 320, 0, 9800, "USD"},
		"formulas_with_results.xlsx": {2, 600, 0, 24200, "USD"},
	} {
		data, err := os.ReadFile("testdata/lists/" + name)
		if err != nil {
			t.Fatal(err)
		}
		r := applied(t, data)
		if len(r.Lines) != want.lines || r.Animals != want.animals || r.Dead != want.dead || r.TotalMinor != want.total || r.Currency != want.currency {
			t.Errorf("%s: %d lines, %d animals, %d dead, %d %s; want %+v; problems %v", name, len(r.Lines), r.Animals, r.Dead, r.TotalMinor, r.Currency, want, r.Problems)
		}
	}
}

// applied reads data and applies the guessed mapping.
func applied(t testing.TB, data []byte) Result {
	t.Helper()
	table, err := Read(data, Options{})
	if err != nil {
		t.Fatal(err)
	}
	return Apply(table, Guess(table))
}

// TestProblems wants each fault at its cell.
func TestProblems(t *testing.T) {
	data, err := os.ReadFile("testdata/lists/problems.csv")
	if err != nil {
		t.Fatal(err)
	}
	r := applied(t, data)
	var cells []string
	for _, p := range r.Problems {
		cells = append(cells, p.Cell)
	}
	want := "C2 C3 B4 C5 C6 C7 C8 C9 D10 E11 F12 C13 E14 E15 C16 C17 D18"
	if got := strings.Join(cells, " "); got != want || r.Lines != nil {
		t.Errorf("problems at %s, want %s; %d lines", got, want, len(r.Lines))
	}
	if got := r.Problems[0].String(); got != "C2: count is 'twenty': Write a whole number from 1 to 1,000,000." {
		t.Errorf("first problem %q", got)
	}
}

func TestChoicesOfThePerson(t *testing.T) {
	form, err := os.ReadFile("testdata/lists/order_form.csv")
	if err != nil {
		t.Fatal(err)
	}
	table := mustRead(t, string(form))
	m := Guess(table)
	m.SkipEmpty = true
	if r := Apply(table, m); len(r.Lines) != 2 || len(r.Skipped) != 2 || r.TotalMinor != 6000+13000 {
		t.Errorf("order form: %+v", r)
	}

	table = mustRead(t, "Strain,Qty,Price\nBlue,10,$0.45\nRed,20,1.234\n")
	m = Guess(table)
	m.Currency, m.Decimal = "SGD", ","
	if r := Apply(table, m); len(r.Lines) != 2 || r.Currency != "SGD" || r.TotalMinor != 450+2468000 {
		t.Errorf("dollars with a comma list: %+v", r)
	}
	m.Currency = "EUR"
	if r := Apply(table, m); len(r.Problems) != 1 || r.Problems[0].Cell != "C2" {
		t.Errorf("dollars read as euro: %+v", r)
	}

	table = mustRead(t, "Strain,Qty\nBlue,twenty\nRed,20\n")
	if err := table.Set("B2", "20"); err != nil {
		t.Fatal(err)
	}
	if r := Apply(table, Guess(table)); len(r.Lines) != 2 || r.Animals != 40 {
		t.Errorf("after mending: %+v", r)
	}
	for _, bad := range []string{"B1", "B9", "Z2", "2B", "", "B2B"} {
		if err := table.Set(bad, "1"); err == nil {
			t.Errorf("cell %q was set", bad)
		}
	}
	if err := table.Set("B2", strings.Repeat("x", MaxCell+1)); err == nil {
		t.Error("an endless text was set")
	}
}

func TestTexts(t *testing.T) {
	long := strings.Repeat("é", 81)
	r := applied(t, []byte("Strain,Qty,Box,Notes,Remarks\n\"Blue\n  Velvet\",5,1,\"a\nb\",c\n"+long[:160]+",5,1,,\n"))
	if len(r.Lines) != 2 || r.Lines[0].Strain != "Blue Velvet" || r.Lines[0].Notes != "a\nb; c" {
		t.Errorf("%+v", r)
	}
	r = applied(t, []byte("Strain,Qty,Box\n"+long+",5,1\nRed,5,"+long[:82]+"\n"))
	if len(r.Lines) != 0 || len(r.Problems) != 2 || r.Problems[0].Cell != "A2" || r.Problems[1].Cell != "C3" {
		t.Errorf("%+v", r)
	}
	r = applied(t, []byte("Strain,Qty\n'Neocaridina davidi' is not it,5\nBlue Neocaridina davidi,6\nNeocaridina Blue,7\n"))
	if len(r.Lines) != 3 || r.Lines[0].Species != "" || r.Lines[1].Species != "Neocaridina davidi" || r.Lines[2].Species != "" {
		t.Errorf("%+v", r)
	}
}

func TestPriceOfABag(t *testing.T) {
	r := applied(t, []byte("Strain,Bags,Pcs/bag,Price per bag USD\nBlue,4,50,15.00\nRed,1,30,10.00\n"))
	if len(r.Lines) != 2 || r.Lines[0].TotalMinor != 6000 || r.Lines[0].PriceMinor != 30 || r.Lines[1].PriceMinor != 33 || r.Lines[1].PriceExact || r.Lines[1].TotalMinor != 1000 {
		t.Errorf("%+v", r)
	}
	r = applied(t, []byte("Strain,Qty,Price per bag USD\nBlue,200,15.00\nRed,30,10.00\n"))
	if len(r.Lines) != 0 || len(r.Problems) != 1 || r.Problems[0].Field != PriceBag {
		t.Errorf("without bags: %+v", r)
	}
}

// TestEveryFault plants one fault into a sound list and wants it named at its
// cell and nowhere else, and no line to come through.
func TestEveryFault(t *testing.T) {
	faults := map[Field][]string{
		Count: {"", "0", "-3", "2.5", "twenty", "20 bags", "1e9", "NaN", "Inf", "=1+1", "2000001", "#REF!"},
		DOA:   {"-1", "9999", "2.5", "some", "3%"},
		Price: {"-1", "cheap", "NaN", "=1", "1 per bag", "99999999999999999", "1.2.3"},
	}
	fields := []Field{Count, DOA, Price}
	letters := map[Field]string{Count: "B", DOA: "C", Price: "D"}
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(2, 30).Draw(t, "rows")
		at := rapid.IntRange(0, n-1).Draw(t, "at")
		f := rapid.SampledFrom(fields).Draw(t, "field")
		fault := rapid.SampledFrom(faults[f]).Draw(t, "fault")
		var b strings.Builder
		b.WriteString("Strain,Qty,DOA,Price EUR\n")
		for i := range n {
			cells := map[Field]string{Count: fmt.Sprint(10 + i), DOA: "1", Price: "0.45"}
			if i == at {
				cells[f] = fault
			}
			fmt.Fprintf(&b, "Strain %c,%s,%s,%s\n", 'A'+i, cells[Count], cells[DOA], cells[Price])
		}
		table, err := Read([]byte(b.String()), Options{})
		if err != nil {
			t.Fatal(err)
		}
		m := Mapping{Columns: map[string]Column{"strain": {Field: Strain}, "qty": {Field: Count}, "doa": {Field: DOA}, "price eur": {Field: Price, Currency: "EUR"}}}
		r := Apply(table, m)
		want := fmt.Sprintf("%s%d", letters[f], at+2)
		if len(r.Lines) > 0 || len(r.Problems) != 1 || r.Problems[0].Cell != want {
			t.Fatalf("%s %q at %s: problems %v", f, fault, want, r.Problems)
		}
	})
}

func BenchmarkCSV5000(b *testing.B) {
	var s strings.Builder
	s.WriteString("Box,Strain,Species,Size,Qty,Price EUR,Total EUR,Notes\n")
	for i := range MaxRows - 1 {
		fmt.Fprintf(&s, "%d,Strain %d,Neocaridina davidi,1.5 cm,%d,0.45,%.2f,\n", i/10, i, 20+i%50, 0.45*float64(20+i%50))
	}
	bench(b, []byte(s.String()))
}

func BenchmarkXLSX5000(b *testing.B) {
	var s strings.Builder
	s.WriteString(sheetHead + `<row><c t="inlineStr"><is><t>Strain</t></is></c><c t="inlineStr"><is><t>Qty</t></is></c><c t="inlineStr"><is><t>Price EUR</t></is></c></row>`)
	for i := range MaxRows - 1 {
		fmt.Fprintf(&s, `<row><c t="inlineStr"><is><t>Strain %d</t></is></c><c><v>%d</v></c><c><v>0.45</v></c></row>`, i, 20+i%50)
	}
	bench(b, workbook(b, s.String()+sheetTail))
}

// BenchmarkWidest is the largest list that is read: every cell of 5,000 rows
// and 100 columns filled.
func BenchmarkWidest(b *testing.B) {
	var s strings.Builder
	for i := range MaxColumns {
		fmt.Fprintf(&s, "Column %d,", i)
	}
	row := strings.Repeat("12.50,", MaxColumns-1) + "12.50\n"
	bench(b, []byte(strings.TrimSuffix(s.String(), ",")+"\n"+strings.Repeat(row, MaxRows-1)))
}

func bench(b *testing.B, data []byte) {
	b.ReportAllocs()
	for b.Loop() {
		table, err := Read(data, Options{})
		if err != nil {
			b.Fatal(err)
		}
		Look(table, nil)
	}
}
