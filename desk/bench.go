package desk

import (
	"cmp"
	"context"
	"encoding/json"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"

	"holdfast"
	"holdfast/photo"
	"holdfast/science/ref"
)

// Bench is the photographs of one lot that were added on one day, laid out for
// judging.
type Bench struct {
	View *LotView
	Day  holdfast.Day
	// Days are all days on which photographs of the lot were added, the newest
	// first.
	Days     []holdfast.Day
	Settings BenchSettings
	Paused   bool
	Scale    *Scale
	// Photos are in the order of the bursts, Bursts by falling sharpness of
	// their best frame, which is the first of each.
	Photos []*BenchPhoto
	Bursts [][]*BenchPhoto
	// Animals are in the order of their numbers.
	Animals []*BenchAnimal
	// Saved is the look that was saved of these photographs, nil before; Seconds
	// are second looks at the same animals.
	Saved   *holdfast.Event
	Seconds []holdfast.Event
}

// BenchPhoto is one photograph on the bench.
type BenchPhoto struct {
	Entry        holdfast.ID
	SHA256, Name string
	Media, Note  string
	At           holdfast.Micros
	Who          string
	// Animal is the animal that it shows, 0 while nobody has said; Side which
	// side of it.
	Animal int
	Side   holdfast.Side
	// Reading is nil while it waits; Waiting says that it waits for a first
	// reading or for another.
	Reading *Reading
	Waiting bool
	// Scale is in stored pixels a millimetre, 0 when not known, and OwnScale
	// says that it was measured on this photograph.
	Scale    float64
	OwnScale bool
	// Like counts the frames of its burst.
	Like int
}

// Usable reports whether something can be told of it.
func (p *BenchPhoto) Usable() bool {
	return p.Reading != nil && p.Reading.Fault == "" && p.Reading.Usable
}

// BenchAnimal is one animal on the bench.
type BenchAnimal struct {
	No int
	// Sides holds the photographs of each side, the sharpest first.
	Sides map[holdfast.Side][]*BenchPhoto
	// Said is what each person said so far.
	Said map[string]Said
}

// Seen are the sides of which there is a usable photograph, or of which the
// person said that it can be judged all the same.
func (a *BenchAnimal) Seen(by Said) []holdfast.Side {
	var out []holdfast.Side
	for _, s := range holdfast.Sides {
		usable := slices.ContainsFunc(a.Sides[s], (*BenchPhoto).Usable)
		if usable || (len(a.Sides[s]) > 0 && slices.Contains(by.AllTheSame, s)) {
			out = append(out, s)
		}
	}
	return out
}

// Said is what one person said of one animal.
type Said struct {
	Findings []holdfast.Finding `json:"findings,omitempty"`
	// AllTheSame are sides that were judged though the desk calls every
	// photograph of them too soft.
	AllTheSame []holdfast.Side `json:"all_the_same,omitempty"`
	// Done says that the person has said all without the marks; Marked that the
	// marks were shown after.
	Done   bool `json:"done"`
	Marked bool `json:"marked,omitempty"`
	// Alone is what was said before the marks were shown; nil where they were in
	// view from the start. Peeked says that the marks were seen and what had been
	// said was forgotten: what is said next is not said alone.
	Alone  *holdfast.Alone `json:"alone,omitempty"`
	Peeked bool            `json:"peeked,omitempty"`
}

// SaidAlone is what was named without marks, for [Said.Alone].
func (s Said) SaidAlone() *holdfast.Alone {
	out := &holdfast.Alone{Named: []string{}}
	for _, f := range s.Findings {
		if !out.Has(f.Condition) {
			out.Named = append(out.Named, f.Condition)
		}
	}
	return out
}

// Has reports whether the person named the condition.
func (s Said) Has(condition string) bool {
	return slices.ContainsFunc(s.Findings, func(f holdfast.Finding) bool { return f.Condition == condition })
}

// Scale is how many pixels a millimetre of subject has.
type Scale struct {
	PxPerMM float64 `json:"px_per_mm"`
	// How says in words where it comes from.
	How string `json:"how"`
	Who string `json:"who"`
}

// Bench lays out the photographs of a lot that were added on a day; day 0 means
// the newest that has any. Photographs that were not read as they should be are
// asked to be read.
func (d *Desk) Bench(ctx context.Context, lot string, day holdfast.Day) (*Bench, error) {
	v, err := d.View(ctx, lot)
	if err != nil {
		return nil, err
	}
	b := &Bench{View: v}
	if b.Settings, err = d.BenchSettings(ctx); err != nil {
		return nil, err
	}
	if b.Paused, err = d.ReadingPaused(ctx); err != nil {
		return nil, err
	}
	zone, err := d.Zone(ctx)
	if err != nil {
		return nil, err
	}
	notes, err := d.Store.Notes(ctx, lot)
	if err != nil {
		return nil, err
	}
	b.gather(v.Lot, zone, day)
	if err := b.dress(notes); err != nil {
		return nil, err
	}
	if err := d.readings(ctx, lot, b.Photos); err != nil {
		return nil, err
	}
	b.sort()
	b.animals(notes)
	b.looks()
	return b, nil
}

// gather picks the day and its photographs, each once.
func (b *Bench) gather(l *holdfast.Lot, zone *time.Location, day holdfast.Day) {
	byDay := map[holdfast.Day][]*BenchPhoto{}
	seen := map[string]bool{}
	for _, ev := range l.Events {
		p, ok := ev.Payload.(*holdfast.PhotoAdded)
		if !ok || seen[p.SHA256] {
			continue
		}
		seen[p.SHA256] = true
		on := holdfast.DayOf(ev.OccurredAt, zone)
		if byDay[on] == nil {
			b.Days = append(b.Days, on)
		}
		byDay[on] = append(byDay[on], &BenchPhoto{Entry: ev.ID, SHA256: p.SHA256, Name: p.Name, Media: p.Media, Note: p.Note,
			At: ev.OccurredAt, Who: ev.Who, Animal: p.Animal, Side: p.Side})
	}
	slices.SortFunc(b.Days, func(x, y holdfast.Day) int { return cmp.Compare(y, x) })
	if day == 0 && len(b.Days) > 0 {
		day = b.Days[0]
	}
	b.Day, b.Photos = day, byDay[day]
}

// placed is the note of where a photograph was put.
type placed struct {
	Animal int           `json:"animal"`
	Side   holdfast.Side `json:"side"`
}

// dress adds what people said of each photograph.
func (b *Bench) dress(notes map[string]json.RawMessage) error {
	if raw, ok := notes[scaleName(b.Day)]; ok {
		b.Scale = new(Scale)
		if err := json.Unmarshal(raw, b.Scale); err != nil {
			return err
		}
	}
	for _, p := range b.Photos {
		if raw, ok := notes["photo/"+p.SHA256]; ok {
			var at placed
			if err := json.Unmarshal(raw, &at); err != nil {
				return err
			}
			p.Animal, p.Side = at.Animal, at.Side
		}
		if b.Scale != nil {
			p.Scale = b.Scale.PxPerMM
		}
		if raw, ok := notes["scale/"+p.SHA256]; ok {
			var own Scale
			if err := json.Unmarshal(raw, &own); err != nil {
				return err
			}
			p.Scale, p.OwnScale = own.PxPerMM, true
		}
	}
	return nil
}

// readings adds what is known of the photographs and asks for what is not.
func (d *Desk) readings(ctx context.Context, lot string, photos []*BenchPhoto) error {
	version, err := d.ModelsInUse(ctx)
	if err != nil {
		return err
	}
	shas := make([]string, len(photos))
	for i, p := range photos {
		shas[i] = p.SHA256
	}
	rows, err := d.Store.Readings(ctx, shas)
	if err != nil {
		return err
	}
	ask := map[string][]string{}
	var ways []string
	for _, p := range photos {
		row := rows[p.SHA256]
		if p.Reading, err = ReadRow(row); err != nil {
			return err
		}
		way := Way{version, p.Scale}.String()
		p.Waiting = row.Waiting()
		if row.Wanted != way {
			p.Waiting = true
			if ask[way] == nil {
				ways = append(ways, way)
			}
			ask[way] = append(ask[way], p.SHA256)
		}
	}
	for _, way := range ways {
		if err := d.Store.WantReadings(ctx, lot, way, ask[way]); err != nil {
			return err
		}
	}
	return nil
}

// sort folds bursts and puts the sharpest first.
func (b *Bench) sort() {
	frames := make([]photo.Frame, len(b.Photos))
	for i, p := range b.Photos {
		f := photo.Frame{Name: p.Name}
		if r := p.Reading; r != nil {
			f.Likeness, f.Sharpness, f.Usable = r.Likeness, r.Sharp, r.Usable
			if r.Taken != 0 {
				f.Taken = r.Taken.In(time.UTC)
			}
		}
		frames[i] = f
	}
	for _, burst := range photo.Sort(frames) {
		var group []*BenchPhoto
		for _, i := range burst {
			b.Photos[i].Like = len(burst)
			group = append(group, b.Photos[i])
		}
		b.Bursts = append(b.Bursts, group)
	}
	slices.SortStableFunc(b.Bursts, func(x, y []*BenchPhoto) int { return byUse(x[0], y[0]) })
	b.Photos = slices.Concat(b.Bursts...)
}

// byUse puts usable before not, sharper before less, unread last.
func byUse(x, y *BenchPhoto) int {
	rank := func(p *BenchPhoto) (int, float64) {
		switch {
		case p.Usable():
			return 0, -p.Reading.Sharp
		case p.Reading == nil:
			return 1, 0
		case p.Reading.Fault == "":
			return 2, -p.Reading.Sharp
		}
		return 3, 0
	}
	a, s := rank(x)
	c, t := rank(y)
	return cmp.Or(cmp.Compare(a, c), cmp.Compare(s, t))
}

// animals gathers each animal's sides and what was said of it.
func (b *Bench) animals(notes map[string]json.RawMessage) {
	byNo := map[int]*BenchAnimal{}
	of := func(no int) *BenchAnimal {
		if byNo[no] == nil {
			byNo[no] = &BenchAnimal{No: no, Sides: map[holdfast.Side][]*BenchPhoto{}, Said: map[string]Said{}}
			b.Animals = append(b.Animals, byNo[no])
		}
		return byNo[no]
	}
	for _, p := range b.Photos {
		if p.Animal > 0 && p.Side != "" {
			a := of(p.Animal)
			a.Sides[p.Side] = append(a.Sides[p.Side], p)
		}
	}
	for _, a := range byNo {
		for _, list := range a.Sides {
			slices.SortStableFunc(list, byUse)
		}
	}
	prefix := "said/" + b.Day.String() + "/"
	for name, raw := range notes {
		rest, ok := strings.CutPrefix(name, prefix)
		if !ok {
			continue
		}
		no, who, _ := strings.Cut(rest, "/")
		n, err := strconv.Atoi(no)
		var said Said
		if err != nil || byNo[n] == nil || json.Unmarshal(raw, &said) != nil {
			continue // of an animal whose photographs were taken away
		}
		byNo[n].Said[who] = said
	}
	slices.SortFunc(b.Animals, func(x, y *BenchAnimal) int { return cmp.Compare(x.No, y.No) })
}

// looks finds the look that was saved of these photographs.
func (b *Bench) looks() {
	here := map[string]bool{}
	for _, p := range b.Photos {
		here[p.SHA256] = true
	}
	for i := range b.View.Lot.Events {
		ev := &b.View.Lot.Events[i]
		p, ok := ev.Payload.(*holdfast.Inspection)
		if ok && p.Second == "" && slices.ContainsFunc(p.Animals, func(a holdfast.Animal) bool {
			return slices.ContainsFunc(a.Photos, func(x holdfast.AnimalPhoto) bool { return here[x.SHA256] })
		}) {
			b.Saved = ev
		}
	}
	if b.Saved == nil {
		return
	}
	for _, ev := range b.View.Lot.Events {
		if p, ok := ev.Payload.(*holdfast.Inspection); ok && p.Second == b.Saved.ID {
			b.Seconds = append(b.Seconds, ev)
		}
	}
}

// Photo returns a photograph of the bench, or a NotFound error.
func (b *Bench) Photo(sha string) (*BenchPhoto, error) {
	for _, p := range b.Photos {
		if p.SHA256 == sha {
			return p, nil
		}
	}
	return nil, &holdfast.Error{Kind: holdfast.NotFound, Message: "There is no such photograph on this bench.", Hint: "Open the bench of the lot and choose one there."}
}

// Animal returns an animal of the bench, or a NotFound error.
func (b *Bench) Animal(no int) (*BenchAnimal, error) {
	for _, a := range b.Animals {
		if a.No == no {
			return a, nil
		}
	}
	return nil, &holdfast.Error{Kind: holdfast.NotFound, Message: fmt.Sprintf("No photograph shows animal %d.", no), Hint: "Say on the bench which photographs show it."}
}

// Counts says how many photographs wait to be read, and how many could not be.
func (b *Bench) Counts() (waiting, unread int) {
	for _, p := range b.Photos {
		switch {
		case p.Waiting:
			waiting++
		case p.Reading != nil && p.Reading.Fault != "":
			unread++
		}
	}
	return waiting, unread
}

// Sizes of what is looked for, in mm: outside them a measured thing is called
// implausible. Eggs of the rostrum worm's kin are 0.1 to 0.35 mm long and the
// worms to 3 mm; the ranges are wide on purpose. Guesses.
var (
	DotSize    = ref.Param{Value: 0.15, Low: 0.05, High: 0.4, Unit: "mm", Basis: ref.Guess, Note: "Diameter of a dot of a row."}
	DotStep    = ref.Param{Value: 0.2, Low: 0.06, High: 0.6, Unit: "mm", Basis: ref.Guess, Note: "Distance from dot to dot of a row."}
	ThreadSize = ref.Param{Value: 1, Low: 0.1, High: 6, Unit: "mm", Basis: ref.Guess, Note: "Length of a thread."}
)

// Implausible says in words what is odd about the size of a mark; empty when
// nothing is.
func (m ReadMark) Implausible() string {
	out := func(v float64, r ref.Param, what string) string {
		if v == 0 || (v >= r.Low && v <= r.High) {
			return ""
		}
		return fmt.Sprintf("%s of %.2g mm is not what is looked for (%g to %g): is the scale right?", what, v, r.Low, r.High)
	}
	switch m.Kind {
	case photo.Dots:
		return cmp.Or(out(m.DiameterMM, DotSize, "A dot"), out(m.StepMM, DotStep, "A step"))
	case photo.Filament:
		return out(m.LengthMM, ThreadSize, "A thread")
	}
	return ""
}

// Shown are the marks of rows that the shop's settings let through, and Order
// the threads and tufts as an order of crops, which never alarm. Overlapping
// crops are shown once.
func (r *Reading) Shown(s BenchSettings) (rows, order []ReadMark) {
	if r == nil || r.Fault != "" || r.PxPerMM == 0 {
		return nil, nil
	}
	for _, m := range r.Marks {
		switch {
		case m.Kind == photo.Dots:
			if m.ByChance >= 0 && m.ByChance <= s.FalseMarks {
				rows = append(rows, m)
			}
		case len(order) < 2*cropsShown:
			order = append(order, m)
		}
	}
	return rows, order
}

const cropsShown = 5
