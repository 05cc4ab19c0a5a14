package desk

import (
	"context"
	"errors"
	"fmt"
	"slices"

	"holdfast"
)

// Visit records that somebody came to look at the animals' health. The lots it
// names must exist; naming none makes it a visit to the whole shop.
func (d *Desk) Visit(ctx context.Context, by Actor, p holdfast.Visit) (holdfast.ID, error) {
	p.Lots = slices.Clone(p.Lots)
	slices.Sort(p.Lots)
	p.Lots = slices.Compact(p.Lots)
	for _, lot := range p.Lots {
		_, err := d.Lot(ctx, lot)
		var gone *holdfast.Error
		if errors.As(err, &gone) && gone.Kind == holdfast.NotFound {
			return "", holdfast.Problems{{Field: "lots", Message: fmt.Sprintf("there is no lot %q", lot), Hint: "Write the short numbers of lots with commas between them, or leave it empty for the whole shop."}}
		}
		if err != nil {
			return "", err
		}
	}
	return d.writeFirst(ctx, by, note{payload: &p})
}

// given is nil for papers of which nothing was written down.
func given(p holdfast.Papers) *holdfast.Papers {
	if p.Empty() {
		return nil
	}
	return &p
}
