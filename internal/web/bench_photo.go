package web

import (
	"context"
	"errors"
	"image"
	"net/http"
	"net/url"
	"os"
	"strconv"
	"time"

	"holdfast"
	"holdfast/desk"
	"holdfast/internal/darkroom"
	"holdfast/photo"
)

// Pictures makes pictures of photographs that browsers can show.
type Pictures interface {
	Picture(ctx context.Context, sum string, p darkroom.Print) (*os.File, error)
	// Ruler looks for the ticks of a ruler and returns their distance in stored
	// pixels.
	Ruler(ctx context.Context, sum string) (photo.Ruler, error)
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
	defer f.Close()
	h := w.Header()
	h.Set("Content-Type", "image/jpeg")
	h.Set("Content-Security-Policy", "default-src 'none'; sandbox")
	h.Set("Cache-Control", "private, max-age=86400")
	http.ServeContent(w, r, "", time.Time{}, f)
	return nil
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

// stored moves a point from the picture to the file.
func (t turned) stored(x, y float64) (float64, float64) {
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
		return y, h - x
	case 7:
		return w - y, h - x
	case 8:
		return w - y, x
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
