package web

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"holdfast"
	"holdfast/desk"
	"holdfast/internal/web/page"
	"holdfast/internal/web/view"
	"holdfast/internal/web/words"
	known "holdfast/reference"
)

// act is one form of a lot's pages, with what was typed before if it was sent
// and not taken.
func (s *Server) act(lot, what, summary, button string, t tried, parts ...page.Part) (page.Act, error) {
	id, err := s.Desk.NewID()
	if err != nil {
		return page.Act{}, err
	}
	a := page.Act{Form: view.Form{Action: lotURL(lot) + "/" + what, ID: what, Entry: string(id), Guard: true}, Summary: summary, Button: button, Parts: parts}
	if t.what != what {
		for i := range a.Parts {
			a.Parts[i].ID = what + "-" + a.Parts[i].Name
		}
		return a, nil
	}
	a.Open, a.Refused = true, t.refused
	for i := range a.Parts {
		p := &a.Parts[i]
		p.ID = what + "-" + p.Name
		p.Value, p.Err = t.form.Typed(p.Name), t.form.Err(p.Name)
		if p.As == page.AsTicks {
			p.Chosen = map[string]bool{}
			for _, v := range t.values[p.Name] {
				p.Chosen[v] = true
			}
		}
	}
	for _, q := range t.form.Faults() {
		if !slices.ContainsFunc(a.Parts, func(p page.Part) bool { return p.Name == q.Field && p.As != page.AsHidden }) {
			a.Refused = joined(a.Refused, joined(q.Message, q.Hint))
		}
	}
	return a, nil
}

func numberPart(name, label, unit, hint string) page.Part {
	return page.Part{As: page.AsNumber, Field: view.Field{Name: name, Label: label, Unit: unit, Hint: hint}}
}

func textPart(name, label, hint string, longest int) page.Part {
	return page.Part{As: page.AsText, Field: view.Field{Name: name, Label: label, Hint: hint, Max: longest, Wide: true}}
}

func areaPart(name, label, hint string, longest int) page.Part {
	return page.Part{As: page.AsArea, Field: view.Field{Name: name, Label: label, Hint: hint, Max: longest, Wide: true}}
}

func selectPart(name, label, hint string, options ...view.Option) page.Part {
	return page.Part{As: page.AsSelect, Field: view.Field{Name: name, Label: label, Hint: hint, Half: true}, Options: options}
}

// whenPart asks when it happened; empty is now.
func whenPart() page.Part {
	return page.Part{As: page.AsWhen, Field: view.Field{Name: "at", Label: "When, if not just now", Half: true}}
}

// tankPart asks which of the lot's tanks, hidden where there is no choice.
func tankPart(l *holdfast.Lot, name, label string) page.Part {
	ids := l.TankIDs()
	if len(ids) < 2 {
		p := page.Part{As: page.AsHidden, Field: view.Field{Name: name}}
		if len(ids) == 1 {
			p.Value = ids[0]
		}
		return p
	}
	p := selectPart(name, label, "")
	for _, id := range ids {
		p.Options = append(p.Options, view.Option{Value: id, Label: "Tank " + id})
	}
	return p
}

// forms fills in everything that can be entered on the lot's page.
func (b *lotBuild) forms(ctx context.Context, l *page.Lot, gate []desk.GateItem) error {
	if err := b.gateForms(l, gate); err != nil {
		return err
	}
	if err := b.decide(ctx, l); err != nil {
		return err
	}
	return b.happened(ctx, l)
}

// gateForms are what can be done at the gate as it stands.
func (b *lotBuild) gateForms(l *page.Lot, gate []desk.GateItem) error {
	lot := b.v.Lot
	switch lot.Status {
	case holdfast.Released:
		l.ReleasedSay = fmt.Sprintf("Released on %s by %s.", words.FullDay(lot.Released.OccurredAt.In(b.zone)), lot.Released.Who)
		if lot.Released.Payload.(*holdfast.Release).Override != "" {
			l.ReleasedSay += " Below the line, with a signed reason."
		}
		return nil
	case holdfast.Closed:
		l.ReleasedSay = "The lot is closed."
		return nil
	}
	unmet := desk.Unmet(gate)
	if len(unmet) == 0 {
		a, err := b.s.act(lot.ID, "release", "", "Release for sale", b.tried, areaPart("note", "Note, if any", "", 2000))
		a.Weight = view.Main
		a.Lead = "Every condition is met. Your name and today’s figures stay on the lot for good."
		l.Release = &a
		return err
	}
	for _, g := range unmet {
		if g.Absolute {
			l.Shut, l.ShutMark = "Shut. No signature opens it", view.Stop
			return nil
		}
	}
	l.Shut, l.ShutMark = fmt.Sprintf("Held. Opens when %s met", words.Plural(len(unmet), "is", "are")), view.Held
	a, err := b.s.act(lot.ID, "release", "Release below the line", "Sign and release below the line", b.tried,
		areaPart("override", "Why it may go all the same", "At least ten letters. It stays on the lot and on the buyer’s record for good.", 2000),
		areaPart("note", "Note, if any", "", 2000))
	a.Weight = view.Marked
	a.Lead = "What is not met stays written beside your name."
	l.Override = &a
	return err
}

// decide are the other ways out, holding and lifting.
func (b *lotBuild) decide(ctx context.Context, l *page.Lot) error {
	lot := b.v.Lot
	if lot.Status == holdfast.Closed {
		return nil
	}
	standstill := false
	for _, g := range b.v.Gate(b.zone) {
		standstill = standstill || (g.Absolute && !g.Met)
	}
	ways := page.Part{As: page.AsChoose, Field: view.Field{Name: "way", Label: "What is decided", Wide: true}}
	for _, w := range desk.ExitWays(standstill) {
		ways.Options = append(ways.Options, view.Option{Value: w.Way, Label: w.Name, Below: w.Says})
	}
	exit, err := b.s.act(lot.ID, "exit", "Another way out", "Write the decision down", b.tried, ways,
		areaPart("reason", "Why", "", 2000),
		areaPart("disclosed", "What the buyer is told in writing", "Only to sell disclosed: what was found and what was done. It stands on the buyer’s record.", 2000),
		numberPart("count", "How many", "", "Empty for the whole lot"))
	if err != nil {
		return err
	}
	suspect := selectPart("suspect", "Suspected", "What must be reported, or has no cure", view.Option{Label: "Nothing of that kind"})
	suspect.Wide = true
	for _, c := range stopping() {
		suspect.Options = append(suspect.Options, view.Option{Value: c.ID, Label: c.Name})
	}
	hold, err := b.s.act(lot.ID, "hold", "Hold it, or suspect something", "Hold it", b.tried, areaPart("reason", "Why", "", 2000), suspect)
	hold.Weight = view.Marked
	hold.Lead = "While something is suspected nothing is sold, moved or poured away. Call the authority or an aquatic veterinarian; your local law says what must be reported. A suspicion also holds every lot that these animals came from or went into; if it must be reported, whatever stands in one tank with them too."
	if err != nil {
		return err
	}
	l.Decide = append(l.Decide, exit, hold)
	if options := liftable(lot); len(options) > 0 {
		parts := []page.Part{selectPart("suspect", "No longer suspected", "", options...)}
		var with []string
		for _, o := range options {
			held, err := b.s.Desk.HeldWith(ctx, lot.ID, o.Value)
			if err != nil {
				return err
			}
			with = append(with, held...)
		}
		if slices.Sort(with); len(with) > 0 {
			parts = append(parts, selectPart("also", "For which lots", "Held with it: "+strings.Join(slices.Compact(with), ", "),
				view.Option{Label: "This lot alone"}, view.Option{Value: "yes", Label: "All that are held with it for the same"}))
		}
		lift, err := b.s.act(lot.ID, "lift", "Lift a suspicion", "Lift it", b.tried, append(parts,
			areaPart("reason", "What the authority, the laboratory or the veterinarian said", "Who said it, when, and how it was shown.", 2000))...)
		if err != nil {
			return err
		}
		l.Decide = append(l.Decide, lift)
	}
	return nil
}

// liftable are the suspicions that stand, and signs of what stops everything.
func liftable(l *holdfast.Lot) []view.Option {
	var out []view.Option
	for _, c := range stopping() {
		if _, seen := l.LastSign[c.ID]; seen || slices.Contains(l.Suspects, c.ID) {
			out = append(out, view.Option{Value: c.ID, Label: c.Name})
		}
	}
	return out
}

// happened are the folds that write down what happened to the animals.
func (b *lotBuild) happened(ctx context.Context, l *page.Lot) error {
	lot := b.v.Lot
	tank := func() page.Part { return tankPart(lot, "tank", "In which tank") }
	note := func() page.Part { return textPart("note", "Note, if any", "", 2000) }
	many := func(label string) page.Part { return numberPart("count", label, "", "") }
	var err error
	add := func(what, summary, button string, parts ...page.Part) {
		var a page.Act
		if err == nil {
			a, err = b.s.act(lot.ID, what, summary, button, b.tried, parts...)
			l.Happened = append(l.Happened, a)
		}
	}
	noun := "Write it down"
	if lot.Status != holdfast.Closed {
		add("dead", "Dead", noun, numberPart("count", "Found dead", "", "0 if you looked and found none"), tank(), textPart("cause", "Cause, if known", "", 2000), whenPart())
	}
	add("count", "Count", noun, many("Alive"), numberPart("plus_minus", "Give or take", "", "How far off it may be"), note(), whenPart())
	if lot.Status != holdfast.Closed {
		add("gone", "Gone without a body", noun, many("Missing"), tank(), note(), whenPart())
		add("births", "Young", noun, many("Young seen"), tank(), note(), whenPart())
		add("removal", "Taken out", noun, many("Taken out alive"), tank(), textPart("reason", "Why", "", 2000),
			selectPart("positive", "Which ones", "", view.Option{Label: "Any"}, view.Option{Value: "yes", Label: "Those with signs"}), whenPart())
		others, e := b.others(ctx)
		if e != nil {
			return e
		}
		free, e := b.s.tankOptions(ctx)
		if e != nil {
			return e
		}
		free[0].Label = "Choose a tank"
		if len(lot.Places) > 0 && len(free) > 2 {
			add("move", "Move to another tank", noun, tankPart(lot, "from", "From"), selectPart("to", "To", "", free...),
				numberPart("count", "How many", "", "Empty for all of them"),
				selectPart("hospital", "What for", "", view.Option{Label: "To live there"}, view.Option{Value: "yes", Label: "To be treated there"}),
				textPart("reason", "Why", "", 2000), whenPart())
		}
		inTanks := 0
		for _, p := range lot.Places {
			inTanks += p.Count
		}
		if inTanks < lot.Alive.N && len(free) > 1 {
			add("place", "Put into a tank", noun, selectPart("tank", "Tank", "", free...), numberPart("count", "How many", "", "Empty for all that are in none"), whenPart())
		}
		if lot.Alive.N > 1 {
			add("split", "Split off a new lot", "Split it", many("How many, drawn at random"),
				selectPart("tank", "Into tank", "", append([]view.Option{{Label: "None yet"}}, free[1:]...)...), textPart("reason", "Why", "", 2000))
		}
		if len(others) > 1 {
			add("merge", "Put among another lot", "Put them together", selectPart("into", "Into lot", "The other lot is then only as clear as both together.", others...),
				numberPart("count", "How many", "", "Empty for all"), textPart("reason", "Why", "", 2000))
		}
	}
	add("note", "Note", "Write it down", areaPart("text", "Note", "", 4000), whenPart())
	return err
}

// others are the lots these animals could be put among.
func (b *lotBuild) others(ctx context.Context) ([]view.Option, error) {
	rows, _, err := b.s.Desk.Store.Lots(ctx, desk.LotQuery{Species: b.v.Lot.Species, Sort: desk.ByStrain,
		Statuses: []holdfast.Status{holdfast.Held, holdfast.Recalled, holdfast.Disclosed, holdfast.Colony}})
	if err != nil {
		return nil, err
	}
	out := []view.Option{{Label: "Choose a lot"}} // never proposed: putting together cannot be seen apart again
	for _, r := range rows {
		if r.ID != b.v.Lot.ID {
			out = append(out, view.Option{Value: r.ID, Label: r.Strain + " " + r.ID})
		}
	}
	return out, nil
}

// medicines are the ingredients that may be thought of at all.
func medicines() []known.Medicine {
	return slices.DeleteFunc(known.Builtin().Medicines(), func(m known.Medicine) bool {
		return m.Use == known.Never || len(m.Doses) == 0
	})
}
