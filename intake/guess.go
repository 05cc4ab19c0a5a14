package intake

import (
	"math/big"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"unicode"
)

// columnGuess is what one column probably means.
type columnGuess struct {
	Column
	confidence float64
	why        string
	remembered bool
}

// guessed is a reading of all columns of a table.
type guessed struct {
	t    *Table
	cols []columnGuess
}

// Guess reads the columns' names and contents and returns the mapping they
// suggest. A page shows it with Look and lets the person change it.
func Guess(t *Table) Mapping { return guess(t).mapping() }

func guess(t *Table) guessed {
	return guessWith(t, func(int) (Column, bool) { return Column{}, false })
}

// guessWith guesses the columns for which known has no answer.
func guessWith(t *Table, known func(col int) (Column, bool)) guessed {
	g := guessed{t: t, cols: make([]columnGuess, t.columns())}
	taken := map[Field]bool{}
	for col := range g.cols {
		if c, ok := known(col); ok {
			g.cols[col] = columnGuess{Column: c, confidence: 1, why: "remembered from an earlier list", remembered: true}
			taken[c.Field] = true
		}
	}
	g.assign(taken)
	g.byArithmetic(taken)
	if !taken[Strain] && taken[Species] {
		g.rename(Species, Strain, "the only names in the list")
	}
	for col := range g.cols {
		if !g.cols[col].remembered {
			g.details(col)
		}
	}
	return g
}

// candidate is a possible meaning of a column.
type candidate struct {
	col   int
	field Field
	score float64
	why   string
}

// assign gives each field the column that fits best, the surest first.
func (g guessed) assign(taken map[Field]bool) {
	var all []candidate
	for col := range g.cols {
		if !g.cols[col].remembered {
			all = append(all, g.candidates(col)...)
		}
	}
	slices.SortStableFunc(all, func(a, b candidate) int {
		switch {
		case a.score > b.score:
			return -1
		case a.score < b.score:
			return 1
		case a.col != b.col:
			return a.col - b.col
		}
		return slices.Index(Fields(), a.field) - slices.Index(Fields(), b.field)
	})
	for _, c := range all {
		if g.cols[c.col].Field != Ignore || taken[c.field] && c.field != Notes {
			continue
		}
		g.cols[c.col] = columnGuess{Column: Column{Field: c.field}, confidence: c.score, why: c.why}
		taken[c.field] = true
	}
}

// candidates weighs name and content: a known name counts for three quarters,
// and half of it is lost when the content speaks against it. Content alone
// never gives more than 0.45.
func (g guessed) candidates(col int) []candidate {
	named := headerScore(g.t.names[col])
	content := g.content(col)
	var out []candidate
	for _, f := range Fields() {
		h, c := named[f], content.fit(f)
		switch {
		case h > 0 && h < named[Ignore]:
			continue
		case h > 0:
			score := 0.75*h + 0.25*c
			if content.filled > 0 && c == 0 {
				score = h / 2
			}
			out = append(out, candidate{col, f, score, "by its name " + quote(g.t.names[col])})
		case named.best() == 0 && named[Ignore] == 0 && c >= 0.6 && contentTells(f):
			out = append(out, candidate{col, f, 0.45 * c, "by what it holds"})
		}
	}
	return slices.DeleteFunc(out, func(c candidate) bool { return c.score < 0.25 })
}

// contentTells says of which fields the content alone is a hint.
func contentTells(f Field) bool {
	return f == Strain || f == Species || f == Count || f == Price || f == Currency || f == Sex
}

// content is what a column holds, as shares of its filled cells.
type content struct {
	filled                                     int
	whole, money, fraction, text, latin, codes float64
	sexes, distinct                            float64
	sequence                                   bool
}

var (
	latinName = regexp.MustCompile(`^[A-Z][a-z]{3,}\s+(?:cf\. )?(?:[a-z]{3,}|sp\.?|spp\.?)\b`)
	sexWords  = []string{"m", "f", "male", "female", "mixed", "mix", "♂", "♀", "m/f", "w", "unsexed", "公", "母", "雄", "雌", "混"}
)

func (g guessed) content(col int) content {
	var c content
	seen := map[string]bool{}
	body := g.t.body()
	c.sequence = true
	last := 0
	for _, r := range body[:min(len(body), sampleRows)] {
		cell := r.at(col)
		if cell.blank() || r.repeats(col) || len(r.filled()) < 2 || isTotal(cell.Text) {
			continue
		}
		c.filled++
		seen[cell.Text] = true
		n, problem := readCount(cell, "")
		if problem == "" {
			c.whole++
			c.sequence = c.sequence && (c.filled == 1 || n == last+1)
			last = n
		}
		if amount, currency, problem := readMoney(cell, "."); problem == "" {
			c.money++
			if !amount.IsInt() || currency != "" {
				c.fraction++
			}
		}
		letters := 0
		for _, x := range cell.Text {
			if unicode.IsLetter(x) {
				letters++
			}
		}
		if problem != "" && letters >= 2 && cell.Kind == Text {
			c.text++
		}
		if latinName.MatchString(cell.Text) {
			c.latin++
		}
		if exactCurrency(cell.Text) != "" {
			c.codes++
		}
		if slices.Contains(sexWords, strings.ToLower(cell.Text)) {
			c.sexes++
		}
	}
	if c.filled == 0 {
		return content{}
	}
	n := float64(c.filled)
	for _, x := range []*float64{&c.whole, &c.money, &c.fraction, &c.text, &c.latin, &c.codes, &c.sexes} {
		*x /= n
	}
	c.distinct = float64(len(seen)) / n
	c.sequence = c.sequence && c.filled > 2
	return c
}

// fit says how well the content suits the field, 0 to 1.
func (c content) fit(f Field) float64 {
	switch f {
	case Strain:
		return c.text * (0.5 + 0.5*c.distinct) * (1 - 0.4*c.latin) * (1 - c.codes) * (1 - c.sexes)
	case Species:
		return max(c.latin, 0.3*c.text*(1-c.codes))
	case Count, Bags, PerBag:
		if c.sequence {
			return c.whole / 3
		}
		return c.whole * (1 - c.fraction/2)
	case DOA:
		return c.whole
	case Price, PriceBag, Total:
		return c.money * (0.5 + 0.5*c.fraction)
	case Currency:
		return c.codes
	case Sex:
		return max(c.sexes, 0.3*c.text)
	}
	return 0.5 // anything may stand in a box number, a size or a note
}

// byArithmetic uses that bags times animals in a bag make the count, and
// price times count the total, to tell columns apart whose names do not.
func (g guessed) byArithmetic(taken map[Field]bool) {
	if taken[Bags] && taken[PerBag] && !taken[Count] {
		for col := range g.cols {
			if f := g.cols[col].Field; !g.cols[col].remembered && (f == Ignore || f == Total) && g.product(g.column(Bags), g.column(PerBag), col) {
				delete(taken, f)
				g.cols[col] = columnGuess{Column: Column{Field: Count}, confidence: 0.8, why: "bags times animals in a bag"}
				taken[Count] = true
				break
			}
		}
	}
	if col := g.column(Total); !taken[Count] && !taken[PerBag] && col >= 0 && !g.cols[col].remembered {
		if c := g.content(col); c.whole >= 0.9 && c.fraction == 0 && currencyIn(g.t.names[col]) == "" {
			g.cols[col] = columnGuess{Column: Column{Field: Count}, confidence: 0.5, why: "whole numbers, and no other column of counts"}
			delete(taken, Total)
			taken[Count] = true
		}
	}
	if !taken[Price] || !taken[Count] || taken[Total] {
		return
	}
	for col := range g.cols {
		if g.cols[col].Field != Ignore || g.cols[col].remembered {
			continue
		}
		price := g.column(Price)
		switch {
		case g.product(g.column(Count), price, col):
			g.cols[col] = columnGuess{Column: Column{Field: Total}, confidence: 0.6, why: "price times count"}
			return
		case !g.cols[price].remembered && g.cols[price].confidence < 0.5 && g.product(g.column(Count), col, price):
			g.cols[price] = columnGuess{Column: Column{Field: Total}, confidence: 0.6, why: "price times count"}
			g.cols[col] = columnGuess{Column: Column{Field: Price}, confidence: 0.6, why: "total divided by count"}
			return
		}
	}
}

// product says whether a times b makes c in at least four of five rows.
func (g guessed) product(a, b, c int) bool {
	if a == c || b == c {
		return false
	}
	tried, hit := 0, 0
	body := g.t.body()
	for _, r := range body[:min(len(body), sampleRows)] {
		x, _, p1 := readMoney(r.at(a), ".")
		y, _, p2 := readMoney(r.at(b), ".")
		z, _, p3 := readMoney(r.at(c), ".")
		if p1+p2+p3 != "" || z.Sign() == 0 {
			continue
		}
		tried++
		off := new(big.Rat).Sub(new(big.Rat).Mul(x, y), z)
		if off.Abs(off).Cmp(big.NewRat(1, 50)) <= 0 {
			hit++
		}
	}
	return tried >= 2 && hit*5 >= tried*4
}

func (g guessed) rename(from, to Field, why string) {
	if col := g.column(from); col >= 0 {
		g.cols[col].Field, g.cols[col].why = to, why
	}
}

// column returns the column of a field, -1 when no column has it.
func (g guessed) column(f Field) int {
	return slices.IndexFunc(g.cols, func(c columnGuess) bool { return c.Field == f })
}

func (g guessed) confidence(f Field) float64 {
	if col := g.column(f); col >= 0 {
		return g.cols[col].confidence
	}
	return 0
}

var perNumber = regexp.MustCompile(`(?i)(?:/|\bper|\bpro|\bje|\bpar|\bpor|\bza|每)\s*(\d{1,4})(?:\D|$)`)

// details reads from a name what a price is for and in which currency, and
// from the cells whether an empty one repeats the one above.
func (g guessed) details(col int) {
	c := &g.cols[col]
	name := g.t.names[col]
	if c.Field.money() {
		if code := currencyIn(name); code != "" && !ambiguous(code) {
			c.Currency = code
		}
	}
	if c.Field == Price {
		if m := perNumber.FindStringSubmatch(name); m != nil {
			if n, _ := strconv.Atoi(m[1]); n > 1 {
				c.Per = n
			}
		}
	}
	if c.Field == Box {
		c.Down = g.namedOnce(col)
	}
}

// namedOnce says whether a column names each box on its first row only: the
// first row has one, some rows are empty, no box comes twice.
func (g guessed) namedOnce(col int) bool {
	seen := map[string]bool{}
	empty := 0
	for _, r := range g.t.body() {
		cell := r.at(col)
		switch {
		case len(r.filled()) < 2 || g.total(r):
			continue
		case cell.blank() && len(seen) == 0, seen[cell.Text], cell.MergedFrom != "":
			return false
		case cell.blank():
			empty++
		default:
			seen[cell.Text] = true
		}
	}
	return empty > 0 && len(seen) > 0
}

func (g guessed) total(r Row) bool {
	return slices.ContainsFunc(r.filled(), func(c int) bool { return isTotal(r.at(c).Text) })
}

// mapping turns the guess into what can be kept.
func (g guessed) mapping() Mapping {
	m := Mapping{Version: MappingVersion, Columns: map[string]Column{}, Currency: titleCurrency(g.t)}
	keys := g.t.keys()
	var numeric []int
	for col, c := range g.cols {
		m.Columns[keys[col]] = c.Column
		if c.Field.money() {
			numeric = append(numeric, col)
		}
	}
	m.Decimal = decimalMark(g.t.body(), numeric)
	return m
}

// titleCurrency finds the one currency that the rows above the header name.
func titleCurrency(t *Table) string {
	if t.HeaderRow == 0 {
		return ""
	}
	found := ""
	for _, r := range t.Rows {
		if r.Number >= t.HeaderRow {
			break
		}
		for _, c := range r.Cells {
			for _, word := range currencyWords(c.Text) {
				code := currencyToken(word)
				if code == "" || ambiguous(code) || strings.ToLower(word) == word && len(word) > 1 && code != "EUR" {
					continue
				}
				if found != "" && found != code {
					return ""
				}
				found = code
			}
		}
	}
	return found
}
