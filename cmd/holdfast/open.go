package main

import (
	"cmp"
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"time"

	"holdfast"
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
	f, err := newFolder(ctx, s, ev, site)
	if err != nil {
		return nil, err
	}
	if err := f.desk.CarryCosts(ctx); err != nil {
		return nil, errors.Join(err, s.Close())
	}
	return f, nil
}

// readFolder opens a data folder beside whoever is writing to it.
func readFolder(ctx context.Context, dir, site string) (*folder, error) {
	ev := evidence()
	s, err := sqlite.OpenReadOnly(ctx, dir, rows(ev))
	if err != nil {
		return nil, err
	}
	return newFolder(ctx, s, ev, site)
}

// newFolder wires a desk on an open store, which it closes where it fails: a folder
// keeps the site of its journal, and only an empty one takes the site that is named.
func newFolder(ctx context.Context, s *store.Store, ev desk.Evidence, site string) (*folder, error) {
	kept, err := s.Site(ctx)
	if err == nil && kept != "" && site != "" && site != kept {
		err = &holdfast.Error{Kind: holdfast.Invalid, Field: "site", Message: fmt.Sprintf("this folder is of site %q, not %q", kept, site), Hint: "Leave --site out, or name another folder: each site keeps its own."}
	}
	if err != nil {
		return nil, errors.Join(err, s.Close())
	}
	site = cmp.Or(kept, site, "shop")
	d := &desk.Desk{Store: s, Evidence: ev, Site: site, Now: time.Now, Random: rand.Reader}
	d.UseLife()
	return &folder{s, d}, nil
}

// ready reports whether the journal can be read.
func (f *folder) ready(ctx context.Context) error {
	_, _, err := f.store.Head(ctx)
	return err
}

// Data names the data folder of a subcommand.
type Data struct {
	Data string `required:"" placeholder:"DIR" env:"HOLDFAST_DATA" help:"The data folder."`
	Site string `placeholder:"NAME" help:"Short name of the site, which stands on every entry; only for a new folder, where it is shop if none is given."`
}
