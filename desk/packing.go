package desk

import (
	"context"
	"encoding/json"
	"fmt"
	"strings"

	"holdfast"
	"holdfast/intake"
)

// packingTopic is where the meaning of each supplier's columns is remembered.
const packingTopic = "packing_columns"

// PackingMend is what a person put right on the page instead of in the file:
// other texts for cells such as "E14", and rows left out by their number.
type PackingMend struct {
	Cells map[string]string
	Out   []int
}

// ReadPacking reads a packing list and shows what it comes to, with what was
// mended by hand. Without a mapping the one remembered for the supplier is
// used, and what is new guessed.
func (d *Desk) ReadPacking(ctx context.Context, supplier string, data []byte, opt intake.Options, m *intake.Mapping, mend PackingMend) (intake.Preview, error) {
	t, err := intake.Read(data, opt)
	if err != nil {
		return intake.Preview{}, err
	}
	for cell, text := range mend.Cells {
		if err := t.Set(cell, text); err != nil {
			return intake.Preview{}, err
		}
	}
	for _, row := range mend.Out {
		if err := t.Drop(row); err != nil {
			return intake.Preview{}, err
		}
	}
	if m != nil {
		return intake.Show(t, *m), nil
	}
	known, err := d.Store.Recall(ctx, packingTopic, supplierKey(supplier))
	if err != nil || known == nil {
		return intake.Look(t, nil), err
	}
	remembered, err := intake.ParseMapping(known)
	if err != nil {
		return intake.Look(t, nil), nil // of an older form: guess anew
	}
	return intake.Look(t, &remembered), nil
}

// RememberPacking keeps what a supplier's columns mean for the next list.
func (d *Desk) RememberPacking(ctx context.Context, supplier string, m intake.Mapping) error {
	m.Version = intake.MappingVersion
	if err := m.Check(); err != nil {
		return err
	}
	b, err := json.Marshal(m)
	if err != nil {
		return err
	}
	return d.Store.Remember(ctx, packingTopic, supplierKey(supplier), b)
}

func supplierKey(name string) string { return strings.ToLower(strings.Join(strings.Fields(name), " ")) }

// PackingLines turns the lines of a list into lines of an arrival, and lists
// those of which the species must be chosen. The species says so in the
// problem's field: "lines[i].species".
func PackingLines(lines []intake.Line) ([]ArrivalLine, holdfast.Problems) {
	var out []ArrivalLine
	var problems holdfast.Problems
	for i, l := range lines {
		a := ArrivalLine{Strain: l.Strain, Species: GuessSpecies(l.Strain + " " + l.Species), Box: l.Box, Declared: l.Count, DOA: l.DOA}
		if a.Box == "" {
			a.Box = l.Bag
		}
		if l.Priced {
			a.Price = &holdfast.Money{Minor: l.PriceMinor, Currency: l.Currency}
		}
		if a.Species == "" {
			problems = append(problems, holdfast.Problem{Field: fmt.Sprintf("lines[%d].species", i),
				Message: fmt.Sprintf("row %d: no species is known for %q", l.Row, l.Strain), Hint: "Choose the species; the desk must know what the animals can carry."})
		}
		out = append(out, a)
	}
	return out, problems
}

// longestWords is how much of a list's own words a delivery's note holds.
const longestWords = 1800

// PackingWords says what else a list tells of its lines: sizes, sexes, bags and
// remarks, which no lot has a field for. It goes into the delivery's note, so that
// nothing that was read is lost; what is too long says so.
func PackingWords(lines []intake.Line) string {
	var all []string
	for _, l := range lines {
		var words []string
		if l.Bag != "" && l.Box != "" { // else the bag stands for the box
			words = append(words, "bag "+l.Bag)
		}
		for _, w := range []string{l.Size, l.Sex, l.Notes} {
			if w = strings.Join(strings.Fields(w), " "); w != "" {
				words = append(words, w)
			}
		}
		if len(words) > 0 {
			all = append(all, l.Strain+": "+strings.Join(words, ", "))
		}
	}
	for n := len(all); n >= 0; n-- {
		say := strings.Join(all[:n], "; ")
		if n < len(all) {
			say = strings.TrimPrefix(fmt.Sprintf("%s; and of %d more lines, see the file", say, len(all)-n), "; ")
		}
		if len(say) <= longestWords {
			return say
		}
	}
	return ""
}
