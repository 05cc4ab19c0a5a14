package intake

import (
	"cmp"
	"fmt"
	"math/big"
	"slices"
	"strings"

	"holdfast/money"
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

// longestText is how many characters a text of a line may have: what the
// journal takes.
var longestText = map[Field]int{Strain: 80, Species: 80, Box: 40, Bag: 40, Size: 80, Sex: 40, Notes: MaxCell}

// text joins the cells of a field; only notes may have several, and only they
// keep their line breaks.
func (a *applier) text(r Row, f Field) string {
	var parts []string
	for _, col := range a.cols[f] {
		c := a.at(r, col)
		if c.blank() {
			continue
		}
		if f != Notes {
			c.Text = strings.Join(strings.Fields(c.Text), " ")
		}
		parts = append(parts, c.Text)
	}
	s := strings.Join(parts, "; ")
	if n := len([]rune(s)); n > longestText[f] {
		a.problem(a.cols[f][0], r.Number, f, fmt.Sprintf("%s has %d characters", label(f), n), fmt.Sprintf("Shorten it to %d.", longestText[f]))
	}
	return s
}

// speciesIn takes a scientific name out of a strain such as "Neocaridina
// davidi 'Blue'". It recognises names by their form and common genera.
func speciesIn(strain string) string {
	f := strings.Fields(strain)
	for i := 0; i+1 < len(f); i++ {
		if slices.Contains(genera, f[i]) && strings.Trim(f[i+1], "abcdefghijklmnopqrstuvwxyz.") == "" {
			return f[i] + " " + f[i+1]
		}
	}
	return ""
}

var genera = []string{"Neocaridina", "Caridina", "Atya", "Atyopsis", "Halocaridina", "Paratya", "Palaemon", "Macrobrachium"}

// whole reads a whole number of one field; ok is false when it is missing or
// wrong, and then the problem is listed.
func (a *applier) whole(r Row, f Field, least int) (n int, ok bool) {
	col := a.cols[f][0]
	c := a.at(r, col)
	n, wrong := readCount(c, a.m.Decimal)
	hint := countHint
	if f == DOA {
		hint = "Write the number of dead animals, or leave the cell empty."
	}
	switch {
	case wrong == "" && n < least:
		wrong = "is 0"
		if f == Count || f == Bags {
			hint = "Write a whole number from 1 to 1,000,000, or delete the row."
		}
	case wrong == "is empty" && f != DOA:
		hint = "Write a whole number from 1 to 1,000,000, or delete the row; rows without a count can also be left out altogether."
	case wrong == "is a formula without a stored result":
		hint = "Open the list in your spreadsheet program and save it once, or write the number."
	case wrong == "" && c.MergedFrom != "":
		wrong, hint = "is one merged cell over several rows", "Write the number of each row into its own cell."
	}
	if wrong != "" {
		a.problem(col, r.Number, f, label(f)+" "+wrong, hint)
		return 0, false
	}
	return n, true
}

func label(f Field) string {
	switch f {
	case DOA:
		return "DOA"
	case Bags:
		return "number of bags"
	case PerBag:
		return "count in a bag"
	case PriceBag:
		return "price of a bag"
	case Total:
		return "line total"
	}
	return string(f)
}

// counts reads the number of animals and of dead ones.
func (a *applier) counts(r Row, d *draft) {
	ok := true
	product := 0
	if len(a.cols[Bags]) > 0 && len(a.cols[PerBag]) > 0 && (len(a.cols[Count]) == 0 || !a.cell(r, Bags).blank() && !a.cell(r, PerBag).blank()) {
		bags, ok1 := a.whole(r, Bags, 1)
		each, ok2 := a.whole(r, PerBag, 1)
		ok, product = ok1 && ok2, bags*each
	}
	if len(a.cols[Count]) > 0 {
		n, okCount := a.whole(r, Count, 1)
		if d.Count = n; ok && okCount && product > 0 && n != product {
			a.warn(a.cols[Count][0], r.Number, Count, fmt.Sprintf("count is %s, but bags times animals in a bag is %s", group(n), group(product)), "The count was taken; ask the supplier which is right.")
		}
		ok = ok && okCount
	} else if d.Count = product; ok && product > MaxCount {
		a.problem(a.cols[Bags][0], r.Number, Bags, "bags times animals in a bag is "+group(product)+", more than "+group(MaxCount), countHint)
		ok = false
	}
	d.countIsBad = !ok
	if len(a.cols[DOA]) == 0 || a.cell(r, DOA).blank() || a.cell(r, DOA).Text == "-" {
		return
	}
	dead, okDead := a.whole(r, DOA, 0)
	if okDead && ok && dead > d.Count {
		a.problem(a.cols[DOA][0], r.Number, DOA, fmt.Sprintf("DOA is %s, more than the %s animals sent", group(dead), group(d.Count)), "Write how many of the animals sent were dead.")
	}
	d.DOA = dead
}

// amount reads one amount of money; nil when there is none or it is wrong.
func (a *applier) amount(r Row, f Field, d *draft) *big.Rat {
	if len(a.cols[f]) == 0 {
		return nil
	}
	col := a.cols[f][0]
	c := a.at(r, col)
	if c.blank() || strings.Trim(c.Text, "-–—") == "" {
		return nil
	}
	x, said, wrong := readMoney(c, a.m.Decimal)
	hint := moneyHint
	if strings.Contains(wrong, "could be") {
		if a.wholeUnits(r, col) { // such currencies have no decimals: the mark groups
			x, said, wrong = readMoney(Cell{Text: withoutMarks(c.Text), Kind: Text, Currency: c.Currency}, "")
		} else if a.unclear++; a.unclear > 1 { // one choice settles them all
			d.moneyCol, d.noCurrency, d.bad = max(d.moneyCol, col), true, true
			return nil
		}
	}
	switch {
	case strings.Contains(wrong, "could be"):
		hint = "Say in the mapping whether point or comma is the list's decimal mark."
	case strings.HasPrefix(wrong, "is a formula without"):
		hint = "Open the list in your spreadsheet program and save it once, or write the amount."
	case strings.HasPrefix(wrong, "is negative"):
		hint = "Write an amount of 0 or more; enter a rebate as a cost of the consignment."
	case wrong == "" && f != Price && c.MergedFrom != "":
		wrong, hint = "is one merged cell over several rows", "Write the amount of each row into its own cell."
	case wrong == "" && x.Cmp(big.NewRat(MaxMinor, 1)) > 0:
		wrong, hint = "is "+quote(c.Text), "Write an amount below 10,000,000,000,000."
	}
	if wrong != "" {
		a.problem(col, r.Number, f, label(f)+" "+wrong, hint)
		return nil
	}
	if d.moneyCol < 0 {
		d.moneyCol = col
	}
	if said == "" {
		said = a.columns[col].Currency
	}
	a.says(d, col, f, said)
	return x
}

// wholeUnits says whether the amounts of a column are in a currency without
// decimals, such as yen.
func (a *applier) wholeUnits(r Row, col int) bool {
	c := r.at(col)
	code := cmp.Or(currencyIn(c.Text), c.Currency, a.columns[col].Currency, exactCurrency(a.cell(r, Currency).Text))
	for _, other := range a.columns {
		code = cmp.Or(code, other.Currency)
	}
	code = cmp.Or(code, a.m.Currency)
	e, ok := money.Exponent(code)
	return ok && e == 0
}

func withoutMarks(s string) string { return strings.NewReplacer(",", "", ".", "").Replace(s) }

// says notes a currency that the line names and objects to a second one.
func (a *applier) says(d *draft, col int, f Field, said string) {
	switch {
	case said == "" || said == d.said:
	case d.said == "", allows(d.said, said):
		d.said = said
	case !allows(said, d.said):
		a.problem(col, d.Row, f, "the line names two currencies, "+spoken(d.said)+" and "+spoken(said), "Write one currency.")
	}
}

// amounts reads price and total in whatever form the list has them.
func (a *applier) amounts(r Row, d *draft) {
	if c := a.cell(r, Currency); !c.blank() {
		code := exactCurrency(c.Text)
		if code == "" {
			a.problem(a.cols[Currency][0], r.Number, Currency, "currency is "+quote(c.Text), "Write its three letters, such as EUR.")
			d.noCurrency = true
		}
		a.says(d, a.cols[Currency][0], Currency, code)
	}
	d.price = a.amount(r, Price, d)
	if per := a.per(); d.price != nil && per > 1 {
		d.price = new(big.Rat).Quo(d.price, big.NewRat(int64(per), 1))
	}
	bag := a.amount(r, PriceBag, d)
	d.total = a.amount(r, Total, d)
	if bag == nil || d.countIsBad || d.total != nil {
		return
	}
	if len(a.cols[Bags]) > 0 {
		if n, wrong := readCount(a.cell(r, Bags), a.m.Decimal); wrong == "" {
			d.total = new(big.Rat).Mul(bag, big.NewRat(int64(n), 1))
			return
		}
	}
	if len(a.cols[PerBag]) > 0 {
		if n, wrong := readCount(a.cell(r, PerBag), a.m.Decimal); wrong == "" && n > 0 && d.price == nil {
			d.price = new(big.Rat).Quo(bag, big.NewRat(int64(n), 1))
			return
		}
	}
	a.problem(d.moneyCol, r.Number, PriceBag, "the price is for a bag, but the row does not say how many bags or animals in one", "Write the number of bags.")
}

func (a *applier) per() int {
	if len(a.cols[Price]) == 0 {
		return 1
	}
	return max(1, a.columns[a.cols[Price][0]].Per)
}

// currencies settles the currency of every amount and writes it in minor
// units.
func (a *applier) currencies() {
	asked := map[string]bool{}
	for i := range a.drafts {
		d := &a.drafts[i]
		if d.moneyCol < 0 || d.noCurrency {
			continue
		}
		code := d.said
		switch {
		case code == "":
			code = a.m.Currency
		case ambiguous(code) && allows(code, a.m.Currency):
			code = a.m.Currency
		}
		switch {
		case code == "" && !asked[""]:
			a.problem(d.moneyCol, d.Row, Currency, "the price names no currency", "Choose the currency of the list.")
			asked[""] = true
		case ambiguous(code) && !asked[code]:
			a.problem(d.moneyCol, d.Row, Currency, "the sign beside the price can mean "+spoken(code), "Choose the currency of the list.")
			asked[code] = true
		}
		if code == "" || ambiguous(code) {
			continue
		}
		if a.res.Currency == "" {
			a.res.Currency = code
		}
		if code != a.res.Currency {
			a.problem(d.moneyCol, d.Row, Currency, "the price is in "+code+", others in "+a.res.Currency, "Enter each currency as a consignment of its own, or convert the prices.")
			continue
		}
		d.Currency = code
		if !d.bad {
			a.minor(d)
		}
	}
}

// spoken lists the codes of an ambiguous sign.
func spoken(code string) string {
	codes := strings.Split(code, "|")
	if len(codes) == 1 {
		return code
	}
	return strings.Join(codes[:len(codes)-1], ", ") + " or " + codes[len(codes)-1]
}

// minor writes the amounts of a line in minor units and compares the two ways
// to its total.
func (a *applier) minor(d *draft) {
	n := big.NewRat(int64(d.Count), 1)
	price, total := d.price, d.total
	if price == nil && total == nil {
		return
	}
	if price == nil {
		price = new(big.Rat).Quo(total, n)
	}
	product := new(big.Rat).Mul(price, n)
	if total == nil {
		total = product
	}
	var err, err2 error
	var exact bool
	d.PriceMinor, d.PriceExact, err = money.Round(price, d.Currency)
	d.TotalMinor, exact, err2 = money.Round(total, d.Currency)
	if err != nil || err2 != nil || d.PriceMinor > MaxMinor || d.TotalMinor > MaxMinor {
		a.problem(d.moneyCol, d.Row, Price, "the amount is too large", moneyHint)
		return
	}
	d.Priced = true
	each, _ := money.Decimal(d.PriceMinor, d.Currency)
	sum, _ := money.Decimal(d.TotalMinor, d.Currency)
	switch {
	case d.price != nil && d.total != nil && apart(product, total, d.Count, d.Currency):
		a.warn(a.cols[Total][0], d.Row, Total, fmt.Sprintf("line total is %s, but price times count is %s", sum, product.FloatString(2)), "The list's total was taken; ask the supplier which is right.")
	case d.price != nil && !d.PriceExact:
		if a.finer++; a.finer == 1 {
			a.first = place(d.moneyCol, d.Row, Price, "price is finer than "+d.Currency+" goes; shown as "+each, "Nothing to do: line totals are computed from the price as written.")
		}
	case d.total != nil && !exact:
		a.warn(d.moneyCol, d.Row, Total, "line total is finer than "+d.Currency+" goes; rounded to "+sum, "Check it against the invoice.")
	}
}

// apart says whether two totals differ by more than one minor unit and by more
// than a price shown to the minor unit can explain: half a unit per animal.
func apart(a, b *big.Rat, count int, currency string) bool {
	e, _ := money.Exponent(currency)
	unit := new(big.Rat).SetFrac(big.NewInt(1), new(big.Int).Exp(big.NewInt(10), big.NewInt(int64(e)), nil))
	allowed := new(big.Rat).Mul(unit, big.NewRat(int64(max(count, 2)), 2))
	off := new(big.Rat).Sub(a, b)
	return off.Abs(off).Cmp(allowed) > 0
}

// checkTotal compares a row of sums with the lines since the last one and with
// all lines.
func (a *applier) checkTotal(r Row) {
	if len(a.cols[Count]) == 0 {
		return
	}
	n, wrong := readCount(a.cell(r, Count), a.m.Decimal)
	all, part := 0, 0
	for i, d := range a.drafts {
		if d.countIsBad {
			return
		}
		all += d.Count
		if i >= a.since {
			part += d.Count
		}
	}
	a.since = len(a.drafts)
	if wrong == "" && n != all && n != part {
		a.warn(a.cols[Count][0], r.Number, Count, fmt.Sprintf("the list's total is %s animals, but its rows come to %s", group(n), group(all)), "Check whether a row is missing, and ask the supplier.")
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
