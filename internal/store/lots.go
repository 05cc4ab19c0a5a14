package store

import (
	"context"
	"encoding/json"
	"fmt"
	"strings"

	"holdfast"
	"holdfast/desk"
)

// orders are the columns of each order of lots. Ties are broken by id.
var orders = map[desk.LotSort]string{
	"":                `id`,
	desk.ByChance:     `CASE status WHEN 'held' THEN 0 ELSE 1 END, coalesce((SELECT chance FROM lot_figure WHERE lot = lot_row.id), chance_key) DESC, id`,
	desk.ByChanceLow:  `coalesce((SELECT chance FROM lot_figure WHERE lot = lot_row.id), chance_key), id`,
	desk.ByNewest:     `opened_at DESC, id`,
	desk.ByOldest:     `opened_at, id`,
	desk.ByAlive:      `alive DESC, id`,
	desk.ByStrain:     `strain_key, id`,
	desk.BySupplier:   `supplier_key, id`,
	desk.ByStatusSort: `status, id`,
}

// condition collects the parts of a WHERE clause and their values.
type condition struct {
	parts []string
	args  []any
}

// value adds v and returns the place that stands for it.
func (c *condition) value(v any) string {
	c.args = append(c.args, v)
	return fmt.Sprintf("$%d", len(c.args))
}

func (c *condition) add(format string, v any) {
	c.parts = append(c.parts, fmt.Sprintf(format, c.value(v)))
}

func (c *condition) where() string {
	if len(c.parts) == 0 {
		return ""
	}
	return " WHERE " + strings.Join(c.parts, " AND ")
}

// maxWords bounds a search: what more is typed is ignored.
const maxWords = 10

var likeEscape = strings.NewReplacer(`\`, `\\`, `%`, `\%`, `_`, `\_`)

// lotCondition says which lots match. Every word of the text has to stand
// somewhere in the lot's id, strain, supplier or tanks.
func lotCondition(q desk.LotQuery) *condition {
	c := &condition{}
	if len(q.Statuses) > 0 {
		places := make([]string, len(q.Statuses))
		for i, st := range q.Statuses {
			places[i] = c.value(st)
		}
		c.parts = append(c.parts, "status IN ("+strings.Join(places, ", ")+")")
	}
	if q.Supplier != "" {
		c.add("supplier = %s", q.Supplier)
	}
	if q.Species != "" {
		c.add("species = %s", q.Species)
	}
	words := strings.Fields(strings.ToLower(strings.ReplaceAll(q.Text, "\x00", "")))
	for _, w := range words[:min(len(words), maxWords)] {
		c.add(`search LIKE %s ESCAPE '\'`, "%"+likeEscape.Replace(w)+"%")
	}
	return c
}

// Lots returns one page of lots and how many match in all.
func (s *Store) Lots(ctx context.Context, q desk.LotQuery) ([]holdfast.LotRow, int, error) {
	order, ok := orders[q.Sort]
	if !ok {
		return nil, 0, &holdfast.Error{Kind: holdfast.Invalid, Field: "sort", Message: fmt.Sprintf("lots have no order called %q", q.Sort)}
	}
	c := lotCondition(q)
	where, args := c.where(), len(c.args)
	page := ` ORDER BY ` + order
	if q.Limit > 0 {
		page += ` LIMIT ` + c.value(q.Limit) + ` OFFSET ` + c.value(max(0, q.Offset))
	}
	var rows []holdfast.LotRow
	var total int
	err := s.read(ctx, func(t *session) error {
		if err := t.row(ctx, `SELECT count(*) FROM lot_row`+where, c.args[:args], &total); err != nil {
			return err
		}
		ids, err := t.texts(ctx, `SELECT id FROM lot_row`+where+page, c.args...)
		if err != nil {
			return err
		}
		if q.Limit <= 0 {
			ids = ids[min(len(ids), max(0, q.Offset)):]
		}
		for _, id := range ids {
			r, err := t.lotRow(ctx, id)
			if err != nil {
				return err
			}
			rows = append(rows, r)
		}
		return nil
	})
	return rows, total, err
}

// LotRow returns the row of one lot, or a NotFound error.
func (s *Store) LotRow(ctx context.Context, id string) (holdfast.LotRow, error) {
	var r holdfast.LotRow
	err := s.read(ctx, func(t *session) (err error) {
		r, err = t.lotRow(ctx, id)
		return err
	})
	return r, notFound(err, fmt.Sprintf("there is no lot %s", id))
}

// lotRow reads the row of a lot with its figures.
func (s *session) lotRow(ctx context.Context, id string) (holdfast.LotRow, error) {
	r, err := body[holdfast.LotRow](ctx, s, "lot_body", id)
	if err == nil && r.Evidence != "" {
		err = s.withFigures(ctx, &r)
	}
	return r, err
}

// LotCounts returns how many lots stand in each state.
func (s *Store) LotCounts(ctx context.Context) (map[holdfast.Status]int, error) {
	counts := map[holdfast.Status]int{}
	err := s.read(ctx, func(t *session) error {
		return t.each(ctx, `SELECT status, count(*) FROM lot_row GROUP BY status`, nil, func(scan scan) error {
			var st holdfast.Status
			var n int
			err := scan(&st, &n)
			counts[st] = n
			return err
		})
	})
	return counts, err
}

// body reads one row for lists, or returns sql.ErrNoRows.
func body[R any](ctx context.Context, t *session, table, id string) (R, error) {
	var r R
	var text string
	if err := t.row(ctx, `SELECT body FROM `+table+` WHERE id = $1`, []any{id}, &text); err != nil {
		return r, err
	}
	return r, json.Unmarshal([]byte(text), &r)
}

// one is body in a transaction of its own.
func one[R any](ctx context.Context, s *Store, table, id string) (r R, err error) {
	err = s.read(ctx, func(t *session) (err error) {
		r, err = body[R](ctx, t, table, id)
		return err
	})
	return r, err
}

// bodies reads the rows of an answer whose only column is the body.
func bodies[R any](ctx context.Context, t *session, text string, args ...any) ([]R, error) {
	var all []R
	err := t.each(ctx, text, args, func(scan scan) error {
		var text string
		if err := scan(&text); err != nil {
			return err
		}
		var r R
		err := json.Unmarshal([]byte(text), &r)
		all = append(all, r)
		return err
	})
	return all, err
}
