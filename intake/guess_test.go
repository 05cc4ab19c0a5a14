package intake

import (
	"encoding/json"
	"os"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// TestWords reads every line of the list of names.
func TestWords(t *testing.T) {
	lines := strings.Split(strings.TrimSpace(wordsCSV), "\n")[1:]
	n := 0
	for _, line := range lines {
		f := strings.SplitN(line, ",", 3)
		if len(f) != 3 || f[0] != "" && !slices.Contains(Fields(), Field(f[0])) {
			t.Errorf("line %q", line)
			continue
		}
		if w, err := strconv.ParseFloat(f[1], 64); err != nil || w <= 0 || w > 1 {
			t.Errorf("weight in %q", line)
		}
		for _, w := range strings.Split(f[2], "|") {
			n++
			if normal(w) == "" || len(strings.Fields(normal(w))) > longest+2 {
				t.Errorf("name %q", w)
			}
		}
	}
	if n < 500 {
		t.Errorf("only %d names", n)
	}
}

func TestNormal(t *testing.T) {
	for text, want := range map[string]string{
		"Prix  unitaire (€)": "prix unitaire €", "Größe": "grosse", "Ilość\nsztuk": "ilosc sztuk", "Box #": "box #", "No.": "no", "ＱＴＹ": "qty", "レッド": "レッド", "***": "", "Pcs/bag": "pcs bag",
	} {
		if got := normal(text); got != want {
			t.Errorf("normal(%q) = %q, want %q", text, got, want)
		}
	}
}

// TestHeaders gives names as people write them and the field a person would
// choose.
func TestHeaders(t *testing.T) {
	for name, want := range map[string]Field{
		"Box weight (kg)": Ignore, "Box No.": Box, "CTN NO.": Box, "Qty (pcs)": Count, "Quantity/数量": Count, "品名 Name": Strain, "Unit Price USD": Price, "USD/pc": Price,
		"Total Amount (US$)": Total, "Scientific Name": Species, "Latin name": Species, "Size (cm)": Size, "Remarks/备注": Notes, "DOA qty": DOA, "D.O.A.": DOA, "Pcs / bag": PerBag,
		"Price per bag": PriceBag, "Quantiy": Count, "Stückzahl (Tiere)": Count, "Preis pro Stück €": Price, "Lateinischer Name": Species, "Prijs per stuk": Price, "Nom scientifique": Species,
		"Precio por unidad": Price, "Prezzo al pezzo (€)": Price, "Cena za sztukę": Price, "Ilość szt.": Count, "单价（美元）": Price, "每袋数量": PerBag, "学名": Species, "尾数": Count, "単価": Price, "匹数": Count,
		"Harga satuan": Price, "Nama latin": Species, "No. of bags": Bags, "Photo": Ignore, "Arrival date": Ignore, "HS code": Ignore, "Sex (m/f)": Sex, "Currency": Currency, "Grade": Size, "Dead on arrival": DOA,
	} {
		s := headerScore(name)
		best, most := Field("none"), 0.0
		for _, f := range append([]Field{Ignore}, Fields()...) {
			if s[f] > most {
				best, most = f, s[f]
			}
		}
		if best != want {
			t.Errorf("%q was read as %q (%v), want %q", name, best, s, want)
		}
	}
}

// TestMappingSurvivesJSON keeps a mapping, reads it back and applies it to a
// later list of the same supplier with moved and new columns.
func TestMappingSurvivesJSON(t *testing.T) {
	first := mustRead(t, "Ref,Ware,Stk,Geld,Hinweis intern\nx1,Blue Velvet,100,0.45,a\nx2,Red Cherry,50,0.40,b\n")
	m := Guess(first)
	m.Columns["geld"] = Column{Field: Price, Per: 10}
	m.Columns["ref"] = Column{Field: Box}
	m.Columns["hinweis intern"] = Column{Field: Ignore}
	m.Currency = "EUR"
	data, err := json.Marshal(m)
	if err != nil {
		t.Fatal(err)
	}
	kept, err := ParseMapping(data)
	if err != nil || !reflect.DeepEqual(kept, m) {
		t.Fatalf("%v: %+v, want %+v", err, kept, m)
	}
	later := mustRead(t, "Liste 2\n\nGELD;DOA;Hinweis intern;Stk;ref;Ware\n4,50;1;x;200;K7;Yellow\n")
	p := Look(later, &kept)
	want := []Line{{Row: 4, Strain: "Yellow", Box: "K7", Count: 200, DOA: 1, Priced: true, PriceMinor: 45, PriceExact: true, TotalMinor: 9000, Currency: "EUR"}}
	if !reflect.DeepEqual(p.Result.Lines, want) {
		t.Errorf("lines %+v, problems %v; want %+v", p.Result.Lines, p.Result.Problems, want)
	}
	lacking := mustRead(t, "Ware;Stk\nYellow;200\n")
	if _, missing := Fit(lacking, kept); !slices.Equal(missing, []string{"geld", "ref"}) {
		t.Errorf("missing %q", missing)
	}
}

// TestColumnsMayMove shuffles the columns of a list and wants the same lines
// from the remembered mapping.
func TestColumnsMayMove(t *testing.T) {
	data, err := os.ReadFile("testdata/lists/german.csv")
	if err != nil {
		t.Fatal(err)
	}
	table := mustRead(t, string(data))
	m := Guess(table)
	want := Apply(table, m).Lines
	if len(want) == 0 {
		t.Fatal("no lines")
	}
	rapid.Check(t, func(t *rapid.T) {
		order := rapid.Permutation([]int{0, 1, 2, 3, 4, 5}).Draw(t, "order")
		var b strings.Builder
		for n, last := 1, 0; n <= table.Rows[len(table.Rows)-1].Number; n++ {
			for last < len(table.Rows) && table.Rows[last].Number < n {
				last++
			}
			if r := table.Rows[last]; r.Number == n {
				for i, col := range order {
					if i > 0 {
						b.WriteByte(';')
					}
					b.WriteString(`"` + r.at(col).Text + `"`)
				}
			}
			b.WriteByte('\n')
		}
		moved, err := Read([]byte(b.String()), Options{})
		if err != nil {
			t.Fatal(err)
		}
		fitted, missing := Fit(moved, m)
		if got := Apply(moved, fitted); !reflect.DeepEqual(got.Lines, want) || len(missing) > 0 {
			t.Fatalf("order %v: %+v, problems %v, missing %v", order, got.Lines, got.Problems, missing)
		}
	})
}

func TestMappingCheck(t *testing.T) {
	for name, m := range map[string]Mapping{
		"version":  {Version: 9},
		"decimal":  {Decimal: ";"},
		"currency": {Currency: "euro"},
		"field":    {Columns: map[string]Column{"a": {Field: "weight"}}},
		"twice":    {Columns: map[string]Column{"a": {Field: Count}, "b": {Field: Count}}},
		"of":       {Columns: map[string]Column{"a": {Field: Price, Currency: "ABC"}}},
		"per":      {Columns: map[string]Column{"a": {Field: Price, Per: -1}}},
	} {
		if err := m.Check(); err == nil {
			t.Errorf("a wrong %s passed", name)
		}
		if r := Apply(mustRead(t, "Strain,Qty\nBlue,5\n"), m); len(r.Problems) == 0 || len(r.Lines) > 0 {
			t.Errorf("a wrong %s was applied: %+v", name, r)
		}
	}
	if err := (Mapping{Columns: map[string]Column{"a": {Field: Notes}, "b": {Field: Notes}, "c": {}, "d": {}}}).Check(); err != nil {
		t.Errorf("two columns of notes: %v", err)
	}
	for _, s := range []string{"", "{", `{"columns":{"a":{"field":"x"}}}`, `{"colums":{}}`, "[]"} {
		if _, err := ParseMapping([]byte(s)); err == nil {
			t.Errorf("mapping %q was read", s)
		}
	}
}

func mustRead(t testing.TB, text string) *Table {
	t.Helper()
	table, err := Read([]byte(text), Options{})
	if err != nil {
		t.Fatal(err)
	}
	return table
}
