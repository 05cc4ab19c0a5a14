package main

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"holdfast"
)

// makingName is the file that stands in a data folder while the invented shop
// is being made in it, and goes when it is whole.
const makingName = "demo-being-made"

const makingText = "The invented shop is being made in this folder. While this file is here it is not whole.\n"

// markMaking says in a data folder that the invented shop is being made there.
// It is on the disk before it returns, so before the first entry: a machine
// that loses power must not leave half a shop that looks whole.
func markMaking(dir string) error {
	f, err := os.OpenFile(filepath.Join(dir, makingName), os.O_WRONLY|os.O_CREATE|os.O_TRUNC, 0o600)
	if err != nil {
		return err
	}
	_, err = f.WriteString(makingText)
	if err := errors.Join(err, f.Sync(), f.Close()); err != nil {
		return err
	}
	d, err := os.Open(dir)
	if err != nil {
		return err
	}
	return errors.Join(d.Sync(), d.Close())
}

// unmarkMaking says that the shop is whole.
func unmarkMaking(dir string) error { return os.Remove(filepath.Join(dir, makingName)) }

// refuseHalfMade returns an error if the making of the invented shop in a data
// folder was stopped. It deletes nothing.
func refuseHalfMade(dir string) error {
	_, err := os.Stat(filepath.Join(dir, makingName))
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err != nil {
		return err
	}
	return &holdfast.Error{Kind: holdfast.Refused, Field: "data", Message: fmt.Sprintf("the invented shop in %s is only half made: its making was stopped", dir),
		Hint: "Run holdfast demo --data with the name of a new folder. Nothing was deleted here; if you want nothing that is in this folder, delete it yourself."}
}
