package paper

import (
	"fmt"
	"iter"
	"math"
	"strings"
	"time"

	"holdfast/money"
)

// Kind says what the cells of a column hold.
type Kind int

// The kinds of columns.
const (
	Text  Kind = iota // a text, guarded
	Count             // a whole number
	Money             // an amount in minor units of the column's currency
	Date              // a civil day, in the zone of the time given
	Share             // a share from 0 to 1, shown in per cent by a workbook
)

// Column is one column of a sheet.
type Column struct {
	Title string
	Kind  Kind
	// Currency (ISO 4217) of a Money column. It is written after the title.
	Currency string
}

// Sheet is one table. Rows may be read from a store while it is written.
type Sheet struct {
	Name    string
	Columns []Column
	Rows    iter.Seq2[[]Cell, error]
}

// Rows makes the rows of a sheet from a slice.
func Rows(rows [][]Cell) iter.Seq2[[]Cell, error] {
	return func(yield func([]Cell, error) bool) {
		for _, r := range rows {
			if !yield(r, nil) {
				return
			}
		}
	}
}

// Cell is the content of one cell. The zero value is an empty cell.
type Cell struct {
	text string
	n    int64
	x    float64
	day  time.Time
	kind Kind
	full bool
}

// T is a text; an empty one makes an empty cell.
func T(s string) Cell { return Cell{kind: Text, text: s, full: s != ""} }

// N is a whole number.
func N(n int64) Cell { return Cell{kind: Count, n: n, full: true} }

// M is an amount in minor units of its column's currency.
func M(minor int64) Cell { return Cell{kind: Money, n: minor, full: true} }

// D is the civil day of t in t's own zone; the zero time makes an empty cell.
func D(t time.Time) Cell { return Cell{kind: Date, day: t, full: !t.IsZero()} }

// S is a share from 0 to 1; NaN makes an empty cell.
func S(share float64) Cell {
	return Cell{kind: Share, x: share, full: !math.IsNaN(share) && !math.IsInf(share, 0)}
}

// title is the column's heading.
func (c Column) title() string {
	if c.Kind == Money {
		return c.Title + " (" + c.Currency + ")"
	}
	return c.Title
}

// check returns an error for a row that does not fit the columns: a mistake of
// the program, not of a person.
func (s Sheet) check(row []Cell) error {
	if len(row) > len(s.Columns) {
		return fmt.Errorf("sheet %q: %d cells for %d columns", s.Name, len(row), len(s.Columns))
	}
	for i, c := range row {
		if c.full && c.kind != s.Columns[i].Kind {
			return fmt.Errorf("sheet %q: column %q does not take this kind of cell", s.Name, s.Columns[i].Title)
		}
	}
	return nil
}

// checkColumns returns an error for a money column without a currency.
func (s Sheet) checkColumns() error {
	for _, c := range s.Columns {
		if _, ok := money.Exponent(c.Currency); c.Kind == Money && !ok {
			return fmt.Errorf("sheet %q: column %q has the currency %q", s.Name, c.Title, c.Currency)
		}
	}
	return nil
}

// plain writes a cell as text, as a CSV has it.
func (c Cell) plain(col Column) string {
	if !c.full {
		return ""
	}
	switch c.kind {
	case Count:
		return fmt.Sprint(c.n)
	case Money:
		s, _ := money.Decimal(c.n, col.Currency) // checkColumns saw to the currency
		return s
	case Date:
		return c.day.Format(time.DateOnly)
	case Share:
		return fmt.Sprint(c.x)
	}
	return Guard(c.text)
}

const guarded = "=+-@\t\n\r'＝＋－＠"

// Guard makes a text safe for spreadsheet programs, as the package comment
// tells.
func Guard(s string) string {
	s = strings.NewReplacer("\r\n", "\n", "\r", "\n").Replace(s)
	if s != "" && strings.ContainsRune(guarded, []rune(s[:min(len(s), 4)])[0]) {
		return "'" + s
	}
	return s
}

// Unguard takes off what Guard added.
func Unguard(s string) string { return strings.TrimPrefix(s, "'") }
