package desk

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"holdfast"
)

// Place puts animals of a lot that stand in no tank into one; count 0 is all.
func (d *Desk) Place(ctx context.Context, by Actor, lot, tank string, count int) error {
	v, err := d.placing(ctx, lot, tank)
	if err != nil {
		return err
	}
	_, err = d.write(ctx, by, nil, note{v.ID, tank, &holdfast.LotPlaced{Count: count}})
	return err
}

// placing checks that the lot and the tank exist and that the tank is in use.
func (d *Desk) placing(ctx context.Context, lot, tank string) (*holdfast.Lot, error) {
	l, err := d.Lot(ctx, lot)
	if err != nil {
		return nil, err
	}
	t, err := d.Tank(ctx, tank)
	if err != nil {
		return nil, holdfast.Problems{{Field: "tank", Message: fmt.Sprintf("there is no tank %q", tank), Hint: "Choose a tank from the list, or add it in Tanks."}}
	}
	if t.Closed {
		return nil, holdfast.Problems{{Field: "tank", Message: fmt.Sprintf("tank %s is out of use", t.Name), Hint: "Choose another tank."}}
	}
	return l, nil
}

// Move moves animals of a lot between tanks; count 0 is all of those in from.
func (d *Desk) Move(ctx context.Context, by Actor, lot, from, to string, count int, hospital bool, reason string) error {
	l, err := d.placing(ctx, lot, to)
	if err != nil {
		return err
	}
	if from == to {
		return holdfast.Problems{{Field: "to", Message: "both tanks are the same", Hint: "Choose where they went."}}
	}
	if !slices.Contains(l.TankIDs(), from) {
		return holdfast.Problems{{Field: "from", Message: fmt.Sprintf("none of this lot stand in tank %q", from), Hint: "Choose one of its tanks."}}
	}
	_, err = d.write(ctx, by, nil, note{lot, to, &holdfast.LotMoved{From: from, Count: count, Hospital: hospital, Reason: reason}})
	return err
}

// Split makes a new lot of count animals, taken at random, and puts it into a
// tank if one is named. It returns the new lot's id.
func (d *Desk) Split(ctx context.Context, by Actor, lot, tank string, count int, reason string) (string, error) {
	l, err := d.Lot(ctx, lot)
	if err != nil {
		return "", err
	}
	if tank != "" {
		if _, err := d.placing(ctx, lot, tank); err != nil {
			return "", err
		}
	}
	if count < 1 || count >= max(1, l.Alive.High) {
		return "", holdfast.Problems{{Field: "count", Message: fmt.Sprintf("%d cannot be split off %s", count, animals(l.Alive.N)), Hint: "Write fewer than are in the lot."}}
	}
	id, err := d.nextLot(ctx, lot)
	if err != nil {
		return "", err
	}
	_, err = d.write(ctx, by, []Standing{{holdfast.Subject{Type: holdfast.SubjectLot, ID: id}, 0}},
		note{lot, tank, &holdfast.LotSplit{NewLot: id, Count: count, Stock: l.Stock, Suspects: suspected(l), Reason: reason}})
	return id, err
}

// nextLot returns the next free id for a part of a lot: the lot's id, a dot and
// a running number.
func (d *Desk) nextLot(ctx context.Context, lot string) (string, error) {
	base, _, _ := strings.Cut(lot, ".")
	for n := 1; n < 1000; n++ {
		id := fmt.Sprintf("%s.%d", base, n)
		events, err := d.Store.Events(ctx, holdfast.Subject{Type: holdfast.SubjectLot, ID: id})
		if err != nil {
			return "", err
		}
		if len(events) == 0 {
			return id, nil
		}
	}
	return "", refused("This lot was split a thousand times.", "Open a new lot by receiving the animals anew.")
}

// Merge puts animals of one lot among those of another. Their histories join:
// the other lot is now only as clear as both together.
func (d *Desk) Merge(ctx context.Context, by Actor, from, into string, count int, reason string) error {
	a, err := d.Lot(ctx, from)
	if err != nil {
		return err
	}
	b, err := d.Lot(ctx, into)
	if err != nil {
		return holdfast.Problems{{Field: "into", Message: fmt.Sprintf("there is no lot %q", into), Hint: "Choose a lot from the list."}}
	}
	switch {
	case from == into:
		return holdfast.Problems{{Field: "into", Message: "a lot cannot be merged into itself", Hint: "Choose another lot."}}
	case a.Species != b.Species:
		return holdfast.Problems{{Field: "into", Message: "the two lots are of different species", Hint: "Keep them as two lots in one tank instead."}}
	case b.Status == holdfast.Released:
		return refused("The other lot is released.", "Take it back on hold first: with other animals among it, it is no longer what was released.")
	case b.Status == holdfast.Closed:
		return refused("The other lot is closed.", "Choose a lot that still has animals.")
	}
	if count == 0 {
		count = a.Alive.N
	}
	if count < 1 || count > a.Alive.High {
		return holdfast.Problems{{Field: "count", Message: fmt.Sprintf("%d of %s cannot be merged", count, animals(a.Alive.N)), Hint: "Write how many went over, or leave it empty for all."}}
	}
	_, err = d.write(ctx, by, nil, note{from, "", &holdfast.LotMerged{Into: into, Count: count, Suspects: suspected(a), Reason: reason}})
	return err
}

// Count records a count of those alive.
func (d *Desk) Count(ctx context.Context, by Actor, lot string, count, plusMinus int, text string) error {
	return d.onLot(ctx, by, lot, "", &holdfast.Counted{Count: count, PlusMinus: plusMinus, Note: text})
}

// Births records young seen.
func (d *Desk) Births(ctx context.Context, by Actor, lot, tank string, count int, text string) error {
	return d.onLot(ctx, by, lot, tank, &holdfast.Births{Count: count, Note: text})
}

// Gone records animals missing without a body.
func (d *Desk) Gone(ctx context.Context, by Actor, lot, tank string, count int, text string) error {
	return d.onLot(ctx, by, lot, tank, &holdfast.Gone{Count: count, Note: text})
}

// DeadOnArrival records animals that arrived dead and were not on the list.
func (d *Desk) DeadOnArrival(ctx context.Context, by Actor, lot string, count int, text string) error {
	return d.onLot(ctx, by, lot, "", &holdfast.DOA{Count: count, Note: text})
}

// Remove takes living animals out for good; positive says that they were those
// with signs.
func (d *Desk) Remove(ctx context.Context, by Actor, lot, tank string, count int, positive bool, reason string) error {
	return d.onLot(ctx, by, lot, tank, &holdfast.Removal{Count: count, Positive: positive, Reason: reason})
}

// Note writes something down about a lot or a tank.
func (d *Desk) Note(ctx context.Context, by Actor, lot, tank, text string) error {
	_, err := d.write(ctx, by, nil, note{lot, tank, &holdfast.Note{Text: text}})
	return err
}

// AddPhoto records a photograph that the media store keeps.
func (d *Desk) AddPhoto(ctx context.Context, by Actor, lot string, p holdfast.PhotoAdded) error {
	return d.onLot(ctx, by, lot, "", &p)
}

// onLot writes one entry about a lot that exists.
func (d *Desk) onLot(ctx context.Context, by Actor, lot, tank string, p holdfast.Payload) error {
	if _, err := d.Lot(ctx, lot); err != nil {
		return err
	}
	_, err := d.write(ctx, by, nil, note{lot, tank, p})
	return err
}
