package desk

import (
	"cmp"
	"context"
	"encoding/json"
	"fmt"
	"math"
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

// BenchSettings are how the bench is used in this shop.
type BenchSettings struct {
	// FalseMarks is how many marks of nothing a photograph may carry on average.
	FalseMarks float64 `json:"false_marks"`
	// MarksAtOnce shows the marks before the person has judged.
	MarksAtOnce bool `json:"marks_at_once"`
}

// DefaultBench are the settings of a shop that has set none.
var DefaultBench = BenchSettings{FalseMarks: 1}

const benchTopic = "bench"

// BenchSettings returns the settings of the bench.
func (d *Desk) BenchSettings(ctx context.Context) (BenchSettings, error) {
	s := DefaultBench
	err := d.recall(ctx, "settings", &s)
	return s, err
}

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

// AddPhotos records photographs that the media store keeps, in one batch. Those
// that the lot has already are passed over and returned.
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
	added, err = d.write(ctx, by, nil, notes...)
	return added, known, err
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

func scaleName(day holdfast.Day) string { return "scale/" + day.String() }

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

func saidName(day holdfast.Day, animal int, who string) string {
	return "said/" + day.String() + "/" + strconv.Itoa(animal) + "/" + who
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

// Unsay forgets it.
func (d *Desk) Unsay(ctx context.Context, lot string, day holdfast.Day, animal int, who string) error {
	return d.Store.KeepNote(ctx, lot, saidName(day, animal, who), nil)
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
