package web

import (
	"context"
	"net/url"

	"holdfast/desk"
	"holdfast/internal/web/page"
)

// courses gathers, for every lot on the walk that is on a course, what missing
// its tasks would cost, as far as that is known, and where reality left the plan.
func (d *rounder) courses(ctx context.Context, walk *desk.Round) error {
	seen := map[string]bool{}
	for _, sec := range walk.Sections {
		for _, st := range sec.Stops {
			for _, row := range st.Lots {
				if seen[row.ID] {
					continue
				}
				seen[row.ID] = true
				if err := d.onCourse(ctx, row.ID, st); err != nil {
					return err
				}
			}
		}
	}
	return nil
}

func (d *rounder) onCourse(ctx context.Context, lot string, st desk.Stop) error {
	l, err := d.Desk.Lot(ctx, lot)
	if err != nil || l.Course == nil {
		return err
	}
	v, err := d.Desk.View(ctx, lot)
	if err != nil {
		return err
	}
	d.price[lot] = d.missPrices(v)
	change, err := d.lotChange(ctx, v)
	if err != nil || change == nil {
		return err
	}
	say := change.Says[len(change.Says)-1]
	if change.New != "" {
		say += " " + change.New
	}
	d.page.Changed = append(d.page.Changed, page.RoundChange{Lot: l.Strain + " " + lot, URL: "/lots/" + url.PathEscape(lot), Says: say, Accept: change.Accept})
	return nil
}

// priced says what missing a task of a course costs, and calls out those that
// must not slip.
func (d *rounder) priced(row *page.RoundRow, t desk.Task) {
	p, ok := d.price[t.Lot][missKey(t.Kind, t.Due)]
	if !ok {
		return
	}
	row.Price = p.Says()
	row.Must = p.Must()
}
