package web

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"mime/multipart"
	"net/http"
	"net/url"
	"path"
	"strconv"
	"strings"

	"holdfast"
	"holdfast/desk"
	"holdfast/internal/web/page"
	"holdfast/internal/web/view"
	"holdfast/internal/web/words"
)

// mostFiles bounds how many photographs are added at once.
const mostFiles = 2000

// arrived is what became of the files that were sent.
type arrived struct {
	Added int        `json:"added"`
	Known []string   `json:"known"`
	Bad   []badPhoto `json:"bad"`
	// First and Last are the entries of the first and last one added.
	First holdfast.ID `json:"first,omitempty"`
	Last  holdfast.ID `json:"last,omitempty"`
}

type badPhoto struct {
	Name string `json:"name"`
	Says string `json:"says"`
}

// benchAdd takes any number of files as they stream in. Each is on the disk
// before the entry that names it is written; a bad one is named and the others
// are kept.
func (s *Server) benchAdd(w http.ResponseWriter, r *http.Request) error {
	id := r.PathValue("id")
	if s.Photos == nil {
		return errNoPage
	}
	if _, err := s.Desk.Lot(r.Context(), id); err != nil {
		return err
	}
	in, err := r.MultipartReader()
	if err != nil {
		return badForm(err)
	}
	files, out, err := s.takeFiles(w, in)
	if err != nil {
		return err
	}
	added, known, err := s.Desk.AddPhotos(r.Context(), desk.Actor{Who: whose(r)}, id, files)
	if err != nil {
		return err
	}
	out.Added = len(added)
	if len(added) > 0 {
		out.First, out.Last = added[0], added[len(added)-1]
	}
	for _, p := range known {
		out.Known = append(out.Known, p.Name)
	}
	s.wake()
	return s.benchAdded(w, r, out)
}

// takeFiles keeps every readable file of a form.
func (s *Server) takeFiles(w http.ResponseWriter, in *multipart.Reader) ([]holdfast.PhotoAdded, arrived, error) {
	var all []holdfast.PhotoAdded
	var out arrived
	for {
		patient(w)
		part, err := in.NextPart()
		if errors.Is(err, io.EOF) {
			return all, out, nil
		}
		if err != nil {
			return nil, out, badForm(err)
		}
		if part.FileName() == "" {
			continue // an empty file field, or a field that is not a file
		}
		name := fileName(part.FileName())
		if len(all)+len(out.Bad) >= mostFiles {
			out.Bad = append(out.Bad, badPhoto{name, fmt.Sprintf("Only %s files are taken at once: send it and those after it again.", words.Int(mostFiles))})
			return all, out, nil
		}
		kept, err := s.Photos.Save(part)
		var refused holdfast.Problems
		switch {
		case errors.As(err, &refused):
			out.Bad = append(out.Bad, badPhoto{name, words.Capital(refused[0].Message) + ". " + refused[0].Hint})
			continue
		case err != nil:
			var tooLarge *http.MaxBytesError
			if errors.As(err, &tooLarge) {
				out.Bad = append(out.Bad, badPhoto{name, "Too much was sent at once: send it and those after it again."})
				return all, out, nil
			}
			return nil, out, err
		}
		all = append(all, holdfast.PhotoAdded{SHA256: kept.SHA256, Size: kept.Size, Media: kept.Media, Name: name})
	}
}

// fileName is a name as a person would read it, without folders.
func fileName(s string) string {
	s = strings.ToValidUTF8(path.Base(strings.ReplaceAll(s, `\`, "/")), "?")
	s = strings.Map(func(c rune) rune {
		if c < ' ' || c == 0x7f {
			return -1
		}
		return c
	}, s)
	r := []rune(s)
	return string(r[:min(len(r), 100)])
}

// benchAdded answers a script with numbers and a person with the bench.
func (s *Server) benchAdded(w http.ResponseWriter, r *http.Request, out arrived) error {
	if r.Header.Get("Accept") == "application/json" {
		w.Header().Set("Content-Type", "application/json")
		return json.NewEncoder(w).Encode(out)
	}
	if out.Added > 0 && len(out.Bad) == 0 && len(out.Known) == 0 {
		to := benchURL(r.PathValue("id"), 0) + "?" + url.Values{"added": {strconv.Itoa(out.Added)}, "first": {string(out.First)}, "last": {string(out.Last)}}.Encode()
		http.Redirect(w, r, to, http.StatusSeeOther)
		return nil
	}
	status := http.StatusOK
	if out.Added == 0 && len(out.Known) == 0 {
		status = http.StatusBadRequest
		if len(out.Bad) == 0 {
			out.Bad = []badPhoto{{"Nothing", "No photograph was chosen."}}
		}
	}
	return s.benchShown(w, r, status, &out)
}

// takeBack is the button that takes back the photographs from one entry to
// another; nil if these are no entries.
func (s *Server) takeBack(lot string, first, last holdfast.ID) (*view.StripForm, error) {
	if !first.Valid() || !last.Valid() {
		return nil, nil
	}
	id, err := s.Desk.NewID()
	if err != nil {
		return nil, err
	}
	return &view.StripForm{Label: "Take them back", Action: lotURL(lot) + "/bench/back", Hidden: []view.Pair{
		{Name: "first", Value: string(first)}, {Name: "last", Value: string(last)}, {Name: "id", Value: string(id)}}}, nil
}

// benchBack takes a whole import back; the strip that follows puts it back.
func (s *Server) benchBack(w http.ResponseWriter, r *http.Request) error {
	if err := r.ParseForm(); err != nil {
		return badForm(err)
	}
	first, last := holdfast.ID(r.PostForm.Get("first")), holdfast.ID(r.PostForm.Get("last"))
	if !first.Valid() || !last.Valid() {
		return &holdfast.Error{Kind: holdfast.Invalid, Message: "This does not say which photographs to take back.", Hint: "Use the Undo beside each in the journal of its lot."}
	}
	by, err := s.actor(r)
	if err != nil {
		return err
	}
	id, err := s.Desk.TakePhotosBack(r.Context(), by, r.PathValue("id"), first, last)
	if err != nil {
		return err
	}
	return s.recordedTogether(w, r, benchURL(r.PathValue("id"), 0), "", id)
}

// cameOf says what became of the files.
func cameOf(out *arrived) *page.Came {
	if out == nil {
		return nil
	}
	c := &page.Came{Says: words.Plural(out.Added, "photograph", "photographs") + " added."}
	if out.Added == 0 {
		c.Says = "No photograph was added."
	}
	if n := len(out.Known); n > 0 {
		c.Says += " " + words.Plural(n, "file", "files") + " stood on this lot’s bench already: " + some8(out.Known) + "."
	}
	for _, b := range out.Bad {
		if len(c.Bad) == 50 {
			c.Bad = append(c.Bad, page.BadFile{Name: "And more", Says: words.Plural(len(out.Bad)-50, "file", "files") + "."})
			break
		}
		c.Bad = append(c.Bad, page.BadFile{Name: b.Name, Says: b.Says})
	}
	return c
}

// some8 names at most eight.
func some8(names []string) string {
	if n := len(names) - 8; n > 0 {
		return strings.Join(names[:8], ", ") + " and " + words.Int(n) + " more"
	}
	return strings.Join(names, ", ")
}

// benchPause pauses reading, or goes on.
func (s *Server) benchPause(w http.ResponseWriter, r *http.Request) error {
	if err := r.ParseForm(); err != nil {
		return badForm(err)
	}
	if err := s.Desk.PauseReading(r.Context(), r.PostForm.Get("do") == "pause"); err != nil {
		return err
	}
	s.wake()
	http.Redirect(w, r, local(r.PostForm.Get("back")), http.StatusSeeOther)
	return nil
}

// wake tells whoever reads photographs that there are some.
func (s *Server) wake() {
	if s.Wake != nil {
		s.Wake()
	}
}
