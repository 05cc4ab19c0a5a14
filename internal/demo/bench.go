package demo

import (
	"bytes"
	"context"
	"embed"
	"fmt"
	"io"
	"strings"
	"time"

	"holdfast"
	"holdfast/desk"
)

//go:embed photographs/*.jpg
var drawn embed.FS

// shot is one drawn photograph, how many days ago it was added, and what the
// helper said that it shows; animal 0 is not said yet.
type shot struct {
	no      int
	daysAgo int
	pxPerMM float64
	animal  int
	side    holdfast.Side
}

var shots = []shot{
	{214, 16, 44, 1, holdfast.Right}, {236, 16, 55, 2, holdfast.Right},
	{260, 0, 77, 1, holdfast.Left}, {204, 0, 81, 1, holdfast.Right},
	{212, 0, 84, 2, holdfast.Left}, {221, 0, 84, 2, holdfast.Right},
	{201, 0, 67, 3, holdfast.Left}, {205, 0, 85, 0, ""}, {200, 0, 75, 0, ""},
}

// Keep keeps a photograph and says under what.
type Keep func(io.Reader) (holdfast.PhotoAdded, error)

// Photograph puts drawn photographs on the bench of a lot that is held, so that
// there is something to judge. It returns the lot, "" if none is held.
func Photograph(ctx context.Context, d *desk.Desk, today time.Time, keep Keep) (string, error) {
	rows, _, err := d.Store.Lots(ctx, desk.LotQuery{Statuses: []holdfast.Status{holdfast.Held}, Sort: desk.ByOldest})
	if err != nil || len(rows) == 0 {
		return "", err
	}
	lot := rows[0]
	for _, r := range rows {
		if r.Species == "neocaridina_davidi" && strings.Contains(r.Strain, "red") {
			lot = r
		}
	}
	for i, s := range shots {
		data, err := drawn.ReadFile(fmt.Sprintf("photographs/drawn-%d.jpg", s.no))
		if err != nil {
			return "", err
		}
		p, err := keep(bytes.NewReader(data))
		if err != nil {
			return "", err
		}
		p.Name = fmt.Sprintf("drawn-%d.jpg", s.no)
		at := today.AddDate(0, 0, -s.daysAgo).Add(time.Duration(i-len(shots)) * time.Second)
		if _, _, err := d.AddPhotos(ctx, desk.Actor{Who: "Mara", At: at}, lot.ID, []holdfast.PhotoAdded{p}); err != nil {
			return "", err
		}
		if err := d.SetScale(ctx, lot.ID, 0, p.SHA256, desk.Scale{PxPerMM: s.pxPerMM, How: "from a ruler", Who: "Mara"}); err != nil {
			return "", err
		}
		if s.animal > 0 {
			if err := d.PutPhoto(ctx, lot.ID, p.SHA256, s.animal, s.side); err != nil {
				return "", err
			}
		}
	}
	return lot.ID, nil
}
