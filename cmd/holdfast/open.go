package main

import (
	"context"
	"crypto/rand"
	"time"

	"holdfast/desk"
	"holdfast/internal/store"
	"holdfast/internal/store/sqlite"
)

// evidence is the model that answers where the life-cycle model cannot.
func evidence() desk.Evidence { return desk.NewMemo(desk.Static{}) }

// rows computes the rows of lists.
func rows(ev desk.Evidence) desk.Summary { return desk.Summary{Evidence: ev, Life: true} }

// folder is an open data folder.
type folder struct {
	store *store.Store
	desk  *desk.Desk
}

// openFolder opens a data folder for writing, and makes it if it is new.
func openFolder(ctx context.Context, dir, site string) (*folder, error) {
	ev := evidence()
	s, err := sqlite.Open(ctx, dir, rows(ev), sqlite.Options{})
	if err != nil {
		return nil, err
	}
	return newFolder(s, ev, site), nil
}

// readFolder opens a data folder beside whoever is writing to it.
func readFolder(ctx context.Context, dir, site string) (*folder, error) {
	ev := evidence()
	s, err := sqlite.OpenReadOnly(ctx, dir, rows(ev))
	if err != nil {
		return nil, err
	}
	return newFolder(s, ev, site), nil
}

func newFolder(s *store.Store, ev desk.Evidence, site string) *folder {
	d := &desk.Desk{Store: s, Evidence: ev, Site: site, Now: time.Now, Random: rand.Reader}
	d.UseLife()
	return &folder{s, d}
}

// ready reports whether the journal can be read.
func (f *folder) ready(ctx context.Context) error {
	_, _, err := f.store.Head(ctx)
	return err
}

// Data names the data folder of a subcommand.
type Data struct {
	Data string `required:"" placeholder:"DIR" env:"HOLDFAST_DATA" help:"The data folder."`
	Site string `default:"shop" help:"Short name of the site, which stands on every entry."`
}
