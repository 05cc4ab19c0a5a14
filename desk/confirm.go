package desk

import (
	"context"
	"fmt"
	"slices"

	"holdfast"
	"holdfast/reference"
	"holdfast/science/signs"
)

// Confirm keeps a confirmed case, so that its signs count from now on. When the
// truth is a disease that the law wants to hear of, or one that kills without a
// cure, the lot it was found in is held as suspected in the same breath.
func (d *Desk) Confirm(ctx context.Context, by Actor, lot string, p holdfast.CaseConfirmed) (holdfast.ID, error) {
	book, err := d.Book(ctx)
	if err != nil {
		return "", err
	}
	if err := book.Before.CheckCase(signs.Case{Truth: p.Truth, Answers: p.Signs, Proof: signs.Proof(p.Proof)}); err != nil {
		return "", err
	}
	notes := []note{{lot: lot, payload: &p}}
	if lot != "" {
		l, err := d.Lot(ctx, lot)
		if err != nil {
			return "", err
		}
		if c, ok := book.Reference.Condition(p.Truth); ok && c.IsCondition() && (c.NotifiableSuspect || c.KillsNoCure) && !slices.Contains(l.Suspects, p.Truth) {
			n, err := d.suspicion(ctx, lot, p.Truth, fmt.Sprintf("%s, confirmed by %s.", c.Name, proofWords[p.Proof]))
			if err != nil {
				return "", err
			}
			notes = append(notes, n)
		}
	}
	return d.writeFirst(ctx, by, notes...)
}

var proofWords = map[string]string{
	holdfast.ProofLaboratory: "a laboratory", holdfast.ProofMicroscope: "the microscope", holdfast.ProofResponse: "the response to treatment",
}

// Signs returns the setting answers that are known of a lot before anybody
// looks: the animal, and where it grew up as the seller says. A word that
// favours the seller and that nothing stands behind counts half: it is taken as
// "indoors or outdoors".
func (v *LotView) Signs() signs.Answers {
	a := signs.Answers{}
	if g := animalOf[groupOf(v.Lot.Species)]; g != "" {
		a["animal"] = []string{g}
	}
	if o := declaredOrigin(v.Consignment, v.Lot); len(o) > 0 {
		a["origin"] = o
	}
	return a
}

// animalOf maps groups of the reference to answers of the question "animal".
var animalOf = map[string]string{
	"neocaridina": "neocaridina", "caridina": "caridina", "sulawesi": "sulawesi", "amano": "amano",
	"filter_shrimp": "filter_shrimp", "prawn": "prawn", "crayfish": "crayfish",
}

// groupOf is the group of a species or group id.
func groupOf(id string) string {
	if k, ok := reference.Builtin().Kept(id); ok {
		return k.Group
	}
	return id
}
