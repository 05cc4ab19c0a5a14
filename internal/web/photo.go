package web

import (
	"io"
	"net/http"
	"os"
	"time"

	"holdfast"
	"holdfast/internal/media"
	"holdfast/internal/web/form"
	"holdfast/internal/web/page"
	"holdfast/internal/web/words"
)

// Photographs keeps the photographs that entries name.
type Photographs interface {
	Save(r io.Reader) (media.Kept, error)
	Open(sum string) (*os.File, string, error)
}

// addPhoto keeps a photograph first and records it then: an entry never names
// a file that may be lost.
func (s *Server) addPhoto(w http.ResponseWriter, r *http.Request) error {
	id := r.PathValue("id")
	if s.Photos == nil {
		return errNoPage
	}
	if _, err := s.Desk.Lot(r.Context(), id); err != nil {
		return err
	}
	patient(w)
	if err := r.ParseMultipartForm(1 << 20); err != nil {
		return badForm(err)
	}
	defer r.MultipartForm.RemoveAll()
	f := form.New(r.PostForm)
	note := f.Text("note", 500, false)
	if !f.OK() {
		return f.Faults()
	}
	in, head, err := r.FormFile("photo")
	if err != nil {
		return holdfast.Problems{{Field: "photo", Message: "no photograph was chosen", Hint: "Go back and choose one."}}
	}
	defer in.Close()
	by, err := s.author(r)
	if err != nil {
		return err
	}
	kept, err := s.Photos.Save(in)
	if err != nil {
		return err
	}
	p := holdfast.PhotoAdded{SHA256: kept.SHA256, Size: kept.Size, Media: kept.Media, Name: fileName(head.Filename), Note: note}
	if err := s.Desk.AddPhoto(r.Context(), by, id, p); err != nil {
		return err
	}
	return s.recorded(w, r, "/lots/"+id, "photographs", by.ID)
}

// photo sends a photograph as it was kept. It never changes, so a browser may
// keep it; what it is was told by its bytes and is never run.
func (s *Server) photo(w http.ResponseWriter, r *http.Request) error {
	if s.Photos == nil {
		return errNoPage
	}
	f, kind, err := s.Photos.Open(r.PathValue("sha"))
	if err != nil {
		return err
	}
	defer f.Close()
	h := w.Header()
	h.Set("Content-Type", kind)
	h.Set("Content-Security-Policy", "default-src 'none'; sandbox")
	h.Set("Cache-Control", "private, max-age=31536000, immutable")
	http.ServeContent(w, r, "", time.Time{}, f)
	return nil
}

// photosShown is how many a lot's own page shows; the bench has them all.
const photosShown = 24

// photos lists the photographs of the lot, newest first.
func (b *lotBuild) photos(l *page.Lot) error {
	if b.s.Photos == nil {
		return nil
	}
	id, err := b.s.Desk.NewID()
	if err != nil {
		return err
	}
	l.Photos = &page.Photos{Action: l.URL + "/photo", Entry: string(id)}
	for i := len(b.v.Lot.Events) - 1; i >= 0; i-- {
		ev := b.v.Lot.Events[i]
		p, ok := ev.Payload.(*holdfast.PhotoAdded)
		if !ok {
			continue
		}
		says := words.Moment(ev.OccurredAt.In(b.zone))
		if p.Note != "" {
			says += ": " + p.Note
		} else if p.Name != "" {
			says += ", " + p.Name
		}
		x := page.Photo{URL: "/photos/" + p.SHA256, Says: says}
		switch {
		case b.s.Pictures != nil: // every kind is shown, small
			x.Picture, x.URL = pictureURL(p.SHA256, 480), l.URL+"/bench/photo/"+p.SHA256+"?day="+holdfast.DayOf(ev.OccurredAt, b.zone).String()
		case p.Media == "image/jpeg" || p.Media == "image/png" || p.Media == "image/webp":
			x.Picture = x.URL
		}
		l.Photos.All = append(l.Photos.All, x)
		if len(l.Photos.All) == photosShown {
			l.Photos.More = l.URL + "/bench"
			return nil
		}
	}
	return nil
}
