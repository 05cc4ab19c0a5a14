package web

import (
	"cmp"
	"context"
	"errors"
	"image"
	"net/http"
	"net/url"
	"os"
	"slices"
	"strconv"
	"time"

	"holdfast"
	"holdfast/desk"
	"holdfast/internal/darkroom"
	"holdfast/internal/web/page"
	"holdfast/internal/web/view"
	"holdfast/internal/web/words"
	"holdfast/photo"
	"holdfast/science/ref"
)

// Pictures makes pictures of photographs that browsers can show.
type Pictures interface {
	Picture(ctx context.Context, sum string, p darkroom.Print) (*os.File, error)
	// Ruler looks for the ticks of a ruler and returns their distance in stored
	// pixels.
	Ruler(ctx context.Context, sum string) (photo.Ruler, error)
	// Join joins the slices of a focus stack, and Joined opens what came of it.
	Join(ctx context.Context, sums []string, best int) (string, error)
	Joined(name string) (*os.File, error)
}

// picture sends a photograph as a JPEG of at most a width, upright, whole or a
// part of it, with its local contrast raised if asked for.
func (s *Server) picture(w http.ResponseWriter, r *http.Request) error {
	if s.Pictures == nil {
		return errNoPage
	}
	q := r.URL.Query()
	p := darkroom.Print{Raise: q.Get("raise") == "1"}
	p.Width, _ = strconv.Atoi(q.Get("width")) // nonsense is the smallest
	if q.Has("w") {
		var box [4]int
		for i, name := range []string{"x", "y", "w", "h"} {
			v, err := strconv.Atoi(q.Get(name))
			if err != nil || v < 0 || v > 1<<20 || (i >= 2 && v < 1) {
				return errNoPage
			}
			box[i] = v
		}
		p.Crop = image.Rect(box[0], box[1], box[0]+box[2], box[1]+box[3])
	}
	f, err := s.Pictures.Picture(r.Context(), r.PathValue("sha"), p)
	var fault *photo.FileError
	if errors.As(err, &fault) {
		return &holdfast.Error{Kind: holdfast.Refused, Message: "This photograph cannot be shown. " + fault.Message, Hint: "The file itself is kept as it came."}
	}
	if err != nil {
		return err
	}
	return sendPicture(w, r, f)
}

// joined sends the picture that came of joining a focus stack.
func (s *Server) joined(w http.ResponseWriter, r *http.Request) error {
	if s.Pictures == nil {
		return errNoPage
	}
	f, err := s.Pictures.Joined(r.PathValue("name"))
	if errors.Is(err, os.ErrNotExist) {
		return errNoPage
	}
	if err != nil {
		return err
	}
	return sendPicture(w, r, f)
}

// sendPicture sends a picture that was made here and closes its file.
func sendPicture(w http.ResponseWriter, r *http.Request, f *os.File) error {
	defer f.Close()
	h := w.Header()
	h.Set("Content-Type", "image/jpeg")
	h.Set("Content-Security-Policy", "default-src 'none'; sandbox")
	h.Set("Cache-Control", "private, max-age=86400")
	http.ServeContent(w, r, "", time.Time{}, f)
	return nil
}

// benchPhotoOf reads the bench and the photograph that a request is about.
func (s *Server) benchPhotoOf(r *http.Request) (*desk.Bench, *desk.BenchPhoto, error) {
	b, err := s.benchOf(r)
	if err != nil {
		return nil, nil, err
	}
	x, err := b.Photo(r.PathValue("sha"))
	return b, x, err
}

// benchStack joins the frames of a photograph's burst and shows what came of it
// beside the best single one.
func (s *Server) benchStack(w http.ResponseWriter, r *http.Request) error {
	b, x, err := s.benchPhotoOf(r)
	if err != nil {
		return err
	}
	frame, err := s.frame(r)
	if err != nil {
		return err
	}
	d := sheet{s: s, b: b, who: whose(r)}
	p := page.Stack{From: fromBench(b), Sheet: benchURL(b.View.Lot.ID, b.Day)}
	sums, best, bestPhoto := slicesOf(b, x)
	p.Best, p.BestSays, p.BestURL = pictureURL(bestPhoto.SHA256, 1920), nameOf(bestPhoto), d.photoURL(bestPhoto.SHA256)
	name, err := s.Pictures.Join(r.Context(), sums, best)
	var none *ref.NoAnswer
	var fault *photo.FileError
	switch {
	case errors.As(err, &none):
		p.Why = none.Reason
	case errors.As(err, &fault):
		p.Why = "A frame cannot be read. " + fault.Message
	case err != nil:
		return err
	default:
		p.Joined, p.JoinedSays = "/joined/"+name, words.Plural(len(sums), "frame", "frames")+" joined"
		if r := bestPhoto.Reading; r.Eye != nil && r.PxPerMM > 0 {
			p.JoinedEye = eyeOf(r, p.Joined, "The eye and rostrum, joined")
			p.BestEye = eyeOf(r, p.Best, "The eye and rostrum on the best single frame")
		}
	}
	return s.page(w, r, http.StatusOK, page.StackPage(view.Page{Frame: frame, Title: "Focus stack", At: view.Lots}, p))
}

// slicesOf are the readable frames of a photograph's burst in the order in
// which they were taken, and which of them is the best.
func slicesOf(b *desk.Bench, x *desk.BenchPhoto) (sums []string, best int, bestPhoto *desk.BenchPhoto) {
	for _, burst := range b.Bursts {
		if !slices.Contains(burst, x) {
			continue
		}
		var all []*desk.BenchPhoto
		for _, p := range burst {
			if p.Reading != nil && p.Reading.Fault == "" {
				all = append(all, p)
			}
		}
		bestPhoto = burst[0]
		slices.SortStableFunc(all, func(a, c *desk.BenchPhoto) int {
			return cmp.Or(cmp.Compare(a.Reading.Taken, c.Reading.Taken), cmp.Compare(a.Name, c.Name))
		})
		for i, p := range all {
			sums = append(sums, p.SHA256)
			if p == bestPhoto {
				best = i
			}
		}
	}
	return sums, best, bestPhoto
}

// pictureURL is where a photograph is shown at a width.
func pictureURL(sha string, width int) string {
	return "/photos/" + sha + "/view?width=" + strconv.Itoa(width)
}

// cropURL is where a part of it is shown, enlarged to a width.
func cropURL(sha string, b image.Rectangle, width int, raise bool) string {
	q := url.Values{"width": {strconv.Itoa(width)}, "x": {strconv.Itoa(b.Min.X)}, "y": {strconv.Itoa(b.Min.Y)}, "w": {strconv.Itoa(b.Dx())}, "h": {strconv.Itoa(b.Dy())}}
	if raise {
		q.Set("raise", "1")
	}
	return "/photos/" + sha + "/view?" + q.Encode()
}

// turned is a photograph's way up: positions in the file as stored, against
// positions as it is seen. The numbers are those of the EXIF orientation tag.
type turned struct{ orientation, w, h int }

func turnedOf(r *desk.Reading) turned { return turned{r.Orientation, r.W, r.H} }

// size is the size as seen.
func (t turned) size() (w, h int) {
	if t.orientation >= 5 {
		return t.h, t.w
	}
	return t.w, t.h
}

// seen moves a point from the file to the picture.
func (t turned) seen(x, y float64) (float64, float64) {
	w, h := float64(t.w), float64(t.h)
	switch t.orientation {
	case 2:
		return w - x, y
	case 3:
		return w - x, h - y
	case 4:
		return x, h - y
	case 5:
		return y, x
	case 6:
		return h - y, x
	case 7:
		return h - y, w - x
	case 8:
		return y, w - x
	}
	return x, y
}

// box moves a box from the file to the picture.
func (t turned) box(x, y, w, h float64) (bx, by, bw, bh float64) {
	x0, y0 := t.seen(x, y)
	x1, y1 := t.seen(x+w, y+h)
	return min(x0, x1), min(y0, y1), max(x0, x1) - min(x0, x1), max(y0, y1) - min(y0, y1)
}

// within is the part of the photograph that a box about a spot shows.
func within(r *desk.Reading, x, y, rx, ry float64) image.Rectangle {
	return image.Rect(int(x-rx), int(y-ry), int(x+rx)+1, int(y+ry)+1).Intersect(image.Rect(0, 0, r.W, r.H))
}
