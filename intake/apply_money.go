package intake

import (
	"cmp"
	"fmt"
	"math/big"
	"strings"

	"holdfast/money"
)

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
