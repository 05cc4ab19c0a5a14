package sqlite

import (
	"context"
	"database/sql"
	"embed"
	"fmt"
	"io/fs"

	"github.com/pressly/goose/v3"

	"holdfast"
)

//go:embed migrations/*.sql
var migrations embed.FS

func provider(db *sql.DB) (*goose.Provider, error) {
	files, err := fs.Sub(migrations, "migrations")
	if err != nil {
		return nil, err
	}
	return goose.NewProvider(goose.DialectSQLite3, db, files, goose.WithDisableGlobalRegistry(true))
}

// migrate brings the schema to the version of this program, each step in a
// transaction of its own.
func migrate(ctx context.Context, db *sql.DB) error {
	p, err := provider(db)
	if err != nil {
		return err
	}
	have, want, err := p.GetVersions(ctx)
	if err != nil {
		return err
	}
	if have > want {
		return newer(have, want)
	}
	_, err = p.Up(ctx)
	return err
}

// checkVersion refuses a schema that is not of this program's version.
func checkVersion(ctx context.Context, db *sql.DB) error {
	p, err := provider(db)
	if err != nil {
		return err
	}
	want := p.ListSources()[len(p.ListSources())-1].Version
	var have int64
	if err := db.QueryRowContext(ctx, `SELECT max(version_id) FROM goose_db_version WHERE is_applied = 1`).Scan(&have); err != nil {
		return err
	}
	if have > want {
		return newer(have, want)
	}
	if have < want {
		return &holdfast.Error{Kind: holdfast.Refused, Field: "data", Message: fmt.Sprintf("the data folder is of version %d, this program reads version %d", have, want),
			Hint: "Start the desk on it once; that brings it up to date."}
	}
	return nil
}

func newer(have, want int64) error {
	return &holdfast.Error{Kind: holdfast.Refused, Field: "data", Message: fmt.Sprintf("the data folder is of version %d, this program knows versions up to %d", have, want),
		Hint: "Use the newer holdfast that wrote it."}
}
