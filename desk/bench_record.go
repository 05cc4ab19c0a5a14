package desk

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strconv"

	"holdfast"
	"holdfast/photo"
	"holdfast/reference"
	"holdfast/science/ref"
)

// FinderRecord is how the desk's marks of rows did against what people found on
// the bench of this shop.
type FinderRecord struct {
	// Looks, Animals and Photos were judged by photographs that were read with a
	// scale; Unread are photographs that were not.
	Looks, Animals, Photos, Unread int
	// Accepted is how many false marks a photograph the shop accepts: marks
	// expected more often count as not shown.
	Accepted float64
	// Seen is how often the desk marks a row that a person named before any mark
	// was shown. What a mark led the person to says nothing of what marks miss.
	Seen MarksLearned
	// OnlyMarks are animals on which a row was named only with the marks in view,
	// after the person had judged without.
	OnlyMarks int
	// FalseMarks are marks on CleanPhotos, the photographs of animals without a
	// row.
	FalseMarks, CleanPhotos int
	// Labelled counts the marks on which somebody gave a verdict.
	Labelled int
}

// judgedAnimal is one animal of a look that was made on the bench.
type judgedAnimal struct {
	lot  string
	ev   holdfast.Event
	a    holdfast.Animal
	read map[string]*Reading
	// shown are the marks of rows on its photographs that the settings let
	// through, by photograph.
	shown map[string][]ReadMark
}

func (j judgedAnimal) has(condition string) bool { return j.a.Has(condition) }

// row reports whether a row of eggs was found on it.
func (j judgedAnimal) row() bool { return j.has(reference.EggRow) }

// marks is how many rows its photographs show.
func (j judgedAnimal) marks() int {
	n := 0
	for _, m := range j.shown {
		n += len(m)
	}
	return n
}

// each calls f for every animal in force that was judged by photographs, lot by
// lot, in the order of the looks.
func (d *Desk) eachJudged(ctx context.Context, s BenchSettings, f func(judgedAnimal) error) error {
	rows, _, err := d.Store.Lots(ctx, LotQuery{Sort: ByOldest})
	if err != nil {
		return err
	}
	for _, row := range rows {
		l, err := d.Lot(ctx, row.ID)
		if err != nil {
			return err
		}
		for _, ev := range l.Events {
			p, ok := ev.Payload.(*holdfast.Inspection)
			if !ok {
				continue
			}
			for _, a := range p.Animals {
				if len(a.Photos) == 0 {
					continue
				}
				j, err := d.judged(ctx, s, row.ID, ev, a)
				if err != nil {
					return err
				}
				if err := f(j); err != nil {
					return err
				}
			}
		}
	}
	return nil
}

func (d *Desk) judged(ctx context.Context, s BenchSettings, lot string, ev holdfast.Event, a holdfast.Animal) (judgedAnimal, error) {
	j := judgedAnimal{lot: lot, ev: ev, a: a, read: map[string]*Reading{}, shown: map[string][]ReadMark{}}
	var shas []string
	for _, p := range a.Photos {
		shas = append(shas, p.SHA256)
	}
	rows, err := d.Store.Readings(ctx, shas)
	if err != nil {
		return j, err
	}
	for _, sha := range shas {
		r, err := ReadRow(rows[sha])
		if err != nil {
			return j, err
		}
		if r == nil || r.Fault != "" || r.PxPerMM == 0 {
			continue
		}
		j.read[sha] = r
		j.shown[sha], _ = r.Shown(s)
	}
	return j, nil
}

// FinderRecord counts the desk's marks against what people found.
func (d *Desk) FinderRecord(ctx context.Context) (FinderRecord, error) {
	var r FinderRecord
	set, err := d.BenchSettings(ctx)
	if err != nil {
		return r, err
	}
	r.Accepted = set.FalseMarks
	looks := map[holdfast.ID]bool{}
	err = d.eachJudged(ctx, set, func(j judgedAnimal) error {
		for _, f := range j.a.Findings {
			if f.Box != nil {
				r.Labelled++
			}
		}
		r.Unread += len(j.a.Photos) - len(j.read)
		if len(j.read) == 0 {
			return nil
		}
		looks[j.ev.ID] = true
		r.Animals++
		r.Photos += len(j.read)
		switch {
		case j.row():
			if j.a.Alone != nil && !j.a.Alone.Has(reference.EggRow) {
				r.OnlyMarks++
			}
		case j.a.Readable():
			r.CleanPhotos += len(j.read)
			r.FalseMarks += j.marks()
		}
		return nil
	})
	if err != nil {
		return r, err
	}
	r.Looks = len(looks)
	sight, err := d.LearnSight(ctx)
	r.Seen = sight.Marks
	return r, err
}

// Label is a place on a photograph and what somebody judged it to be.
type Label struct {
	Lot    string
	Animal int
	Side   holdfast.Side
	Photo  string
	Box    holdfast.Box
	// PxPerMM is the scale at which the photograph was read, in stored pixels a
	// millimetre; 0 when it was read without one.
	PxPerMM float64
	Verdict string
	Who     string
	Day     holdfast.Day
}

// Labels returns every place on a photograph that was judged, in the order of
// the looks.
func (d *Desk) Labels(ctx context.Context) ([]Label, error) {
	zone, err := d.Zone(ctx)
	if err != nil {
		return nil, err
	}
	var out []Label
	err = d.eachJudged(ctx, DefaultBench, func(j judgedAnimal) error {
		for _, f := range j.a.Findings {
			if f.Box == nil {
				continue
			}
			l := Label{Lot: j.lot, Animal: j.a.No, Photo: f.Photo, Box: *f.Box, Verdict: f.Condition, Who: j.ev.Who, Day: holdfast.DayOf(j.ev.OccurredAt, zone)}
			if r := j.read[f.Photo]; r != nil {
				l.PxPerMM = r.PxPerMM
			}
			for _, p := range j.a.Photos {
				if p.SHA256 == f.Photo {
					l.Side = p.Side
				}
			}
			out = append(out, l)
		}
		return nil
	})
	return out, err
}

// verdicts returns what people said of marks of rows, and on how many
// photographs. A mark that was shown on an animal of which no row was found and
// which could be judged counts as nothing, also when nobody said so.
func (d *Desk) verdicts(ctx context.Context, set BenchSettings) (all []photo.Verdict, photos int, err error) {
	err = d.eachJudged(ctx, set, func(j judgedAnimal) error {
		photos += len(j.read)
		name := string(j.ev.ID) + "/" + strconv.Itoa(j.a.No)
		for sha, r := range j.read {
			for _, m := range r.Marks {
				if m.Kind != photo.Dots {
					continue
				}
				if real, ok := j.verdictOn(sha, m); ok {
					all = append(all, photo.Verdict{Photo: name, Features: m.Features, Real: real})
				}
			}
		}
		return nil
	})
	return all, photos, err
}

// verdictOn is what was said of one mark; false when nobody did.
func (j judgedAnimal) verdictOn(sha string, m ReadMark) (real, ok bool) {
	for _, f := range j.a.Findings {
		if f.Photo == sha && f.Box != nil && overlap(*f.Box, m) {
			return f.Condition == reference.EggRow, true
		}
	}
	shown := slices.ContainsFunc(j.shown[sha], func(s ReadMark) bool { return s.X == m.X && s.Y == m.Y })
	return false, shown && !j.row() && j.a.Readable()
}

// overlap reports whether a judged box is a mark's: they share most of either.
func overlap(b holdfast.Box, m ReadMark) bool {
	w := min(float64(b.X+b.W), m.X+m.W) - max(float64(b.X), m.X)
	h := min(float64(b.Y+b.H), m.Y+m.H) - max(float64(b.Y), m.Y)
	if w <= 0 || h <= 0 {
		return false
	}
	return w*h >= 0.5*max(float64(b.W*b.H), m.W*m.H)
}

// Teach fits the last word on rows anew from the verdicts of the shop. The fit
// is kept in the list of versions either way and put in use only when it did
// better on verdicts it had not seen.
func (d *Desk) Teach(ctx context.Context, who string) (ModelVersion, error) {
	var v ModelVersion
	set, err := d.BenchSettings(ctx)
	if err != nil {
		return v, err
	}
	all, photos, err := d.verdicts(ctx, set)
	if err != nil {
		return v, err
	}
	m, err := d.models(ctx)
	if err != nil {
		return v, err
	}
	old := photo.BuiltIn().Rows
	if used, err := d.Models(ctx, m.InUse); err != nil {
		return v, err
	} else if used.Rows != nil {
		old = used.Rows
	}
	v = ModelVersion{Name: strconv.Itoa(len(m.Versions) + 1), Made: holdfast.MicrosOf(d.Now()), Who: who}
	r, err := photo.RefitLogistic(old, all, photos, "shop-"+v.Name)
	var none *ref.NoAnswer
	if errors.As(err, &none) {
		return v, &holdfast.Error{Kind: holdfast.Refused, Message: none.Reason,
			Hint: fmt.Sprintf("So far there are %d that are real and %d that are nothing, on %d animals.", r.Real, r.Nothing, r.Photos)}
	}
	if err != nil {
		return v, err
	}
	v.From = fmt.Sprintf("From %d marks that are rows and %d that are nothing, on %d animals.", r.Real, r.Nothing, r.Photos)
	v.Kept = r.Kept
	v.Why = fmt.Sprintf("On verdicts it had not seen it put a row above a mark of nothing %.0f times in 100, the one before %.0f.", 100*r.NewAUC, 100*r.OldAUC)
	if v.Kept {
		v.Rows = r.Model
		m.InUse = v.Name
	} else {
		v.Why += " That is not surely better, so it was not taken."
	}
	m.Versions = append(m.Versions, v)
	return v, d.rememberBench(ctx, "models", m)
}
