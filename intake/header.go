package intake

import (
	"fmt"
	"strings"

	"holdfast/science/ref"
)

const (
	searchRows  = 60  // rows from the top in which the header is looked for
	sampleRows  = 300 // rows from which a column's content is judged
	headerFloor = 0.55
)

// settle finds the header, or takes the one asked for, and names the columns.
func (t *Table) settle(opt Options) error {
	at, rows := findHeader(t.Rows)
	switch {
	case opt.HeaderRow < 0:
		at, rows = -1, 0
	case opt.HeaderRow > 0:
		at, rows = -1, 1
		for i, r := range t.Rows {
			if r.Number == opt.HeaderRow {
				at = i
			}
		}
		if at < 0 {
			return ref.Inputf("header row", "Give the number of the row with the column names.", "row %d is empty", opt.HeaderRow)
		}
		if unitRow(t.Rows, at) {
			rows = 2
		}
	}
	t.first = at + rows
	t.HeaderRow, t.HeaderRows = 0, rows
	t.names = make([]string, t.columns())
	if at < 0 {
		t.first = 0
		t.note("No row with column names was found; the columns go by their letters.")
		return nil
	}
	t.HeaderRow = t.Rows[at].Number
	for col := range t.names {
		t.names[col] = t.Rows[at].at(col).Text
		if t.Rows[at].repeats(col) && rows < 2 {
			t.names[col] = ""
		}
		if rows == 2 {
			t.names[col] = strings.TrimSpace(t.names[col] + " " + t.Rows[at+1].at(col).Text)
			if t.Rows[at+1].at(col).MergedFrom != "" {
				t.names[col] = t.Rows[at].at(col).Text
			}
		}
	}
	return nil
}

// findHeader returns the index of the first header row and how many rows the
// header takes, or -1. Known names decide; where there are none, a row of
// texts above rows with numbers.
func findHeader(rows []Row) (at, count int) {
	at, most := -1, 1.2
	for i, r := range rows[:min(len(rows), searchRows)] {
		if s := headerLikeness(r); s > most {
			at, most = i, s
		}
	}
	if at < 0 {
		at = shapedHeader(rows)
	}
	if at < 0 {
		return -1, 0
	}
	if unitRow(rows, at) {
		return at, 2
	}
	return at, 1
}

// headerLikeness adds up how well the cells fit names of different fields, and
// takes off for numbers.
func headerLikeness(r Row) float64 {
	best := scores{}
	off := 0.0
	for _, col := range r.filled() {
		c := r.at(col)
		if c.Kind != Text || startsWithDigit(c.Text) {
			off += 0.5
			continue
		}
		for f, x := range headerScore(c.Text) {
			if x >= headerFloor {
				best.raise(f, x)
			}
		}
	}
	sum := 0.0
	for f, x := range best {
		if f == "" {
			x *= 0.3
		}
		sum += x
	}
	return sum - off
}

func startsWithDigit(s string) bool { return s != "" && s[0] >= '0' && s[0] <= '9' }

// shapedHeader finds a row of texts only above rows that have numbers in at
// least one of its columns: a header in a language that is not listed.
func shapedHeader(rows []Row) int {
	for i, r := range rows[:min(len(rows), 20)] {
		cols := r.filled()
		if len(cols) < 2 || i+1 >= len(rows) {
			continue
		}
		texts := 0
		for _, c := range cols {
			if r.at(c).Kind == Text && !strings.ContainsAny(r.at(c).Text, "0123456789") {
				texts++
			}
		}
		if texts < len(cols) {
			continue
		}
		for _, c := range cols {
			numbers, below := 0, rows[i+1:min(len(rows), i+4)]
			for _, b := range below {
				if _, problem := readCount(b.at(c), ""); problem == "" {
					numbers++
				}
			}
			if numbers == len(below) {
				return i
			}
		}
	}
	return -1
}

// unitRow says whether the row below the header only goes on with it: units,
// currencies and further names, no numbers.
func unitRow(rows []Row, at int) bool {
	if at+1 >= len(rows) || rows[at+1].Number != rows[at].Number+1 {
		return false
	}
	below := rows[at+1]
	cols := below.filled()
	known := 0
	for _, col := range cols {
		c := below.at(col)
		if c.Kind != Text || strings.ContainsAny(c.Text, "0123456789") {
			return false
		}
		if c.MergedFrom != "" { // a name that reaches over both rows
			continue
		}
		bare := strings.Trim(c.Text, " ()[].")
		if headerScore(bare).best() >= 0.85 || currencyToken(bare) != "" || strings.EqualFold(bare, "cm") || strings.EqualFold(bare, "mm") || strings.EqualFold(bare, "kg") {
			known++
			continue
		}
		return false
	}
	return known > 0
}

// key returns the name under which a column is remembered: its normal form,
// numbered when several columns share it, or "#3" for a third column without
// a name.
func (t *Table) keys() []string {
	seen := map[string]int{}
	keys := make([]string, len(t.names))
	for i, name := range t.names {
		key := normal(name)
		if key == "" {
			keys[i] = fmt.Sprintf("#%d", i+1)
			continue
		}
		seen[key]++
		if n := seen[key]; n > 1 {
			key = fmt.Sprintf("%s #%d", key, n)
		}
		keys[i] = key
	}
	return keys
}
