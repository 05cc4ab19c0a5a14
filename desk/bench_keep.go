package desk

import (
	"context"
	"encoding/json"
	"fmt"
	"math"
	"slices"
	"strconv"

	"holdfast"
	"holdfast/photo"
)

// BenchSettings are how the bench is used in this shop.
type BenchSettings struct {
	// FalseMarks is how many marks of nothing a photograph may carry on average.
	FalseMarks float64 `json:"false_marks"`
	// MarksAtOnce shows the marks before the person has judged.
	MarksAtOnce bool `json:"marks_at_once"`
}

// BenchSettings returns the settings of the bench.
func (d *Desk) BenchSettings(ctx context.Context) (BenchSettings, error) {
	s := DefaultBench
	err := d.recall(ctx, "settings", &s)
	return s, err
}

// DefaultBench are the settings of a shop that has set none.
var DefaultBench = BenchSettings{FalseMarks: 1}

const benchTopic = "bench"

// SetBench changes the settings of the bench.
func (d *Desk) SetBench(ctx context.Context, s BenchSettings) error {
	if !(s.FalseMarks >= 0.01 && s.FalseMarks <= 20) {
		return holdfast.Problems{{Field: "false_marks", Message: "that is no number of false marks a photograph", Hint: "Write a number from 0.01 to 20, such as 1."}}
	}
	return d.rememberBench(ctx, "settings", s)
}

// ReadingPaused reports whether the reading of photographs is paused.
func (d *Desk) ReadingPaused(ctx context.Context) (bool, error) {
	var paused bool
	err := d.recall(ctx, "paused", &paused)
	return paused, err
}

// PauseReading pauses the reading of photographs, or goes on with it; both
// outlast a restart.
func (d *Desk) PauseReading(ctx context.Context, pause bool) error {
	return d.rememberBench(ctx, "paused", pause)
}

func (d *Desk) recall(ctx context.Context, key string, into any) error {
	raw, err := d.Store.Recall(ctx, benchTopic, key)
	if err != nil || raw == nil {
		return err
	}
	return json.Unmarshal(raw, into)
}

func (d *Desk) rememberBench(ctx context.Context, key string, v any) error {
	raw, err := json.Marshal(v)
	if err != nil {
		return err
	}
	return d.Store.Remember(ctx, benchTopic, key, raw)
}

// AddPhotos records photographs that the media store keeps, in one batch, and asks
// for them to be read. Those that the lot has already are passed over and
// returned.
func (d *Desk) AddPhotos(ctx context.Context, by Actor, lot string, all []holdfast.PhotoAdded) (added []holdfast.ID, known []holdfast.PhotoAdded, err error) {
	l, err := d.Lot(ctx, lot)
	if err != nil {
		return nil, nil, err
	}
	has := map[string]bool{}
	for _, ev := range l.Events {
		if p, ok := ev.Payload.(*holdfast.PhotoAdded); ok {
			has[p.SHA256] = true
		}
	}
	var notes []note
	for _, p := range all {
		if has[p.SHA256] {
			known = append(known, p)
			continue
		}
		has[p.SHA256] = true
		notes = append(notes, note{lot, "", &p})
	}
	if len(notes) == 0 {
		return nil, known, nil
	}
	if added, err = d.write(ctx, by, nil, notes...); err != nil {
		return added, known, err
	}
	return added, known, d.askFor(ctx, lot, by, notes)
}

// askFor asks for new photographs to be read, without laying out the whole bench:
// that would cost more with each part of a card.
func (d *Desk) askFor(ctx context.Context, lot string, by Actor, added []note) error {
	zone, err := d.Zone(ctx)
	if err != nil {
		return err
	}
	at := by.At
	if at.IsZero() {
		at = d.Now()
	}
	notes, err := d.Store.Notes(ctx, lot)
	if err != nil {
		return err
	}
	b := Bench{Day: holdfast.DayOf(holdfast.MicrosOf(at), zone)}
	for _, n := range added {
		b.Photos = append(b.Photos, &BenchPhoto{SHA256: n.payload.(*holdfast.PhotoAdded).SHA256})
	}
	if err := b.dress(notes); err != nil {
		return err
	}
	return d.readings(ctx, lot, b.Photos)
}

// TakePhotosBack takes back, in one batch, the photographs that one person added
// to a lot from the entry first to the entry last; what was taken back before is
// passed over. A folder that came in several parts is taken back whole. It
// returns the id of the first correction, or NotFound if none is left.
func (d *Desk) TakePhotosBack(ctx context.Context, by Actor, lot string, first, last holdfast.ID) (holdfast.ID, error) {
	l, err := d.Lot(ctx, lot)
	if err != nil {
		return "", err
	}
	from, err := d.Store.Entry(ctx, first)
	if err != nil {
		return "", err
	}
	to, err := d.Store.Entry(ctx, last)
	if err != nil {
		return "", err
	}
	var notes []note
	for _, ev := range slices.Backward(l.Events) {
		if ev.Kind != holdfast.KindPhotoAdded || ev.Who != from.Who || ev.Seq < from.Seq || ev.Seq > to.Seq {
			continue
		}
		notes = append(notes, takesBack(ev, holdfast.Correction{Reason: "The photographs were added by mistake."}))
	}
	if len(notes) == 0 {
		if by.ID != "" {
			if _, err := d.Store.Entry(ctx, by.ID); err == nil {
				return by.ID, nil // the form was sent twice
			}
		}
		return "", &holdfast.Error{Kind: holdfast.NotFound, Message: "None of these photographs is on the bench any more.", Hint: "They were taken back already. The journal of the lot shows it, and can put them back."}
	}
	return d.writeFirst(ctx, by, notes...)
}

func scaleName(day holdfast.Day) string { return "scale/" + day.String() }

func saidName(day holdfast.Day, animal int, who string) string {
	return "said/" + day.String() + "/" + strconv.Itoa(animal) + "/" + who
}

// PutPhoto says which animal and which side a photograph shows; animal 0 takes it
// off the animal it was put to.
func (d *Desk) PutPhoto(ctx context.Context, lot, sha string, animal int, side holdfast.Side) error {
	if animal == 0 {
		side = ""
	} else if animal < 0 || animal > 10_000 || !slices.Contains(holdfast.Sides, side) {
		return holdfast.Problems{{Field: "animal", Message: "that is no animal of a look", Hint: "Number the animals from 1, and say which side is seen."}}
	}
	raw, err := json.Marshal(placed{animal, side})
	if err != nil {
		return err
	}
	return d.Store.KeepNote(ctx, lot, "photo/"+sha, raw)
}

// SetScale keeps the scale of a day's photographs, or of one photograph if sha
// is not empty.
func (d *Desk) SetScale(ctx context.Context, lot string, day holdfast.Day, sha string, s Scale) error {
	if math.IsNaN(s.PxPerMM) || photo.CheckPxPerMM(s.PxPerMM) != nil {
		return holdfast.Problems{{Field: "scale", Message: fmt.Sprintf("%.3g pixels a millimetre cannot be", s.PxPerMM),
			Hint: fmt.Sprintf("It lies between %g and %g; measure again.", photo.MinPxPerMM, photo.MaxPxPerMM)}}
	}
	raw, err := json.Marshal(s)
	if err != nil {
		return err
	}
	name := scaleName(day)
	if sha != "" {
		name = "scale/" + sha
	}
	return d.Store.KeepNote(ctx, lot, name, raw)
}

// ForgetScale takes the scale of a day or of one photograph away.
func (d *Desk) ForgetScale(ctx context.Context, lot string, day holdfast.Day, sha string) error {
	if sha != "" {
		return d.Store.KeepNote(ctx, lot, "scale/"+sha, nil)
	}
	return d.Store.KeepNote(ctx, lot, scaleName(day), nil)
}

// Say keeps what a person said of an animal.
func (d *Desk) Say(ctx context.Context, lot string, day holdfast.Day, animal int, who string, s Said) error {
	raw, err := json.Marshal(s)
	if err != nil {
		return err
	}
	return d.Store.KeepNote(ctx, lot, saidName(day, animal, who), raw)
}

// Unsay forgets it, but not that the marks were shown: whoever judges the animal
// again has seen them.
func (d *Desk) Unsay(ctx context.Context, lot string, day holdfast.Day, animal int, who string) error {
	return d.Say(ctx, lot, day, animal, who, Said{Peeked: true})
}
