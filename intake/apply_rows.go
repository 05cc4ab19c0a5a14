package intake

import (
	"fmt"
	"slices"
	"strings"
)

// rows sorts rows into lines and those that are read over.
func (a *applier) rows() {
	lastLine := a.lastLine()
	totalSeen := false
	for i, r := range a.t.body() {
		a.remember(r)
		switch why := a.skip(r, totalSeen && i > lastLine); {
		case why == whyTotal:
			totalSeen = true
			a.checkTotal(r)
			a.skipped(r, why)
		case why != "":
			a.skipped(r, why)
		default:
			a.drafts = append(a.drafts, a.line(r))
		}
	}
	if len(a.drafts) == 0 && len(a.res.Problems) == 0 {
		a.problem(-1, 0, Ignore, "the list has no row with animals", "Check the mapping and the header row.")
	}
}

const (
	whyTotal  = "a total"
	whyHeader = "the column names again"
	whyAlone  = "one cell only: read as a heading or note"
	whyFooter = "below the total and without a count"
	whyEmpty  = "no animals: the count is empty or 0"
)

func (a *applier) skipped(r Row, why string) {
	var texts []string
	for _, c := range r.filled() {
		texts = append(texts, r.at(c).Text)
	}
	text := []rune(strings.Join(texts, " | "))
	a.res.Skipped = append(a.res.Skipped, Skipped{Row: r.Number, Text: string(text[:min(len(text), 200)]), Why: why})
}

// skip returns why a row is no line, "" for a line.
func (a *applier) skip(r Row, footer bool) string {
	cols := r.filled()
	count := a.cell(r, Count)
	if len(a.cols[Count]) == 0 {
		count = a.cell(r, Bags)
	}
	switch {
	case a.isHeader(r):
		return whyHeader
	case a.isTotalRow(r, cols):
		return whyTotal
	case len(cols) == 1 && !a.alone(r, cols[0]):
		return whyAlone
	case footer && count.blank():
		return whyFooter
	case a.m.SkipEmpty && (count.blank() || count.Text == "0"):
		return whyEmpty
	}
	return ""
}

// alone says whether the only cell of a row is a figure in a column of ours:
// then the row is a line with parts missing, not a heading.
func (a *applier) alone(r Row, col int) bool {
	_, problem := readCount(r.at(col), a.m.Decimal)
	f := a.columns[col].Field
	return problem == "" && (f == Count || f == DOA || f == Bags || f == PerBag || f.money())
}

func (a *applier) isHeader(r Row) bool {
	if a.t.HeaderRow == 0 {
		return false
	}
	same, named := 0, 0
	for col, name := range a.t.names {
		if name != "" {
			named++
			if r.at(col).Text == name {
				same++
			}
		}
	}
	return named > 1 && same*5 >= named*4
}

var totalWords = []string{"total", "totals", "grand total", "sub total", "subtotal", "sum", "summe", "gesamt", "gesamtsumme", "zwischensumme", "insgesamt",

	"totaal", "subtotaal", "totale", "totali", "subtotale", "somme", "sous total", "total general", "suma", "razem", "ogolem", "lacznie",
	"合计", "合計", "总计", "總計", "小计", "小計", "总共", "jumlah", "total keseluruhan", "total qty", "total amount", "total pcs"}

// isTotal says whether a text heads a row of sums: a word for it, alone or
// with figures and units.
func isTotal(s string) bool {
	if len(s) > 60 {
		return false
	}
	key := strings.Join(slices.DeleteFunc(strings.Fields(normal(s)), func(t string) bool {
		return startsWithDigit(t) || slices.Contains(pieceWords, t) || currencyToken(t) != "" || t == "boxes" || t == "bags"
	}), " ")
	return slices.Contains(totalWords, key)
}

// isTotalRow wants the word for total where no strain stands.
func (a *applier) isTotalRow(r Row, cols []int) bool {
	strain := a.cell(r, Strain)
	if !strain.blank() && strain.MergedFrom == "" && !isTotal(strain.Text) {
		return false
	}
	return slices.ContainsFunc(cols, func(c int) bool { return isTotal(r.at(c).Text) })
}

// lastLine is the index of the last row with a strain and a count.
func (a *applier) lastLine() int {
	last := -1
	for i, r := range a.t.body() {
		if _, problem := readCount(a.cell(r, Count), a.m.Decimal); problem == "" && !a.cell(r, Strain).blank() {
			last = i
		}
	}
	return last
}

// cell returns the cell of a field; a repeated merged neighbour counts as
// empty.
func (a *applier) cell(r Row, f Field) Cell {
	if len(a.cols[f]) == 0 {
		return Cell{}
	}
	return a.at(r, a.cols[f][0])
}

func (a *applier) at(r Row, col int) Cell {
	if r.repeats(col) {
		return Cell{}
	}
	c := r.at(col)
	if c.blank() && a.columns[col].Down {
		return a.above[col]
	}
	return c
}

// remember keeps the last filled cell of columns that reach down.
func (a *applier) remember(r Row) {
	for col, c := range a.columns {
		if cell := r.at(col); c.Down && !cell.blank() && !isTotal(cell.Text) && len(r.filled()) > 1 {
			a.above[col] = cell
		}
	}
}

// twins warns of lines that say the same twice.
func (a *applier) twins() {
	first := map[Line]Line{}
	for _, d := range a.drafts {
		if d.bad {
			continue
		}
		key := d.Line
		key.Row, key.Strain = 0, strings.ToLower(key.Strain)
		if twin, ok := first[key]; ok {
			a.warn(a.cols[Strain][0], d.Row, Strain, fmt.Sprintf("row %d says the same as row %d: %s", d.Row, twin.Row, quote(d.Strain)), "Delete one if the animals came once.")
			continue
		}
		first[key] = d.Line
	}
}

// nameRows says of each problem at which strain it stands, and what is written
// there.
func (a *applier) nameRows() {
	rows := map[int]Row{}
	for _, r := range a.t.body() {
		rows[r.Number] = r
	}
	for i := range a.res.Problems {
		p := &a.res.Problems[i]
		if r, ok := rows[p.Row]; ok && p.Cell != "" {
			p.Strain, p.Text = a.cell(r, Strain).Text, r.at(p.col).Text
		}
	}
}
