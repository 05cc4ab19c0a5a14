package intake

import (
	"cmp"
	"fmt"
	"math/big"
	"slices"
)

// MaxMinor bounds the amount of one line, in minor units.
const MaxMinor = 10_000_000_000_000

// Line is one line of a list that may be received.
type Line struct {
	Row     int    `json:"row"` // of the list, as the spreadsheet numbers it
	Strain  string `json:"strain"`
	Species string `json:"species,omitempty"`
	Box     string `json:"box,omitempty"`
	Bag     string `json:"bag,omitempty"`
	// Count is how many animals the list says were sent, DOA how many of them
	// were dead on arrival: never more than Count.
	Count int `json:"count"`
	DOA   int `json:"doa"`
	// Priced says that the list has an amount for the line. PriceMinor is the
	// price of one animal in minor units of Currency, rounded half away from
	// zero where the list is finer than the currency or tells only a total;
	// PriceExact says that nothing was rounded. TotalMinor, the amount of the
	// whole line, is what the list says, else price times count, computed
	// before the price is rounded: sums of money should use it.
	Priced     bool   `json:"priced"`
	PriceMinor int64  `json:"price_minor"`
	PriceExact bool   `json:"price_exact"`
	TotalMinor int64  `json:"total_minor"`
	Currency   string `json:"currency,omitempty"`
	Size       string `json:"size,omitempty"`
	Sex        string `json:"sex,omitempty"`
	Notes      string `json:"notes,omitempty"`
}

// Problem is one thing wrong with a list and what to do about it.
type Problem struct {
	// Cell is where it is, as "C7"; empty when it concerns the whole list.
	Cell  string `json:"cell,omitempty"`
	Row   int    `json:"row,omitempty"`
	Field Field  `json:"field,omitempty"`
	// Strain is what the row says it is, Text what stands in the cell.
	Strain string `json:"strain,omitempty"`
	Text   string `json:"text,omitempty"`
	// Message says what is wrong, with the value; Hint what to do.
	Message string `json:"message"`
	Hint    string `json:"hint"`

	col int
}

func (p Problem) String() string {
	s := p.Message + ": " + p.Hint
	if p.Cell != "" {
		s = p.Cell + ": " + s
	}
	return s
}

// Skipped is a row that was read over on purpose.
type Skipped struct {
	Row  int    `json:"row"`
	Text string `json:"text"`
	Why  string `json:"why"`
}

// Result is what a list and a mapping come to: lines, or every problem.
type Result struct {
	// Lines is empty as long as there are problems.
	Lines    []Line    `json:"lines"`
	Problems []Problem `json:"problems"`
	// Warnings stop nothing, but a person should have seen them.
	Warnings []Problem `json:"warnings"`
	Skipped  []Skipped `json:"skipped"`
	// Animals, Dead and TotalMinor are sums over the lines; Currency is the
	// one currency of all that are priced.
	Animals    int    `json:"animals"`
	Dead       int    `json:"dead"`
	TotalMinor int64  `json:"total_minor"`
	Currency   string `json:"currency,omitempty"`
}

const (
	countHint = "Write a whole number from 1 to 1,000,000."
	moneyHint = "Write an amount such as 0.45, without other words."
)

// Apply reads every row of the list by the mapping. With any problem there are
// no lines; then all problems are listed, in the order of the cells.
func Apply(t *Table, m Mapping) Result {
	a := newApplier(t, m)
	if err := m.Check(); err != nil {
		a.problem(-1, 0, Ignore, err.Error(), "Map the columns anew.")
	} else if a.complete() {
		a.rows()
		a.currencies()
		a.twins()
	}
	return a.finish()
}

// applier holds the state of one Apply.
type applier struct {
	t       *Table
	m       Mapping
	res     Result
	cols    map[Field][]int
	columns []Column // meaning of each column
	above   map[int]Cell
	drafts  []draft
	since   int     // index in drafts after the last total row
	unclear int     // amounts whose decimal mark is unknown
	finer   int     // prices finer than their currency
	first   Problem // the first of those
}

// draft is a line whose amounts wait for their currency.
type draft struct {
	Line
	price      *big.Rat // of one animal; nil when the list has none
	total      *big.Rat
	moneyCol   int    // column of the first amount, -1 for none
	said       string // currency read for the line, perhaps ambiguous, "" for none
	bad        bool   // the line has a problem
	countIsBad bool
	noCurrency bool // its currency cell cannot be read
}

func newApplier(t *Table, m Mapping) *applier {
	a := &applier{t: t, m: m, cols: map[Field][]int{}, above: map[int]Cell{}}
	for col, key := range t.keys() {
		c := m.Columns[key]
		a.columns = append(a.columns, c)
		if c.Field != Ignore {
			a.cols[c.Field] = append(a.cols[c.Field], col)
		}
	}
	return a
}

func (a *applier) problem(col, row int, f Field, message, hint string) {
	a.res.Problems = append(a.res.Problems, place(col, row, f, message, hint))
}

func (a *applier) warn(col, row int, f Field, message, hint string) {
	a.res.Warnings = append(a.res.Warnings, place(col, row, f, message, hint))
}

func place(col, row int, f Field, message, hint string) Problem {
	p := Problem{Row: row, Field: f, Message: message, Hint: hint, col: col}
	if col >= 0 && row > 0 {
		p.Cell = Ref(col, row)
	}
	return p
}

// complete says whether the required fields have columns.
func (a *applier) complete() bool {
	if len(a.cols[Strain]) == 0 {
		a.problem(-1, 0, Strain, "no column of this list is the strain", "Choose the column with the names of the animals.")
	}
	if len(a.cols[Count]) == 0 && (len(a.cols[Bags]) == 0 || len(a.cols[PerBag]) == 0) {
		a.problem(-1, 0, Count, "no column of this list is the count", "Choose the column with the number of animals, or those with the number of bags and of animals in a bag.")
	}
	if len(a.cols[PriceBag]) > 0 && len(a.cols[Bags]) == 0 && len(a.cols[PerBag]) == 0 {
		a.problem(-1, 0, PriceBag, "prices are for a bag, but no column says how many bags or how many animals are in one",
			"Choose that column, or read over the price.")
	}
	return len(a.res.Problems) == 0
}

// line reads one row.
func (a *applier) line(r Row) draft {
	d := draft{moneyCol: -1, Line: Line{Row: r.Number}}
	before := len(a.res.Problems)
	d.Strain = a.text(r, Strain)
	d.Species, d.Box, d.Bag = a.text(r, Species), a.text(r, Box), a.text(r, Bag)
	d.Size, d.Sex, d.Notes = a.text(r, Size), a.text(r, Sex), a.text(r, Notes)
	if d.Species == "" {
		d.Species = speciesIn(d.Strain)
	}
	if d.Strain == "" {
		a.problem(a.cols[Strain][0], r.Number, Strain, "strain is empty", "Write the name of the animals.")
	}
	a.counts(r, &d)
	a.amounts(r, &d)
	d.bad = d.bad || len(a.res.Problems) > before
	return d
}

func (a *applier) finish() Result {
	if a.finer > 1 {
		a.first.Message += fmt.Sprintf("; so are %s more prices", group(a.finer-1))
	}
	if a.finer > 0 {
		a.res.Warnings = append(a.res.Warnings, a.first)
	}
	byCell := func(x, y Problem) int { return cmp.Or(cmp.Compare(x.Row, y.Row), cmp.Compare(x.col, y.col)) }
	slices.SortStableFunc(a.res.Problems, byCell)
	slices.SortStableFunc(a.res.Warnings, byCell)
	if len(a.res.Problems) > 0 {
		a.res.Currency = ""
		a.nameRows()
		return a.res
	}
	for _, d := range a.drafts {
		a.res.Lines = append(a.res.Lines, d.Line)
		a.res.Animals += d.Count
		a.res.Dead += d.DOA
		a.res.TotalMinor += d.TotalMinor
	}
	return a.res
}
