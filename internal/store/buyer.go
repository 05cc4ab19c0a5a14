package store

import (
	"context"
	"fmt"

	"holdfast"
	"holdfast/desk"
)

// SaveBuyer adds or replaces a buyer.
func (s *Store) SaveBuyer(ctx context.Context, b desk.Buyer) error {
	return s.write(ctx, func(ctx context.Context, t *session) error { return t.saveBuyer(ctx, b) }, nil)
}

func (s *session) saveBuyer(ctx context.Context, b desk.Buyer) error {
	if !holdfast.ValidName(b.Pseudonym) {
		return &holdfast.Error{Kind: holdfast.Invalid, Field: "pseudonym", Message: fmt.Sprintf("%q cannot be a name here", b.Pseudonym),
			Hint: "Use 1 to 40 letters, digits, dots or dashes."}
	}
	_, err := s.exec(ctx, `INSERT INTO buyer (pseudonym, name, contact) VALUES ($1, $2, $3)
		ON CONFLICT (pseudonym) DO UPDATE SET name = excluded.name, contact = excluded.contact`, b.Pseudonym, b.Name, b.Contact)
	return err
}

// Buyer returns a buyer, or a NotFound error when unknown or erased.
func (s *Store) Buyer(ctx context.Context, pseudonym string) (desk.Buyer, error) {
	b := desk.Buyer{Pseudonym: pseudonym}
	err := s.read(ctx, func(t *session) error {
		return t.row(ctx, `SELECT name, contact FROM buyer WHERE pseudonym = $1`, []any{pseudonym}, &b.Name, &b.Contact)
	})
	return b, notFound(err, fmt.Sprintf("there is no buyer %s", pseudonym))
}

// Buyers returns all buyers by name.
func (s *Store) Buyers(ctx context.Context) ([]desk.Buyer, error) {
	var all []desk.Buyer
	err := s.read(ctx, func(t *session) error {
		return t.each(ctx, `SELECT pseudonym, name, contact FROM buyer ORDER BY name, pseudonym`, nil, func(scan scan) error {
			var b desk.Buyer
			err := scan(&b.Pseudonym, &b.Name, &b.Contact)
			all = append(all, b)
			return err
		})
	})
	return all, err
}

// EraseBuyer forgets a buyer for good: the bytes are overwritten in the files
// of the database. Backups made before still hold them. Erasing somebody
// unknown is no error.
func (s *Store) EraseBuyer(ctx context.Context, pseudonym string) error {
	err := s.write(ctx, func(ctx context.Context, t *session) error {
		_, err := t.exec(ctx, `DELETE FROM buyer WHERE pseudonym = $1`, pseudonym)
		return err
	}, nil)
	if err != nil {
		return err
	}
	return s.engine.Scrub(ctx)
}
