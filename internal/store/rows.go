package store

import (
	"context"
	"fmt"
	"slices"
	"strings"

	"holdfast"
)

// notLooked stands for the chance of a lot that nobody looked at: below every
// chance, so that both orders put it where it belongs.
const notLooked = -1.0

// lotColumn holds what lots are filtered and sorted by, beside the row itself.
type lotColumn struct {
	row      holdfast.LotRow
	chance   float64
	search   string
	strain   string
	supplier string
}

func lotColumns(r holdfast.LotRow) lotColumn {
	c := lotColumn{row: r, chance: notLooked, strain: strings.ToLower(r.Strain), supplier: strings.ToLower(r.Supplier)}
	if r.Chance != nil {
		c.chance = *r.Chance
	}
	words := []string{r.ID, r.Strain, r.Supplier}
	for _, p := range r.Places {
		words = append(words, p.Tank)
	}
	c.search = strings.ToLower(strings.Join(words, "\n"))
	return c
}

func (s *session) writeLotRow(ctx context.Context, c lotColumn, body string) error {
	r := c.row
	_, err := s.exec(ctx, `INSERT INTO lot_row (id, consignment, status, species, supplier, supplier_key, strain_key, chance_key, alive, opened_at, search, fold, model)
		VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13)
		ON CONFLICT (id) DO UPDATE SET consignment = excluded.consignment, status = excluded.status, species = excluded.species,
			supplier = excluded.supplier, supplier_key = excluded.supplier_key, strain_key = excluded.strain_key, chance_key = excluded.chance_key,
			alive = excluded.alive, opened_at = excluded.opened_at, search = excluded.search, fold = excluded.fold, model = excluded.model`,
		r.ID, r.Consignment, r.Status, r.Species, r.Supplier, c.supplier, c.strain, c.chance, r.Alive, r.OpenedAt, c.search, r.Fold, r.Model)
	if err != nil {
		return err
	}
	_, err = s.exec(ctx, `INSERT INTO lot_body (id, body) VALUES ($1, $2) ON CONFLICT (id) DO UPDATE SET body = excluded.body`, r.ID, body)
	return err
}

func (s *session) writeTankRow(ctx context.Context, r holdfast.TankRow, body string) error {
	_, err := s.exec(ctx, `INSERT INTO tank_row (id, place, closed, fold, body) VALUES ($1, $2, $3, $4, $5)
		ON CONFLICT (id) DO UPDATE SET place = excluded.place, closed = excluded.closed, fold = excluded.fold, body = excluded.body`,
		r.ID, r.Place, flag(r.Closed), r.Fold, body)
	return err
}

func (s *session) writeConsignmentRow(ctx context.Context, r holdfast.ConsignmentRow, body string) error {
	_, err := s.exec(ctx, `INSERT INTO consignment_row (id, arrived_at, supplier, fold, body) VALUES ($1, $2, $3, $4, $5)
		ON CONFLICT (id) DO UPDATE SET arrived_at = excluded.arrived_at, supplier = excluded.supplier, fold = excluded.fold, body = excluded.body`,
		r.ID, r.At, r.Supplier, r.Fold, body)
	return err
}

// flag is how a yes or no is stored: the engines do not share a type for it.
func flag(yes bool) int {
	if yes {
		return 1
	}
	return 0
}

// dropRow deletes the row of a subject that has none any more.
func (s *session) dropRow(ctx context.Context, table, id string) error {
	if table == "lot_row" {
		if _, err := s.exec(ctx, `DELETE FROM lot_body WHERE id = $1`, id); err != nil {
			return err
		}
	}
	_, err := s.exec(ctx, fmt.Sprintf(`DELETE FROM %s WHERE id = $1`, table), id)
	return err
}

func (s *session) reads(ctx context.Context, lot string) ([]string, error) {
	return s.texts(ctx, `SELECT other FROM lot_reads WHERE lot = $1 ORDER BY other`, lot)
}

// writeReads notes from which other lots the row of a lot was computed.
func (s *session) writeReads(ctx context.Context, lot string, others []string) error {
	old, err := s.reads(ctx, lot)
	if err != nil || slices.Equal(old, others) {
		return err
	}
	if _, err := s.exec(ctx, `DELETE FROM lot_reads WHERE lot = $1`, lot); err != nil {
		return err
	}
	for _, other := range others {
		if _, err := s.exec(ctx, `INSERT INTO lot_reads (lot, other) VALUES ($1, $2)`, lot, other); err != nil {
			return err
		}
	}
	return nil
}
