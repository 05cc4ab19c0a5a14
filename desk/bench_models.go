package desk

import (
	"context"
	"fmt"

	"holdfast"
	"holdfast/photo"
)

// ModelVersion is one refit of the last word on rows of dots.
type ModelVersion struct {
	// Name is the version, "1" for the first refit.
	Name string          `json:"name"`
	Made holdfast.Micros `json:"made"`
	Who  string          `json:"who"`
	// From says in words from how many verdicts, and Why why it is in use or
	// was not taken.
	From string `json:"from"`
	Why  string `json:"why"`
	// Kept says that it did better than the one before on verdicts it had not
	// seen. Only such a version can be used.
	Kept bool            `json:"kept"`
	Rows *photo.Logistic `json:"rows,omitempty"`
}

// models are all refits of the shop and which is in use, "" for the one that
// comes with the program.
type models struct {
	InUse    string         `json:"in_use"`
	Versions []ModelVersion `json:"versions"`
}

func (d *Desk) models(ctx context.Context) (models, error) {
	var m models
	err := d.recall(ctx, "models", &m)
	return m, err
}

// ModelsInUse names the last words in use; empty for those that come with the
// program.
func (d *Desk) ModelsInUse(ctx context.Context) (string, error) {
	m, err := d.models(ctx)
	return m.InUse, err
}

// ModelVersions returns every refit, the newest first, and which is in use.
func (d *Desk) ModelVersions(ctx context.Context) (all []ModelVersion, inUse string, err error) {
	m, err := d.models(ctx)
	for i := len(m.Versions) - 1; i >= 0; i-- {
		all = append(all, m.Versions[i])
	}
	return all, m.InUse, err
}

// Models returns the last words of a version. One that no longer fits this
// program's measures is passed over for those that come with it.
func (d *Desk) Models(ctx context.Context, version string) (photo.Models, error) {
	m, err := d.models(ctx)
	if err != nil || version == "" {
		return photo.Models{}, err
	}
	for _, v := range m.Versions {
		if v.Name == version && v.Rows != nil && v.Rows.Check(photo.FeaturesOf(photo.Dots)) == nil {
			return photo.Models{Rows: v.Rows}, nil
		}
	}
	return photo.Models{}, nil
}

// UseModel puts a version in use, "" for the one that comes with the program.
func (d *Desk) UseModel(ctx context.Context, version string) error {
	m, err := d.models(ctx)
	if err != nil {
		return err
	}
	ok := version == ""
	for _, v := range m.Versions {
		ok = ok || (v.Name == version && v.Kept)
	}
	if !ok {
		return &holdfast.Error{Kind: holdfast.NotFound, Message: fmt.Sprintf("There is no refit %q that can be used.", version), Hint: "Choose one of the list."}
	}
	m.InUse = version
	return d.rememberBench(ctx, "models", m)
}
