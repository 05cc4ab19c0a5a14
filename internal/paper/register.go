package paper

import (
	"fmt"
	"time"
)

// Register is what a keeper of aquatic animals is commonly obliged to write
// down: animals in and out with their places and papers, deaths by unit,
// treatments, tests, visits and measures against disease. Its contents follow
// Regulation (EU) 2016/429, Article 186(1), and, for quarantine, Delegated
// Regulation (EU) 2020/691, Article 30; what holds elsewhere differs.
type Register struct {
	Site     string // name of the establishment
	Number   string // its registration or approval number
	Keeper   string // who answers for the register
	From, To time.Time
	Written  time.Time

	Movements  []Movement
	Deaths     []Death
	Treatments []Treatment
	Tests      []Test
	Visits     []Visit
	Measures   []Measure
}

// Movement is animals coming in or going out.
type Movement struct {
	When        time.Time
	In          bool
	Lot         string
	Species     string
	Strain      string
	Category    string // such as "ornamental crustaceans"
	Count       int64
	Unit        string // the tank or water system they went into or left
	Place       string // where from or where to
	PlaceNumber string // registration or approval number of that place
	Transporter string
	Certificate string // number of the health certificate or other paper
	Invoice     string // number of the invoice or delivery note
	Border      string // border post and reference of the notice given there
	Note        string
}

// Death is dead animals found on one day in one unit.
type Death struct {
	When     time.Time
	Unit     string
	Lot      string
	Species  string
	Count    int64
	OnHand   int64   // alive in the lot before, 0 when unknown
	Share    float64 // of those, 0 to 1; NaN when unknown
	Signs    string  // what was seen
	Disposal string
}

// Treatment is a medicine or bath given.
type Treatment struct {
	When         time.Time
	Unit         string
	Lot          string
	Species      string
	Animals      int64
	Active       string // active ingredient
	Batch        string
	Amount       string // weighed out, with its unit
	Strength     string // in the water, with its unit
	Reason       string
	GivenBy      string
	Prescription string // number of the prescription and who wrote it
	Held         string // whether the conditions of the treatment held
	Disposal     string // of water and remains
	Note         string
}

// Test is an inspection or laboratory test.
type Test struct {
	When      time.Time
	Unit      string
	Lot       string
	Condition string // looked for
	Method    string
	LookedAt  int64
	Positive  int64
	By        string
	Result    string
}

// Visit is an animal-health visit.
type Visit struct {
	When         time.Time
	Who          string // who came
	Role         string // veterinarian, authority, laboratory or other
	Reason       string
	Lots         string // what it was about
	Result       string
	Instructions string
	Samples      string // what was taken
	Laboratory   string // what came back
	By           string // who wrote it down
}

// Measure is one of biosecurity: disinfection, drying, quarantine, a hold.
type Measure struct {
	When time.Time
	Unit string
	What string
	By   string
}

// RegisterSheets turns the register into the sheets of a workbook, the first
// of which says what it is. Rows keep the order in which they are given.
func RegisterSheets(r Register) []Sheet {
	return []Sheet{
		r.about(), r.movements(true), r.movements(false), r.deaths(), r.treatments(), r.tests(), r.visits(), r.measures(),
	}
}

func (r Register) about() Sheet {
	day := func(t time.Time) string {
		if t.IsZero() {
			return ""
		}
		return t.Format(time.DateOnly)
	}
	row := func(k, v string) []Cell { return []Cell{T(k), T(v)} }
	return Sheet{Name: "About", Columns: texts("What", "Value"), Rows: Rows([][]Cell{
		row("Establishment", r.Site),
		row("Registration or approval number", r.Number),
		row("Kept by", r.Keeper),
		row("From", day(r.From)),
		row("To", day(r.To)),
		row("Written", day(r.Written)),
		row("Rows", fmt.Sprintf("%d movements, %d deaths, %d treatments, %d tests, %d visits, %d measures", len(r.Movements), len(r.Deaths), len(r.Treatments), len(r.Tests), len(r.Visits), len(r.Measures))),
		row("What this is", "An extract of the journal of the establishment. It is an aid, not an official form or a certificate."),
		row("Check locally", "What must be recorded, in which form and for how long differs by country; ask the authority. In the European Union at least three years is usual."),
		row("Medicines", "Treated animals are not for human consumption."),
		row("Reading it", "A text that would look like a formula has an apostrophe before it."),
	})}
}

func texts(titles ...string) []Column {
	cols := make([]Column, len(titles))
	for i, t := range titles {
		cols[i] = Column{Title: t}
	}
	return cols
}

// columns makes columns from pairs of title and kind.
func columns(pairs ...any) []Column {
	cols := make([]Column, 0, len(pairs)/2)
	for i := 0; i+1 < len(pairs); i += 2 {
		cols = append(cols, Column{Title: pairs[i].(string), Kind: pairs[i+1].(Kind)})
	}
	return cols
}

func table[R any](name string, cols []Column, rows []R, cells func(R) []Cell) Sheet {
	return Sheet{Name: name, Columns: cols, Rows: func(yield func([]Cell, error) bool) {
		for _, r := range rows {
			if !yield(cells(r), nil) {
				return
			}
		}
	}}
}

func (r Register) movements(in bool) Sheet {
	name, place, unit := "Movements out", "To", "Left unit"
	if in {
		name, place, unit = "Movements in", "From", "Into unit"
	}
	var rows []Movement
	for _, m := range r.Movements {
		if m.In == in {
			rows = append(rows, m)
		}
	}
	cols := columns("Date", Date, "Lot", Text, "Species", Text, "Strain", Text, "Category", Text, "Animals", Count, unit, Text,
		place, Text, place+": number", Text, "Transporter", Text, "Certificate", Text, "Invoice", Text, "Border post and notice", Text, "Note", Text)
	return table(name, cols, rows, func(m Movement) []Cell {
		return []Cell{D(m.When), T(m.Lot), T(m.Species), T(m.Strain), T(m.Category), N(m.Count), T(m.Unit), T(m.Place), T(m.PlaceNumber), T(m.Transporter), T(m.Certificate), T(m.Invoice), T(m.Border), T(m.Note)}
	})
}

func (r Register) deaths() Sheet {
	cols := columns("Date", Date, "Unit", Text, "Lot", Text, "Species", Text, "Dead", Count, "Alive before", Count, "Share", Share, "Signs", Text, "Disposal", Text)
	return table("Deaths", cols, r.Deaths, func(d Death) []Cell {
		alive := N(d.OnHand)
		if d.OnHand == 0 {
			alive = Cell{}
		}
		return []Cell{D(d.When), T(d.Unit), T(d.Lot), T(d.Species), N(d.Count), alive, S(d.Share), T(d.Signs), T(d.Disposal)}
	})
}

func (r Register) treatments() Sheet {
	cols := columns("Date", Date, "Unit", Text, "Lot", Text, "Species", Text, "Animals", Count, "Active ingredient", Text, "Batch", Text, "Amount", Text, "Strength", Text,
		"Reason", Text, "Given by", Text, "Prescription", Text, "Conditions held", Text, "Disposal", Text, "Note", Text)
	return table("Treatments", cols, r.Treatments, func(t Treatment) []Cell {
		return []Cell{D(t.When), T(t.Unit), T(t.Lot), T(t.Species), N(t.Animals), T(t.Active), T(t.Batch), T(t.Amount), T(t.Strength), T(t.Reason), T(t.GivenBy), T(t.Prescription), T(t.Held), T(t.Disposal), T(t.Note)}
	})
}

func (r Register) tests() Sheet {
	cols := columns("Date", Date, "Unit", Text, "Lot", Text, "Looked for", Text, "Method", Text, "Animals looked at", Count, "Positive", Count, "By", Text, "Result", Text)
	return table("Tests", cols, r.Tests, func(t Test) []Cell {
		return []Cell{D(t.When), T(t.Unit), T(t.Lot), T(t.Condition), T(t.Method), N(t.LookedAt), N(t.Positive), T(t.By), T(t.Result)}
	})
}

func (r Register) visits() Sheet {
	cols := columns("Date", Date, "Who", Text, "As", Text, "Reason", Text, "Lots", Text, "Result", Text, "Instructions", Text, "Samples taken", Text, "Laboratory result", Text, "Written by", Text)
	return table("Visits", cols, r.Visits, func(v Visit) []Cell {
		return []Cell{D(v.When), T(v.Who), T(v.Role), T(v.Reason), T(v.Lots), T(v.Result), T(v.Instructions), T(v.Samples), T(v.Laboratory), T(v.By)}
	})
}

func (r Register) measures() Sheet {
	cols := columns("Date", Date, "Unit", Text, "What was done", Text, "By", Text)
	return table("Biosecurity", cols, r.Measures, func(m Measure) []Cell { return []Cell{D(m.When), T(m.Unit), T(m.What), T(m.By)} })
}
