package web

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"

	"holdfast/desk"
	"holdfast/internal/web/form"
	"holdfast/internal/web/page"
	"holdfast/internal/web/view"
	"holdfast/internal/web/words"
	"holdfast/photo"
	"holdfast/science/ref"
)

// taps are two points that were tapped or typed, in pixels of the picture as
// seen.
type taps struct{ ax, ay, bx, by *float64 }

// readTaps reads two points; both or neither.
func readTaps(f *form.Form, r *desk.Reading) taps {
	w, h := turnedOf(r).size()
	at := func(name string, far int) *float64 {
		return f.Number(name, form.Range{High: float64(far), Unit: "px"})
	}
	t := taps{at("ax", w), at("ay", h), at("bx", w), at("by", h)}
	n := 0
	for _, p := range []*float64{t.ax, t.ay, t.bx, t.by} {
		if p != nil {
			n++
		}
	}
	if n > 0 && n < 4 && f.OK() {
		f.Fault("ax", "Two points are needed.", "Tap both ends, or type all four numbers.")
	}
	return t
}

func (t taps) whole() bool { return t.ax != nil && t.ay != nil && t.bx != nil && t.by != nil }

// pixels is how far apart they are; turning changes no distance.
func (t taps) pixels() float64 { return math.Hypot(*t.ax-*t.bx, *t.ay-*t.by) }

// tapFields are the four numbers, for typing and for the script to fill.
func tapFields(f *form.Form) []view.Field {
	var out []view.Field
	for _, x := range []struct{ name, label string }{{"ax", "First point, from the left"}, {"ay", "First point, from the top"}, {"bx", "Second point, from the left"}, {"by", "Second point, from the top"}} {
		out = append(out, view.Field{Name: x.name, Label: x.label, Unit: "px", Value: f.Typed(x.name), Err: f.Err(x.name)})
	}
	return out
}

// glass is the picture that can be enlarged and tapped.
func glass(x *desk.BenchPhoto, marks []lettered, label string) page.Glass {
	w, h := turnedOf(x.Reading).size()
	return page.Glass{SVG: photoSVG(x, 1920, marks, label), Sharp: pictureURL(x.SHA256, 3840), W: w, H: h}
}

// benchPhoto answers GET /lots/{id}/bench/photo/{sha}: one photograph, large.
func (s *Server) benchPhoto(w http.ResponseWriter, r *http.Request) error {
	b, x, err := s.benchPhotoOf(r)
	if err != nil {
		return err
	}
	frame, err := s.frame(r)
	if err != nil {
		return err
	}
	d := sheet{s: s, b: b, who: whose(r)}
	f := form.New(r.URL.Query())
	p := page.PhotoView{Name: nameOf(x), From: fromBench(b), Sheet: benchURL(b.View.Lot.ID, b.Day),
		Original: "/photos/" + x.SHA256, Script: s.assets.URL("bench.js"), Sha: x.SHA256, Day: b.Day.String(), Put: lotURL(b.View.Lot.ID) + "/bench/put",
		Here: d.photoURL(x.SHA256), Measure: lotURL(b.View.Lot.ID) + "/bench/photo/" + x.SHA256, Animal: cmp.Or(x.Animal, d.current(r)), On: x.Animal, Side: string(x.Side), ScaleURL: sub(b, "scale") + "&photo=" + x.SHA256,
		HereQuery: []view.Pair{{Name: "day", Value: b.Day.String()}}}
	if n, err := strconv.Atoi(r.URL.Query().Get("from")); err == nil && n > 0 {
		p.Judge = d.animalURL(n)
		p.HereQuery = append(p.HereQuery, view.Pair{Name: "from", Value: strconv.Itoa(n)})
		p.JudgeSays = fmt.Sprintf("Back to animal %d", n)
	}
	p.Mark, p.State, p.Says = d.state(x)
	p.Facts = photoFacts(x, frame.Now.Location())
	status := http.StatusOK
	if x.Reading == nil || x.Reading.Fault != "" {
		p.Plain = pictureURL(x.SHA256, 960)
		if x.Reading != nil {
			p.Plain, p.Fault = "", x.Reading.Fault
		}
	} else {
		var marks []lettered
		marks, p.Marks, p.Kept = d.mayShow(x)
		p.Glass = glass(x, marks, nameOf(x))
		p.Why = x.Reading.CannotTell()
		t := readTaps(f, x.Reading)
		p.Taps = tapFields(f)
		if !f.OK() {
			status = http.StatusBadRequest
		}
		if t.whole() && f.OK() {
			p.Length = lengthSays(t.pixels(), x.Scale)
		}
	}
	return s.page(w, r, status, page.PhotoPage(view.Page{Frame: frame, Title: p.Name, At: view.Lots}, p))
}

// lengthSays says how long a distance is, and what is odd about it.
func lengthSays(px, perMM float64) string {
	if perMM == 0 {
		return fmt.Sprintf("%s pixels. Without a scale nobody can say how many millimetres.", words.Number(px, 0))
	}
	mm := px / perMM
	say := fmt.Sprintf("%s mm.", words.Number(mm, 2))
	switch {
	case mm > 40:
		say += " That is longer than a dwarf shrimp: is the scale right?"
	case mm < 0.02:
		say += " That is finer than a lens shows: is the scale right?"
	}
	return say
}

// mayShow returns the marks of a photograph if this person may see them: those
// of an animal that was judged, or all where the shop wants it so.
func (d sheet) mayShow(x *desk.BenchPhoto) (marks []lettered, says []page.PhotoMark, kept string) {
	may := d.b.Settings.MarksAtOnce
	if x.Animal > 0 {
		if a, err := d.b.Animal(x.Animal); err == nil && a.Said[d.who].Done {
			may = true
		}
	}
	if !may {
		kept = "Marks are kept back until you have judged its animal without them."
		if x.Animal == 0 {
			kept = "Marks are kept back until it is put to an animal and you have judged that."
		}
		return nil, nil, kept
	}
	rows, _ := x.Reading.Shown(d.b.Settings)
	for i, m := range rows {
		marks = append(marks, lettered{m, letter(i)})
		says = append(says, page.PhotoMark{Says: letter(i) + ": " + strings.TrimSpace(markSays(m)+" "+m.Implausible()), Might: d.might(m)})
	}
	if len(rows) == 0 {
		kept = "Nothing marked. That is not clean: look for yourself."
	}
	return marks, says, kept
}

func photoFacts(x *desk.BenchPhoto, zone *time.Location) []page.Fact {
	facts := []page.Fact{{Name: "Added", Says: words.Moment(x.At.In(zone)) + " by " + somebody(x.Who)}}
	r := x.Reading
	if r == nil || r.Fault != "" {
		return facts
	}
	if r.Taken != 0 {
		facts = append(facts, page.Fact{Name: "Taken, by the camera’s clock", Says: words.Moment(r.Taken.In(time.UTC))})
	}
	kind := strings.ToUpper(r.Format)
	if r.Preview {
		kind = "The preview inside a camera raw file"
	}
	facts = append(facts, page.Fact{Name: "File", Says: fmt.Sprintf("%s, %s by %s pixels", kind, words.Int(r.W), words.Int(r.H))})
	if c := strings.TrimSpace(r.Camera + " " + r.Lens); c != "" {
		facts = append(facts, page.Fact{Name: "Camera", Says: c})
	}
	if x.Scale > 0 {
		facts = append(facts, page.Fact{Name: "Scale", Says: words.Number(x.Scale, 1) + " pixels a millimetre"})
	}
	for _, n := range r.Notes {
		if !strings.HasPrefix(n, "no scale") {
			facts = append(facts, page.Fact{Name: "Limit", Says: words.Capital(n)})
		}
	}
	return facts
}

// benchScale answers GET /lots/{id}/bench/scale.
func (s *Server) benchScale(w http.ResponseWriter, r *http.Request) error {
	b, err := s.benchOf(r)
	if err != nil {
		return err
	}
	return s.scalePage(w, r, http.StatusOK, b, form.New(url.Values{}), "")
}

func (s *Server) scalePage(w http.ResponseWriter, r *http.Request, status int, b *desk.Bench, f *form.Form, ticks string) error {
	frame, err := s.frame(r)
	if err != nil {
		return err
	}
	d := sheet{s: s, b: b, who: whose(r)}
	p := page.ScaleView{Action: sub(b, "scale"), Sheet: benchURL(b.View.Lot.ID, b.Day), From: fromBench(b),
		Now: d.scale().Says, Known: b.Scale != nil, Script: s.assets.URL("bench.js"), Ticks: ticks}
	sha := r.FormValue("photo")
	for _, burst := range b.Bursts {
		x := burst[0]
		if x.Reading != nil && x.Reading.Fault == "" && len(p.Choose) < 60 {
			p.Choose = append(p.Choose, page.Frame{Thumb: pictureURL(x.SHA256, 240), URL: sub(b, "scale") + "&photo=" + x.SHA256, Says: nameOf(x)})
		}
	}
	var sensor float64
	if sha != "" {
		x, err := b.Photo(sha)
		if err != nil {
			return err
		}
		if x.Reading != nil && x.Reading.Fault == "" {
			g := glass(x, nil, nameOf(x))
			p.Glass, p.Sha, p.Name, p.Own = &g, sha, nameOf(x), x.OwnScale
			p.Taps = tapFields(f)
			sensor = x.Reading.SensorPxPerMM
		}
	}
	if sensor == 0 {
		for _, x := range b.Photos {
			if x.Reading != nil && x.Reading.SensorPxPerMM > 0 {
				sensor = x.Reading.SensorPxPerMM
				break
			}
		}
	}
	field := func(name, label, unit, hint, value string) view.Field {
		if v := f.Typed(name); v != "" {
			value = v
		}
		return view.Field{Name: name, Label: label, Unit: unit, Hint: hint, Value: value, Err: f.Err(name)}
	}
	p.MM = field("mm", "They lie apart", "mm", "", "10")
	p.Tick = field("tick", "From tick to tick", "mm", "1 on most rulers, 0.5 on some", "1")
	p.Magnification = field("magnification", "Magnification", "", "1 is life size on the sensor, 0.5 half of it", "")
	pitch := ""
	if sensor > 0 {
		pitch = words.Number(1000/sensor, 2)
	}
	p.Pitch = field("pitch", "Pixel pitch of the sensor", "µm", "From the camera’s data sheet; filled in when the file says it", pitch)
	p.Direct = field("px_per_mm", "Pixels a millimetre", "px", "", "")
	p.For = field("for", "For which photographs?", "", "", "day")
	p.Faults = view.Faults(slices.Concat(p.Taps, []view.Field{p.MM, p.Tick, p.Magnification, p.Pitch, p.Direct})...)
	for _, name := range []string{"scale", "do"} {
		if say := f.Err(name); say != "" {
			p.Faults = append(p.Faults, view.Fault{ID: "main", Label: "Scale", Message: say})
		}
	}
	frame.Back = sub(b, "scale")
	return s.page(w, r, status, page.ScalePage(view.Page{Frame: frame, Title: "Scale: " + b.View.Lot.Strain, At: view.Lots}, p))
}

// scaleSave keeps a scale, however it was measured.
func (s *Server) scaleSave(w http.ResponseWriter, r *http.Request) error {
	if err := r.ParseForm(); err != nil {
		return badForm(err)
	}
	b, err := s.benchOf(r)
	if err != nil {
		return err
	}
	lot, f := b.View.Lot.ID, form.New(r.PostForm)
	sha := ""
	if r.PostForm.Get("for") == "photo" {
		sha = r.PostForm.Get("photo")
	}
	if r.PostForm.Get("do") == "forget" {
		if err := s.Desk.ForgetScale(r.Context(), lot, b.Day, sha); err != nil {
			return err
		}
		http.Redirect(w, r, sub(b, "scale"), http.StatusSeeOther)
		return nil
	}
	px, how, ticks := s.measured(r, b, f)
	if ticks != "" && f.OK() && px == 0 {
		return s.scalePage(w, r, http.StatusOK, b, f, ticks)
	}
	if f.OK() {
		err := s.Desk.SetScale(r.Context(), lot, b.Day, sha, desk.Scale{PxPerMM: px, How: how, Who: whose(r)})
		if took, _ := take(f, err); !took && err != nil {
			return err
		}
	}
	if !f.OK() {
		return s.scalePage(w, r, http.StatusBadRequest, b, f, ticks)
	}
	if _, err := s.Desk.Bench(r.Context(), lot, b.Day); err != nil { // asks for the new readings
		return err
	}
	s.wake()
	http.Redirect(w, r, benchURL(lot, b.Day), http.StatusSeeOther)
	return nil
}

// measured reads the scale from the form, and in words how it was come by.
func (s *Server) measured(r *http.Request, b *desk.Bench, f *form.Form) (px float64, how, ticks string) {
	var x *desk.BenchPhoto
	if sha := r.PostForm.Get("photo"); sha != "" {
		var err error
		measured := slices.Contains([]string{"taps", "ticks"}, r.PostForm.Get("do"))
		if x, err = b.Photo(sha); err != nil || measured && (x.Reading == nil || x.Reading.Fault != "") {
			f.Fault("do", "That photograph is not on this bench, or not read yet.", "Choose another.")
			return 0, "", ""
		}
	} else if r.PostForm.Get("for") == "photo" {
		f.Fault("do", "No photograph was chosen.", "Choose one, or all of the day.")
		return 0, "", ""
	}
	switch do := r.PostForm.Get("do"); {
	case do == "taps" && x != nil:
		t := readTaps(f, x.Reading)
		mm := f.Number("mm", form.Range{Low: 0.1, High: 500, Unit: "mm", Needed: true})
		if f.OK() && !t.whole() {
			f.Fault("ax", "No points yet.", "Tap both ends on the ruler, or type the four numbers.")
		}
		if f.OK() {
			v, err := photo.ScaleFromTaps(photo.Point{X: *t.ax, Y: *t.ay}, photo.Point{X: *t.bx, Y: *t.by}, *mm)
			if err != nil {
				f.Fault("ax", "From these points no scale can be told.", "Tap two points that lie well apart.")
			}
			return v, fmt.Sprintf("from two points %s mm apart on %s", words.Number(*mm, 2), nameOf(x)), ""
		}
	case do == "ticks" && x != nil:
		mm := f.Number("tick", form.Range{Low: 0.05, High: 20, Unit: "mm", Needed: true})
		if f.OK() {
			return s.ticks(r, f, x, *mm)
		}
	case do == "lens":
		m := f.Number("magnification", form.Range{Low: 0.05, High: 50, Needed: true})
		p := f.Number("pitch", form.Range{Low: 0.3, High: 30, Unit: "µm", Needed: true})
		if f.OK() {
			return photo.ScaleFromMagnification(*m, 1000/(*p)), fmt.Sprintf("from a magnification of %s and pixels of %s µm", words.Number(*m, 2), words.Number(*p, 2)), ""
		}
	case do == "direct":
		if v := f.Number("px_per_mm", form.Range{Low: photo.MinPxPerMM, High: photo.MaxPxPerMM, Unit: "px", Needed: true}); v != nil {
			return *v, "as typed", ""
		}
	default:
		f.Fault("do", "That is no way to a scale.", "Choose a photograph, or one of the other ways.")
	}
	return 0, "", ""
}

// ticks looks for a ruler's ticks. What it finds is proposed, not taken: a row
// of gravel has a rhythm too.
func (s *Server) ticks(r *http.Request, f *form.Form, x *desk.BenchPhoto, mm float64) (float64, string, string) {
	found, err := s.Pictures.Ruler(r.Context(), x.SHA256)
	var none *ref.NoAnswer
	switch {
	case errors.As(err, &none):
		f.Fault("tick", "No regular ticks were found on this photograph.", "Tap two points on the ruler instead.")
		return 0, "", ""
	case err != nil:
		f.Fault("tick", "This photograph cannot be searched for ticks.", "Tap two points on the ruler instead.")
		return 0, "", ""
	}
	px := found.Spacing / mm
	r.PostForm.Set("px_per_mm", words.Number(px, 2))
	return 0, "", fmt.Sprintf("Regular ticks %s pixels apart were found, on %s of the lines across the picture. If they are the ruler’s, %s mm each, the scale is %s pixels a millimetre: it stands under Known already, take it there. Anything regular can look like a ruler.",
		words.Number(found.Spacing, 1), words.Percent(found.Lines), words.Number(mm, 2), words.Number(px, 1))
}
