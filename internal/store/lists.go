package store

import (
	"cmp"
	"context"
	"fmt"
	"slices"
	"strings"

	"holdfast"
)

// Tanks returns every tank that is in use, in walking order. A tank that
// entries name and nobody described is in use too.
func (s *Store) Tanks(ctx context.Context) (rows []holdfast.TankRow, err error) {
	err = s.read(ctx, func(t *session) (err error) {
		rows, err = bodies[holdfast.TankRow](ctx, t, `SELECT body FROM tank_row WHERE closed = 0 ORDER BY place, id`)
		return err
	})
	return rows, err
}

// Consignments returns a page of deliveries, newest first, and how many there
// are. Limit 0 means no limit.
func (s *Store) Consignments(ctx context.Context, offset, limit int) (rows []holdfast.ConsignmentRow, total int, err error) {
	if limit <= 0 {
		limit = 1 << 31
	}
	err = s.read(ctx, func(t *session) (err error) {
		if err := t.row(ctx, `SELECT count(*) FROM consignment_row`, nil, &total); err != nil {
			return err
		}
		rows, err = bodies[holdfast.ConsignmentRow](ctx, t,
			`SELECT body FROM consignment_row ORDER BY arrived_at DESC, id DESC LIMIT $1 OFFSET $2`, limit, max(0, offset))
		return err
	})
	return rows, total, err
}

// Consignment returns the row of one delivery, or a NotFound error.
func (s *Store) Consignment(ctx context.Context, id string) (holdfast.ConsignmentRow, error) {
	r, err := one[holdfast.ConsignmentRow](ctx, s, "consignment_row", id)
	return r, notFound(err, fmt.Sprintf("there is no delivery %s", id))
}

// Suppliers returns the suppliers' names in alphabetical order, without regard
// to case.
func (s *Store) Suppliers(ctx context.Context) (names []string, err error) {
	err = s.read(ctx, func(t *session) (err error) {
		names, err = t.texts(ctx, `SELECT DISTINCT supplier FROM consignment_row WHERE supplier <> ''`)
		return err
	})
	slices.SortFunc(names, func(a, b string) int {
		return cmp.Or(cmp.Compare(strings.ToLower(a), strings.ToLower(b)), cmp.Compare(a, b))
	})
	return names, err
}
