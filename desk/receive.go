package desk

import (
	"context"
	"fmt"
	"strings"

	"holdfast"
	"holdfast/reference"
)

// Arrival is one delivery as it is entered when the boxes are opened.
type Arrival struct {
	Supplier       string
	Origin         string
	Declaration    string
	Boxes          int
	HoursInTransit *float64
	Freight, Fees  *holdfast.Money
	Bags           []holdfast.BagReading
	// Tanks are readings of the tanks they go into, taken before they do.
	Tanks []TankReading
	File  string
	Note  string
	// Papers are what came with them, if anything.
	Papers holdfast.Papers
	Lines  []ArrivalLine
}

// TankReading is the water of a tank as it was measured.
type TankReading struct {
	Tank  string
	Water holdfast.Water
}

// ArrivalLine is one strain in the delivery.
type ArrivalLine struct {
	Strain string
	// Species is an id of the reference; empty is guessed from the strain.
	Species  string
	Box      string
	Declared int
	DOA      int
	// Counted is how many were counted alive, if anybody counted.
	Counted *int
	Price   *holdfast.Money
	// Tank is where they went; empty leaves them in the bag.
	Tank string
}

// Receive writes a delivery: the consignment, a lot for each line, its dead,
// its count and where it went; and what the supplier declared before buying, if
// it was asked. All of it is kept or nothing. It returns the
// ids of the consignment and of the lots, in the order of the lines.
func (d *Desk) Receive(ctx context.Context, by Actor, a Arrival) (string, []string, error) {
	if by.ID != "" {
		if before, err := d.Store.Entry(ctx, by.ID); err == nil {
			if p, ok := before.Payload.(*holdfast.ConsignmentReceived); ok {
				c, err := d.Consignment(ctx, p.Consignment)
				if err != nil {
					return "", nil, err
				}
				return c.ID, c.Lots, nil // the form was sent twice
			}
		}
	}
	if problems := a.check(); len(problems) > 0 {
		return "", nil, problems
	}
	zone, err := d.Zone(ctx)
	if err != nil {
		return "", nil, err
	}
	at := by.At
	if at.IsZero() {
		at = d.Now()
	}
	consignment, err := d.nextConsignment(ctx, holdfast.DayOf(holdfast.MicrosOf(at), zone))
	if err != nil {
		return "", nil, err
	}
	notes := []note{{payload: &holdfast.ConsignmentReceived{Consignment: consignment, Supplier: strings.TrimSpace(a.Supplier),
		Origin: a.Origin, Declaration: a.Declaration, Boxes: a.Boxes, HoursInTransit: a.HoursInTransit,
		Freight: a.Freight, Fees: a.Fees, Bags: a.Bags, File: a.File, Note: a.Note, Papers: given(a.Papers)}}}
	asked, err := d.askedBefore(ctx, a.Supplier, holdfast.MicrosOf(at))
	if err != nil {
		return "", nil, err
	}
	if asked != nil {
		with := *asked
		with.Consignment = consignment
		notes = append(notes, note{payload: &with})
	}
	for i, r := range a.Tanks {
		if _, err := d.Tank(ctx, r.Tank); err != nil {
			return "", nil, holdfast.Problems{{Field: fmt.Sprintf("tanks[%d].tank", i), Message: fmt.Sprintf("there is no tank %q", r.Tank), Hint: "Choose one from the list."}}
		}
		notes = append(notes, note{tank: r.Tank, payload: &holdfast.WaterMeasured{Water: r.Water, Note: "Measured when delivery " + consignment + " was received."}})
	}
	unchanged := []Standing{{holdfast.Subject{Type: holdfast.SubjectConsignment, ID: consignment}, 0}}
	var lots []string
	for i, line := range a.Lines {
		lot := consignment + letters(i)
		lots = append(lots, lot)
		unchanged = append(unchanged, Standing{holdfast.Subject{Type: holdfast.SubjectLot, ID: lot}, 0})
		notes = append(notes, line.notes(consignment, lot)...)
	}
	if _, err := d.write(ctx, by, unchanged, notes...); err != nil {
		return "", nil, err
	}
	return consignment, lots, nil
}

func (a Arrival) check() holdfast.Problems {
	var p holdfast.Problems
	add := func(field, message, hint string) {
		p = append(p, holdfast.Problem{Field: field, Message: message, Hint: hint})
	}
	if strings.TrimSpace(a.Supplier) == "" {
		add("supplier", "the supplier is missing", "Write who sent the boxes.")
	}
	if len(a.Lines) == 0 {
		add("lines", "no strain is listed", "Add at least one line, or read a packing list.")
	}
	if len(a.Lines) > 2000 {
		add("lines", fmt.Sprintf("%d lines are too many for one delivery", len(a.Lines)), "Split the list into deliveries of at most 2,000 lines.")
	}
	for i, l := range a.Lines {
		at := func(field string) string { return fmt.Sprintf("lines[%d].%s", i, field) }
		if strings.TrimSpace(l.Strain) == "" {
			add(at("strain"), "the strain is missing", "Write what the animals are sold as.")
		}
		if l.species() == "" {
			add(at("species"), fmt.Sprintf("no species is known for %q", l.Strain), "Choose the species from the list.")
		}
		if l.Declared < 1 || l.Declared > holdfast.MaxAnimals {
			add(at("declared"), fmt.Sprintf("%d is not a count of animals", l.Declared), "Write a whole number from 1 to 1,000,000.")
		}
		if l.DOA < 0 || l.DOA > l.Declared {
			add(at("doa"), fmt.Sprintf("%d dead of %d", l.DOA, l.Declared), "Write how many of them arrived dead, from 0 to all.")
		}
		if l.Counted != nil && (*l.Counted < 0 || *l.Counted > holdfast.MaxAnimals) {
			add(at("counted"), fmt.Sprintf("%d is not a count of animals", *l.Counted), "Write how many were alive, or leave it empty.")
		}
	}
	return p
}

func (l ArrivalLine) species() string {
	if l.Species != "" {
		if _, ok := reference.Builtin().Kept(l.Species); ok {
			return l.Species
		}
		return GuessSpecies(l.Species)
	}
	return GuessSpecies(l.Strain)
}

// notes returns the entries that open one lot.
func (l ArrivalLine) notes(consignment, lot string) []note {
	notes := []note{{lot: lot, payload: &holdfast.LotOpened{Declared: l.Declared, Stock: holdfast.Stock{
		Consignment: consignment, Strain: strings.TrimSpace(l.Strain), Species: l.species(), Box: l.Box, Price: l.Price}}}}
	if l.DOA > 0 {
		notes = append(notes, note{lot: lot, payload: &holdfast.DOA{Count: l.DOA}})
	}
	if l.Counted != nil {
		notes = append(notes, note{lot: lot, payload: &holdfast.Counted{Count: *l.Counted}})
	}
	if l.Tank != "" {
		notes = append(notes, note{lot: lot, tank: l.Tank, payload: &holdfast.LotPlaced{}})
	}
	return notes
}

// nextConsignment returns the next free id of the day: the date and a running
// number, as 261125-1, so that a label tells the day.
func (d *Desk) nextConsignment(ctx context.Context, day holdfast.Day) (string, error) {
	prefix := day.Date().Format("060102") + "-"
	for n := 1; n < 1000; n++ {
		id := fmt.Sprintf("%s%d", prefix, n)
		events, err := d.Store.Events(ctx, holdfast.Subject{Type: holdfast.SubjectConsignment, ID: id})
		if err != nil {
			return "", err
		}
		if len(events) == 0 {
			return id, nil
		}
	}
	return "", refused("A thousand deliveries in one day are more than this desk numbers.", "Enter the rest tomorrow.")
}

// letters numbers the lots of a consignment: a to z, then aa, ab and so on.
func letters(i int) string {
	s := ""
	for i++; i > 0; i /= 26 {
		i--
		s = string(rune('a'+i%26)) + s
	}
	return s
}

// GuessSpecies returns the id of the species that a strain's or species' name
// as sellers write it belongs to, or "" when nothing matches. The longest
// match wins, so that "tiger" does not take "tangerine tiger" from its own.
func GuessSpecies(name string) string {
	name = " " + strings.ToLower(name) + " "
	best, length := "", 0
	for _, k := range reference.Species() {
		for _, word := range guessWords(k) {
			if len(word) > length && strings.Contains(name, word) {
				best, length = k.ID, len(word)
			}
		}
	}
	return best
}

// guessWords are the words that give a species away.
func guessWords(k reference.Kept) []string {
	words := []string{strings.ToLower(k.Scientific), strings.ToLower(k.Name)}
	for _, s := range append(k.OtherNames, extraWords[k.ID]...) {
		words = append(words, strings.ToLower(s))
	}
	for _, s := range k.Strains {
		words = append(words, strings.ToLower(s.Name))
	}
	var out []string
	for _, w := range words {
		if len(w) > 2 {
			out = append(out, w)
		}
	}
	return out
}

// extraWords are names of strains in the trade that give the species away.
var extraWords = map[string][]string{
	"neocaridina_davidi":    {"neocaridina", "cherry", "sakura", "fire red", "bloody mary", "blue dream", "blue velvet", "blue jelly", "yellow neon", "golden back", "green jade", "orange sunkist", "black rose", "chocolate", "rili", "snowball", "blue diamond", "carbon rili"},
	"caridina_bee":          {"bee", "crystal", "taiwan", "king kong", "panda", "wine red", "ruby", "pinto", "pure red", "pure black", "shadow", "blue bolt", "golden bee", "snow white", "logemanni", "caridina"},
	"caridina_tiger":        {"tiger", "tangerine", "mariae"},
	"caridina_sulawesi":     {"sulawesi", "cardinal shrimp", "dennerli", "white glove"},
	"caridina_multidentata": {"amano", "multidentata", "yamato"},
	"atyopsis_moluccensis":  {"bamboo", "fan shrimp", "atyopsis"},
	"atya_gabonensis":       {"vampire", "atya gabonensis"},
	"caridina_babaulti":     {"babaulti"},
	"neocaridina_palmata":   {"palmata"},
	"palaemonid_prawn":      {"glass shrimp", "ghost shrimp", "macrobrachium", "palaemon", "prawn"},
	"dwarf_crayfish":        {"crayfish", "cambarellus"},
	"nerite":                {"nerite", "neritina", "vittina", "clithon"},
	"ramshorn":              {"ramshorn", "planorb", "bladder snail", "physa"},
	"nano_fish":             {"rasbora", "boraras", "tetra", "guppy", "endler", "corydoras", "otocinclus", "danio", "medaka"},
}
