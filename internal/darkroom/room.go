package darkroom

import (
	"cmp"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"image"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"sync"

	"holdfast"
	"holdfast/internal/media"
	"holdfast/photo"
)

// Room makes pictures from the photographs of one data folder.
type Room struct {
	originals *media.Store
	dir       string
	dec       photo.Decoder

	// One picture is decoded at a time for pages: an enlargement of every region
	// of one photograph asks for the same pixels.
	mu   sync.Mutex
	last []developed
	made int64 // bytes written since the folder was last looked through
}

// developed is a decoded photograph, kept for the next enlargement.
type developed struct {
	sum   string
	denom int
	img   *photo.Image
	src   *photo.Source
}

// Bounds on what is kept.
const (
	keptPixels = 60_000_000 // of decoded photographs in memory
	keptBytes  = 2 << 30    // of made pictures on the disk
)

// Open returns the room of a data folder. jpeg decodes JPEG files, or is nil.
func Open(dataDir string, originals *media.Store, jpeg photo.JPEGScaler) *Room {
	return &Room{originals: originals, dir: filepath.Join(dataDir, "derived"), dec: photo.Decoder{JPEG: jpeg}}
}

// Widths are the widths of pictures that are made, in pixels. Any other is
// rounded up to one of them.
var Widths = []int{240, 480, 960, 1920, 3840}

// raiseReach is how far "local" reaches in raising contrast, as a share of the
// picture made: about 0.3 mm about the eye.
const raiseReach = 0.05

// Print is a picture to make of a photograph.
type Print struct {
	// Width is the greatest width or height, see Widths.
	Width int
	// Crop is the part shown, in stored pixels; empty means all.
	Crop image.Rectangle
	// Raise raises the local contrast: detail is brought out wherever it lies,
	// in shadow and in light.
	Raise bool
}

// Picture opens a JPEG of the photograph, upright, and makes it first where it
// has not been made. It returns a NotFound error for an unknown photograph and
// a *photo.FileError for one that cannot be read.
func (r *Room) Picture(ctx context.Context, sum string, p Print) (*os.File, error) {
	if _, err := holdfast.ParseHash(sum); err != nil {
		return nil, &holdfast.Error{Kind: holdfast.NotFound, Message: "There is no such photograph.", Hint: "See the photographs of the lot."}
	}
	p.Width = roundedUp(p.Width)
	path := r.path(sum, p)
	if f, err := os.Open(path); err == nil || !errors.Is(err, fs.ErrNotExist) {
		return f, err
	}
	r.mu.Lock()
	defer r.mu.Unlock()
	if f, err := os.Open(path); err == nil { // made while we waited
		return f, nil
	}
	if err := ctx.Err(); err != nil {
		return nil, err // whoever asked has gone
	}
	img, src, denom, err := r.develop(sum, p)
	if err != nil {
		return nil, err
	}
	if err := r.keep(path, made(img, src, denom, p)); err != nil {
		return nil, err
	}
	return os.Open(path)
}

func roundedUp(width int) int {
	for _, w := range Widths {
		if width <= w {
			return w
		}
	}
	return Widths[len(Widths)-1]
}

func (r *Room) path(sum string, p Print) string {
	name := fmt.Sprintf("w%d", p.Width)
	if !p.Crop.Empty() {
		name += fmt.Sprintf("-%d-%d-%d-%d", p.Crop.Min.X, p.Crop.Min.Y, p.Crop.Dx(), p.Crop.Dy())
	}
	if p.Raise {
		name += "-raised"
	}
	return filepath.Join(r.dir, sum[:2], sum, name+".jpg")
}

// Read reads the whole of an original.
func (r *Room) Read(sum string) ([]byte, error) {
	f, _, err := r.originals.Open(sum)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil {
		return nil, err
	}
	if info.Size() > int64(photo.DefaultLimits.Bytes) {
		return nil, photo.TooLarge(info.Size(), photo.DefaultLimits)
	}
	data := make([]byte, info.Size())
	if _, err := io.ReadFull(f, data); err != nil {
		return nil, err
	}
	if got := sha256.Sum256(data); hex.EncodeToString(got[:]) != sum {
		return nil, &photo.FileError{Message: "The file on the disk is not the one that was kept: its bytes have changed."}
	}
	return data, nil
}

// develop decodes as many pixels as the print needs.
func (r *Room) develop(sum string, p Print) (*photo.Image, *photo.Source, int, error) {
	for _, d := range r.last {
		if d.sum == sum && d.denom <= reduction(d.src, p) {
			return d.img, d.src, d.denom, nil
		}
	}
	data, err := r.Read(sum)
	if err != nil {
		return nil, nil, 0, err
	}
	src, err := r.dec.Open(data)
	if err != nil {
		return nil, nil, 0, err
	}
	denom := reduction(src, p)
	img, err := r.dec.Decode(src, denom)
	if err != nil {
		return nil, nil, 0, err
	}
	// src holds the file's bytes; what is kept needs its sizes only.
	known := &photo.Source{Format: src.Format, W: src.W, H: src.H, Meta: src.Meta}
	r.last = append(slices.DeleteFunc(r.last, func(d developed) bool { return d.sum == sum }), developed{sum, denom, img, known})
	for pixels(r.last) > keptPixels && len(r.last) > 1 {
		r.last = r.last[1:]
	}
	return img, known, denom, nil
}

func pixels(all []developed) int {
	n := 0
	for _, d := range all {
		n += d.img.W * d.img.H
	}
	return n
}

func reduction(src *photo.Source, p Print) int {
	long := max(src.W, src.H)
	if !p.Crop.Empty() {
		long = max(p.Crop.Dx(), p.Crop.Dy())
	}
	return photo.ReductionFor(float64(long), float64(p.Width))
}

// made cuts, raises, turns and sizes.
func made(img *photo.Image, src *photo.Source, denom int, p Print) *photo.Image {
	if !p.Crop.Empty() {
		k := float64(denom)
		img = img.Crop(image.Rect(int(float64(p.Crop.Min.X)/k), int(float64(p.Crop.Min.Y)/k),
			max(1, int(float64(p.Crop.Max.X)/k+0.5)), max(1, int(float64(p.Crop.Max.Y)/k+0.5))))
	}
	if img.W == 0 || img.H == 0 {
		img = photo.NewImage(1, 1) // a crop outside the picture
	}
	long := max(img.W, img.H)
	crop := !p.Crop.Empty()
	if long > p.Width || crop {
		f := float64(p.Width) / float64(long)
		img = img.Resample(max(1, int(float64(img.W)*f+0.5)), max(1, int(float64(img.H)*f+0.5)))
	}
	if p.Raise {
		img = img.RaiseContrast(raiseReach * float64(max(img.W, img.H)))
	}
	return img.Upright(src.Meta.Orientation)
}

// keep writes the picture so that it is there whole or not at all.
func (r *Room) keep(path string, img *photo.Image) error {
	b, err := img.JPEG(88)
	if err != nil {
		return err
	}
	if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
		return err
	}
	f, err := os.CreateTemp(filepath.Dir(path), "coming-*")
	if err != nil {
		return err
	}
	defer os.Remove(f.Name()) // gone already after the rename
	_, err = f.Write(b)
	if err := errors.Join(err, f.Close()); err != nil {
		return err
	}
	if err := os.Rename(f.Name(), path); err != nil {
		return err
	}
	if r.made += int64(len(b)); r.made > keptBytes/16 {
		r.made = 0
		return Sweep(r.dir, keptBytes)
	}
	return nil
}

// Sweep deletes the pictures made longest ago until the folder holds at most
// half of limit bytes, if it holds more than limit.
func Sweep(dir string, limit int64) error {
	type old struct {
		path string
		size int64
		at   int64
	}
	var all []old
	var sum int64
	err := filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return nil // what cannot be read is not counted
		}
		if info, err := d.Info(); err == nil {
			all = append(all, old{path, info.Size(), info.ModTime().UnixNano()})
			sum += info.Size()
		}
		return nil
	})
	if err != nil || sum <= limit {
		return err
	}
	slices.SortFunc(all, func(a, b old) int { return cmp.Compare(a.at, b.at) })
	for _, o := range all {
		if sum <= limit/2 {
			break
		}
		if err := os.Remove(o.path); err != nil {
			return err
		}
		sum -= o.size
	}
	return nil
}
