package intake

import (
	"fmt"
	"slices"
	"strings"
)

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
