package web

import (
	"archive/zip"
	"bytes"
	"encoding/csv"
	"errors"
	"fmt"
	"image"
	"io"
	"net/http"
	"strconv"
	"strings"

	"holdfast"
	"holdfast/desk"
	"holdfast/internal/darkroom"
	"holdfast/internal/paper"
	"holdfast/internal/web/form"
	"holdfast/internal/web/page"
	"holdfast/internal/web/view"
	"holdfast/internal/web/words"
)

// benchShop answers GET /bench: how the bench is used in this shop, and what
// the verdicts say of the desk's own marks.
func (s *Server) benchShop(w http.ResponseWriter, r *http.Request) error {
	return s.benchShopPage(w, r, http.StatusOK, form.New(nil), "")
}

func (s *Server) benchShopPage(w http.ResponseWriter, r *http.Request, status int, f *form.Form, says string) error {
	if s.Pictures == nil {
		return errNoPage
	}
	frame, err := s.frame(r)
	if err != nil {
		return err
	}
	set, err := s.Desk.BenchSettings(r.Context())
	if err != nil {
		return err
	}
	rec, err := s.Desk.FinderRecord(r.Context())
	if err != nil {
		return err
	}
	p := page.BenchShop{Says: says, FalseMarks: view.Field{Name: "false_marks", Label: "False marks a photograph that you accept", Value: f.Typed("false_marks"), Err: f.Err("false_marks"), Half: true,
		Hint: "1 is a fair start. Fewer misses more rows, more asks you to look at more of nothing."},
		When: view.Field{Name: "when", Label: "When are marks shown?", Value: f.Typed("when"), Err: f.Err("when")}}
	if p.FalseMarks.Value == "" && f.OK() {
		p.FalseMarks.Value = words.Number(set.FalseMarks, 2)
	}
	if p.When.Value == "" {
		p.When.Value = "after"
		if set.MarksAtOnce {
			p.When.Value = "once"
		}
	}
	p.Faults = view.Faults(p.FalseMarks, p.When)
	p.Record = recordSays(rec)
	versions, inUse, err := s.Desk.ModelVersions(r.Context())
	if err != nil {
		return err
	}
	p.BuiltInUse = inUse == ""
	for _, v := range versions {
		p.Models = append(p.Models, page.ModelRow{Name: v.Name, When: words.Moment(v.Made.In(frame.Now.Location())), From: v.From, Why: v.Why, Kept: v.Kept, InUse: v.Name == inUse})
	}
	p.Labelled = rec.Labelled
	p.Teach = fmt.Sprintf("%s on marks so far.", words.Capital(words.Plural(rec.Labelled, "verdict", "verdicts")))
	return s.page(w, r, status, page.BenchShopPage(view.Page{Frame: frame, Title: "The bench in this shop", At: view.Lots, Width: view.Middle}, p))
}

// recordSays puts the finder's own record into sentences.
func recordSays(r desk.FinderRecord) []page.Fact {
	if r.Animals == 0 {
		return nil
	}
	out := []page.Fact{{Name: "Judged on the bench", Says: fmt.Sprintf("%s in %s, by %s.", words.Plural(r.Animals, "animal", "animals"), words.Plural(r.Looks, "look", "looks"), words.Plural(r.Photos, "photograph", "photographs"))}}
	if r.Seen.Rows > 0 {
		out = append(out, page.Fact{Name: "Rows of eggs that you named before the marks were shown", Says: marksSay(r.Seen)})
	} else {
		out = append(out, page.Fact{Name: "Rows of eggs that you named before the marks were shown", Says: "None yet that tells anything, so nothing is known of how many the desk marks here."})
	}
	if r.OnlyMarks > 0 {
		out = append(out, page.Fact{Name: "Rows of eggs that only a mark showed you", Says: fmt.Sprintf("On %s.", words.Plural(r.OnlyMarks, "animal", "animals"))})
	}
	if say := marksLeftOut(r.Seen); say != "" {
		out = append(out, page.Fact{Name: "Says nothing of what the marks miss", Says: say})
	}
	if r.CleanPhotos > 0 {
		out = append(out, page.Fact{Name: "Marks of nothing", Says: fmt.Sprintf("%s on %s of animals without a row: %s a photograph; you accept %s.",
			words.Plural(r.FalseMarks, "mark", "marks"), words.Plural(r.CleanPhotos, "photograph", "photographs"), words.Number(float64(r.FalseMarks)/float64(r.CleanPhotos), 2), words.Number(r.Accepted, 2))})
	}
	if r.Unread > 0 {
		out = append(out, page.Fact{Name: "Left out", Says: fmt.Sprintf("%s not read with a scale.", words.Capital(words.Plural(r.Unread, "photograph is", "photographs are")))})
	}
	return out
}

// marksSay says how often the desk marks what people name without it.
func marksSay(m desk.MarksLearned) string {
	return fmt.Sprintf("On %s. The desk had marked it on %s: its marks find %s (%s, 9 times in 10; before the first animal every share counts alike, which weighs as much as 2 animals).",
		words.Plural(m.Rows, "animal", "animals"), words.Int(m.Marked), inTen(m.Share), bandInTen(m.Interval))
}

// marksLeftOut says which judgements tell nothing of what the marks miss; empty
// when all do.
func marksLeftOut(m desk.MarksLearned) string {
	var out []string
	if m.InView > 0 {
		out = append(out, words.Plural(m.InView, "animal", "animals")+" judged with the marks in view from the start: who has seen a mark no longer finds what it missed.")
	}
	if m.Unsaid > 0 {
		out = append(out, words.Plural(m.Unsaid, "animal", "animals")+" with a row and with marks of which nobody said what they are.")
	}
	return strings.Join(out, " ")
}

// benchShopSave changes how the bench is used.
func (s *Server) benchShopSave(w http.ResponseWriter, r *http.Request) error {
	if err := r.ParseForm(); err != nil {
		return badForm(err)
	}
	f := form.New(r.PostForm)
	set := desk.BenchSettings{MarksAtOnce: f.OneOf("when", []string{"after", "once"}, true) == "once"}
	if v := f.Number("false_marks", form.Range{Low: 0.01, High: 20, Needed: true}); v != nil {
		set.FalseMarks = *v
	}
	if f.OK() {
		err := s.Desk.SetBench(r.Context(), set)
		if took, _ := take(f, err); !took && err != nil {
			return err
		}
	}
	if !f.OK() {
		return s.benchShopPage(w, r, http.StatusBadRequest, f, "")
	}
	return s.benchShopPage(w, r, http.StatusOK, form.New(nil), "Kept.")
}

// benchRefit fits the last word on rows anew.
func (s *Server) benchRefit(w http.ResponseWriter, r *http.Request) error {
	v, err := s.Desk.Teach(r.Context(), whose(r))
	var refused *holdfast.Error
	switch {
	case errors.As(err, &refused) && refused.Kind == holdfast.Refused:
		return s.benchShopPage(w, r, http.StatusOK, form.New(nil), joined(refused.Message, refused.Hint))
	case err != nil:
		return err
	}
	s.wake()
	return s.benchShopPage(w, r, http.StatusOK, form.New(nil), joined("Refit "+v.Name+" was made.", v.Why))
}

// benchModel puts a refit in use, or the one that comes with the program.
func (s *Server) benchModel(w http.ResponseWriter, r *http.Request) error {
	if err := r.ParseForm(); err != nil {
		return badForm(err)
	}
	if err := s.Desk.UseModel(r.Context(), r.PostForm.Get("version")); err != nil {
		return err
	}
	s.wake()
	http.Redirect(w, r, "/bench#teach", http.StatusSeeOther)
	return nil
}

// benchCrops sends every place on a photograph that somebody judged, cut out,
// with a table of what it was judged to be.
func (s *Server) benchCrops(w http.ResponseWriter, r *http.Request) error {
	if s.Pictures == nil {
		return errNoPage
	}
	labels, err := s.Desk.Labels(r.Context())
	if err != nil {
		return err
	}
	attach(w, "application/zip", "crops.zip")
	z := zip.NewWriter(w)
	var table bytes.Buffer
	rows := csv.NewWriter(&table)
	_ = rows.Write([]string{"crop", "photograph", "lot", "animal", "side", "px_per_mm", "x", "y", "w", "h", "verdict", "who", "day"})
	for i, l := range labels {
		patient(w)
		name := fmt.Sprintf("crops/%05d-%s.jpg", i+1, l.Verdict)
		crop := image.Rect(l.Box.X, l.Box.Y, l.Box.X+l.Box.W, l.Box.Y+l.Box.H)
		if err := s.zipCrop(r, z, name, l.Photo, crop); err != nil {
			name = "" // a photograph that is gone or cannot be read
		}
		n := strconv.Itoa
		_ = rows.Write([]string{name, l.Photo, l.Lot, n(l.Animal), string(l.Side), strconv.FormatFloat(l.PxPerMM, 'f', -1, 64), n(l.Box.X), n(l.Box.Y), n(l.Box.W), n(l.Box.H), l.Verdict, paper.Guard(l.Who), l.Day.String()})
	}
	rows.Flush()
	out, err := z.Create("labels.csv")
	if err == nil {
		_, err = out.Write(table.Bytes())
	}
	if err != nil {
		return nil // the reader has gone away: nothing to be done
	}
	_ = z.Close()
	return nil
}

func (s *Server) zipCrop(r *http.Request, z *zip.Writer, name, sha string, crop image.Rectangle) error {
	f, err := s.Pictures.Picture(r.Context(), sha, darkroom.Print{Width: 240, Crop: crop})
	if err != nil {
		return err
	}
	defer f.Close()
	out, err := z.Create(name)
	if err != nil {
		return err
	}
	_, err = io.Copy(out, f)
	return err
}
