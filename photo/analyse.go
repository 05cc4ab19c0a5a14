package photo

import (
	"cmp"
	"math"
	"slices"
)

// Point is a position in pixels of the stored file.
type Point struct{ X, Y float64 }

// Report is what was measured in one photograph.
type Report struct {
	// W and H are the stored size in pixels.
	W, H int
	// PxPerMM is the scale that was used, in stored pixels a millimetre; 0 when
	// there was none.
	PxPerMM float64
	// Sharpness, Exposure and Likeness are measures for sorting.
	Sharpness Sharpness
	Exposure  Exposure
	Likeness  []float32
	// Usable is false when the picture is too soft to look for anything in it.
	Usable bool
	// Eyes are where an eye may be, best first. The first is an eye for sure
	// enough to centre a crop on when its Score is above 0.
	Eyes []Eye
	// Regions are the parts about the likeliest eye, to be shown enlarged always;
	// empty when nothing in the picture is like an eye.
	Regions []Region
	// Marks are the regions to look at, each kind by falling score.
	Marks []Mark
	// CannotTell says in words why nothing can be told from this photograph, or
	// from part of it: it is too soft, has no scale, or shows a white shell on
	// which pale dots cannot be seen. Empty does not mean that all can be seen.
	CannotTell []string
	// Notes say what else limits it: exposure, glare, a scale that cannot be
	// meant.
	Notes []string
}

// usableSharpness is the Sharpness.Value below which a picture is called too
// soft to use. It was set on 800 tuning and varied phantoms so that nine in ten of
// those with a blur of at most 0.03 mm on the animal pass.
const usableSharpness = 9.3

// maxWorkingPixels bounds the picture at working scale. A field of more than 9
// by 6 centimetres exceeds it and is looked at more coarsely.
const maxWorkingPixels = 18e6

// Examine opens, decodes and analyses one file. pxPerMM is its scale in stored
// pixels a millimetre, 0 when unknown. Only as many pixels are decoded as the
// working scale needs. It returns a *FileError for a file that is not a
// readable picture.
func (d *Decoder) Examine(data []byte, pxPerMM float64) (*Source, *Report, error) {
	src, err := d.Open(data)
	if err != nil {
		return nil, nil, err
	}
	img, err := d.Decode(src, src.Reduction(pxPerMM))
	if err != nil {
		return nil, nil, err
	}
	return src, Analyse(img, src.W, src.H, pxPerMM, d.Models, d.Keep), nil
}

// Reduction is how far a file is reduced to be analysed at pxPerMM stored pixels
// a millimetre, or at 0 when its scale is unknown; see Decoder.Decode.
func (s *Source) Reduction(pxPerMM float64) int {
	if pxPerMM > 0 {
		return ReductionFor(pxPerMM, 0.95*WorkingScale)
	}
	return ReductionFor(float64(max(s.W, s.H)), unscaledLong)
}

// Analyse measures a decoded picture. img may be reduced; w and h are the
// stored size, pxPerMM the scale in stored pixels a millimetre or 0. keep bounds
// the marks of each kind, see Decoder.Keep.
func Analyse(img *Image, w, h int, pxPerMM float64, models Models, keep int) *Report {
	r := &Report{W: w, H: h, PxPerMM: pxPerMM, Exposure: MeasureExposure(img)}
	r.Notes = r.Exposure.Notes()
	ww, wh := workingSize(img, w, pxPerMM)
	s := &search{models: models.orBuiltIn(), w: w, h: h, pxPerMM: pxPerMM, keep: cmp.Or(keep, marksKept)}
	var light *Plane
	light, s.white, s.bright = img.workingPlanes(ww, wh)
	r.Likeness = signatureOf(light, w, h)
	s.findEyes()
	r.Sharpness = MeasureSharpness(light, s.bodyTiles(img))
	r.Usable = r.Sharpness.Value >= usableSharpness
	r.Eyes, r.Regions = s.eyes, s.regions()
	r.CannotTell = s.cannotTell(r)
	if n := scaleNote(w, h, pxPerMM); n != "" {
		r.Notes = append(r.Notes, n)
	}
	c, lines := s.rowContext(), newRidges(s.white, ridgeSigmas)
	r.Marks = slices.Concat(s.findRows(c), s.findThreads(c, lines), s.findTufts(c, lines))
	return r
}

// findEyes looks for eyes on a quarter-size picture.
func (s *search) findEyes() {
	const f = WorkingScale / eyeScale
	small := s.bright.Resample(max(1, int(math.Round(float64(s.white.W)/f))), max(1, int(math.Round(float64(s.white.H)/f))))
	for _, e := range FindEyes(small, s.models.Eye) {
		e.At = Point{
			(e.At.X + 0.5) * float64(s.w) / float64(small.W),
			(e.At.Y + 0.5) * float64(s.h) / float64(small.H),
		}
		s.eyes = append(s.eyes, e)
	}
}

// workingSize is the size of the picture at WorkingScale, or with
// unscaledLong pixels on its longer side if that makes it smaller.
func workingSize(img *Image, storedW int, pxPerMM float64) (w, h int) {
	f := min(1, unscaledLong/float64(max(img.W, img.H)))
	if pxPerMM > 0 {
		f = WorkingScale / (pxPerMM * float64(img.W) / float64(storedW))
		f = min(f, math.Sqrt(maxWorkingPixels/float64(img.W*img.H)))
	}
	return max(1, int(math.Round(float64(img.W)*f))), max(1, int(math.Round(float64(img.H)*f)))
}
