package store

import (
	"context"
	"database/sql"
	"encoding/json"
	"errors"

	"holdfast"
)

// Remember keeps a JSON value under a topic and key, replacing any before.
func (s *Store) Remember(ctx context.Context, topic, key string, value json.RawMessage) error {
	if !json.Valid(value) {
		return &holdfast.Error{Kind: holdfast.Invalid, Field: "value", Message: "what is to be remembered is not JSON"}
	}
	return s.write(ctx, func(ctx context.Context, t *session) error {
		_, err := t.exec(ctx, `INSERT INTO memory (topic, name, value) VALUES ($1, $2, $3)
			ON CONFLICT (topic, name) DO UPDATE SET value = excluded.value`, topic, key, string(value))
		return err
	}, nil)
}

// Recall returns the value, or nil when there is none.
func (s *Store) Recall(ctx context.Context, topic, key string) (json.RawMessage, error) {
	var value string
	err := s.read(ctx, func(t *session) error {
		return t.row(ctx, `SELECT value FROM memory WHERE topic = $1 AND name = $2`, []any{topic, key}, &value)
	})
	if errors.Is(err, sql.ErrNoRows) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	return json.RawMessage(value), nil
}
