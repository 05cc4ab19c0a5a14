package store

import (
	"bytes"
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"slices"
	"strings"

	"holdfast"
)

// rows folds everything again and compares with what the lists show.
func (v *verifier) rows(ctx context.Context) error {
	if len(v.unreadable) > 0 {
		return v.found(Finding{Code: RowsUnchecked, Says: "The rows of the lists were not checked, because some entries cannot be read."})
	}
	current, err := v.s.rowsCurrent(ctx, v.sum.Model())
	if err != nil {
		return err
	}
	if !current && v.last.Seq > 0 {
		return v.found(Finding{Code: RowsOld, Says: "The rows of the lists were computed by another version of this program. Open the data folder with the desk once, then verify again."})
	}
	f := newFolder(v.s, v.sum, nil, nil)
	f.site, f.truth = v.site, v.wrong
	checked := map[holdfast.Subject]bool{}
	for _, sub := range sorted(v.expected) {
		f.spare()
		want, err := v.wantRow(ctx, f, sub)
		if err != nil {
			return err
		}
		if want == nil {
			continue
		}
		v.step()
		checked[sub] = true
		if err := v.compareRow(ctx, *want); err != nil {
			return err
		}
	}
	return v.extraRows(ctx, checked)
}

// wanted is a row as it follows from the entries.
type wanted struct {
	sub holdfast.Subject
	// table holds the body.
	table string
	body  []byte
	// check compares what the row is filtered and sorted by, and returns what
	// differs.
	check func(ctx context.Context) ([]string, error)
}

func (v *verifier) wantRow(ctx context.Context, f *folder, sub holdfast.Subject) (*wanted, error) {
	w := &wanted{sub: sub}
	var row any
	switch sub.Type {
	case holdfast.SubjectLot:
		r, reads, err := f.lotRow(ctx, sub.ID)
		if r == nil || err != nil {
			return nil, err
		}
		row, w.table, w.check = r, "lot_body", func(ctx context.Context) ([]string, error) { return v.s.lotDiffers(ctx, lotColumns(*r), reads) }
	case holdfast.SubjectTank:
		r, err := f.tankRow(ctx, sub.ID)
		if r == nil || err != nil {
			return nil, err
		}
		row, w.table, w.check = r, "tank_row", func(ctx context.Context) ([]string, error) { return v.s.tankDiffers(ctx, *r) }
	case holdfast.SubjectConsignment:
		r, err := f.consignmentRow(ctx, sub.ID)
		if r == nil || err != nil {
			return nil, err
		}
		row, w.table, w.check = r, "consignment_row", func(ctx context.Context) ([]string, error) { return v.s.consignmentDiffers(ctx, *r) }
	default: // the shop has no row
		return nil, nil
	}
	var err error
	w.body, err = json.Marshal(row)
	return w, err
}

func (v *verifier) compareRow(ctx context.Context, w wanted) error {
	finding := Finding{Code: RowWrong, Type: w.sub.Type, ID: w.sub.ID}
	var body string
	err := v.s.row(ctx, `SELECT body FROM `+w.table+` WHERE id = $1`, []any{w.sub.ID}, &body)
	if errors.Is(err, sql.ErrNoRows) {
		finding.Code, finding.Says = RowMissing, fmt.Sprintf("The row of %s %s is missing from the lists.", w.sub.Type, w.sub.ID)
		return v.found(finding)
	}
	if err != nil {
		return err
	}
	differs, err := w.check(ctx)
	if err != nil {
		return err
	}
	if body != string(w.body) {
		differs = append(fieldsDiffer(w.body, []byte(body)), differs...)
	}
	if len(differs) == 0 {
		return nil
	}
	finding.Says = fmt.Sprintf("The row of %s %s does not follow from its entries: %s.", w.sub.Type, w.sub.ID, strings.Join(differs, "; "))
	return v.found(finding)
}

// fieldsDiffer says in which fields two rows differ.
func fieldsDiffer(want, have []byte) []string {
	var a, b map[string]json.RawMessage
	if json.Unmarshal(want, &a) != nil || json.Unmarshal(have, &b) != nil {
		return []string{"it is not readable"}
	}
	keys := map[string]bool{}
	for _, row := range []map[string]json.RawMessage{a, b} {
		for k := range row {
			keys[k] = true
		}
	}
	var all []string
	for _, k := range slices.Sorted(maps.Keys(keys)) {
		if !bytes.Equal(a[k], b[k]) {
			all = append(all, fmt.Sprintf("%s is %s, should be %s", k, shown(b[k]), shown(a[k])))
		}
	}
	if len(all) == 0 {
		return []string{"it is written differently"}
	}
	return all
}

func shown(v json.RawMessage) string {
	switch {
	case v == nil:
		return "absent"
	case len(v) > 80:
		return string(v[:80]) + "…"
	}
	return string(v)
}

// differ collects the names of columns whose values differ.
type differ []string

func (d *differ) column(name string, have, want any) {
	if have != want {
		*d = append(*d, fmt.Sprintf("it is listed with %s %v, should be %v", name, have, want))
	}
}

func (s *session) lotDiffers(ctx context.Context, c lotColumn, reads []string) ([]string, error) {
	var h lotColumn
	r := &h.row
	err := s.row(ctx, `SELECT consignment, status, species, supplier, supplier_key, strain_key, chance_key, alive, opened_at, search, fold, model FROM lot_row WHERE id = $1`,
		[]any{c.row.ID}, &r.Consignment, &r.Status, &r.Species, &r.Supplier, &h.supplier, &h.strain, &h.chance, &r.Alive, &r.OpenedAt, &h.search, &r.Fold, &r.Model)
	if errors.Is(err, sql.ErrNoRows) {
		return []string{"it is not listed"}, nil
	}
	if err != nil {
		return nil, err
	}
	var d differ
	d.column("delivery", r.Consignment, c.row.Consignment)
	d.column("state", r.Status, c.row.Status)
	d.column("species", r.Species, c.row.Species)
	d.column("supplier", r.Supplier, c.row.Supplier)
	d.column("supplier key", h.supplier, c.supplier)
	d.column("strain key", h.strain, c.strain)
	d.column("chance", h.chance, c.chance)
	d.column("alive", r.Alive, c.row.Alive)
	d.column("opening time", r.OpenedAt, c.row.OpenedAt)
	d.column("search text", h.search, c.search)
	d.column("fold version", r.Fold, c.row.Fold)
	d.column("model", r.Model, c.row.Model)
	have, err := s.reads(ctx, c.row.ID)
	d.column("lots it came from", strings.Join(have, " "), strings.Join(reads, " "))
	return d, err
}

func (s *session) tankDiffers(ctx context.Context, r holdfast.TankRow) ([]string, error) {
	var place, closed, fold int
	if err := s.row(ctx, `SELECT place, closed, fold FROM tank_row WHERE id = $1`, []any{r.ID}, &place, &closed, &fold); err != nil {
		return nil, err
	}
	var d differ
	d.column("place", place, r.Place)
	d.column("closed", closed, flag(r.Closed))
	d.column("fold version", fold, r.Fold)
	return d, nil
}

func (s *session) consignmentDiffers(ctx context.Context, r holdfast.ConsignmentRow) ([]string, error) {
	var at holdfast.Micros
	var supplier string
	var fold int
	if err := s.row(ctx, `SELECT arrived_at, supplier, fold FROM consignment_row WHERE id = $1`, []any{r.ID}, &at, &supplier, &fold); err != nil {
		return nil, err
	}
	var d differ
	d.column("arrival", at, r.At)
	d.column("supplier", supplier, r.Supplier)
	d.column("fold version", fold, r.Fold)
	return d, nil
}

// extraRows looks for rows of something that should have none.
func (v *verifier) extraRows(ctx context.Context, checked map[holdfast.Subject]bool) error {
	for _, q := range []struct {
		of   holdfast.SubjectType
		text string
	}{
		{holdfast.SubjectLot, `SELECT id FROM lot_body UNION SELECT id FROM lot_row UNION SELECT lot FROM lot_reads ORDER BY 1`},
		{holdfast.SubjectTank, `SELECT id FROM tank_row ORDER BY id`},
		{holdfast.SubjectConsignment, `SELECT id FROM consignment_row ORDER BY id`},
	} {
		ids, err := v.s.texts(ctx, q.text)
		if err != nil {
			return err
		}
		for _, id := range ids {
			if checked[holdfast.Subject{Type: q.of, ID: id}] {
				continue
			}
			if err := v.found(Finding{Code: RowExtra, Type: q.of, ID: id, Says: fmt.Sprintf("The lists hold a row of %s %s, of which no entry is in force.", q.of, id)}); err != nil {
				return err
			}
		}
	}
	return nil
}
