package photo

import (
	"bytes"
	"strings"
	"time"

	"github.com/bep/imagemeta"
)

// Meta is what a file's EXIF tags say. Zero means that the file does not say.
type Meta struct {
	// Taken is the second in which the shutter was pressed. Unless Zoned, it is
	// the camera's clock without a zone, written here as if it were UTC: good
	// for differences between frames of one camera.
	Taken time.Time
	Zoned bool
	// Orientation is the EXIF tag, 1 to 8; 1 when the file does not say. HEIC
	// files are handed out upright by their decoder and always have 1.
	Orientation int
	// Camera and Lens are the words of the file, for the person only.
	Camera, Lens string
	// FocalMM is the focal length, Focal35MM its 35 mm equivalent.
	FocalMM, Focal35MM float64
	// SubjectMM is the distance to the subject.
	SubjectMM float64
	// SensorPxPerMM is the number of stored pixels a millimetre of sensor, from
	// the focal-plane resolution tags.
	SensorPxPerMM float64
}

// maxMetaTags bounds what is read of a file's tags; cameras write a few hundred.
const maxMetaTags = 2000

// readMeta reads the tags of a file. Damaged tags cost what they hold, never
// the picture.
func readMeta(data []byte, f Format) (m Meta) {
	m.Orientation = 1
	// A panic inside the library must not take the picture along.
	defer func() { _ = recover() }()
	kind, ok := map[Format]imagemeta.ImageFormat{
		JPEG: imagemeta.JPEG, PNG: imagemeta.PNG, TIFF: imagemeta.DNG, WebP: imagemeta.WebP, HEIC: imagemeta.HEIF,
	}[f]
	if !ok {
		return m
	}
	tags := map[string]any{}
	// What was read before an error is kept.
	_, _ = imagemeta.Decode(imagemeta.Options{
		R:            bytes.NewReader(data),
		ImageFormat:  kind,
		Sources:      imagemeta.EXIF,
		LimitNumTags: maxMetaTags,
		HandleTag: func(t imagemeta.TagInfo) error {
			if _, seen := tags[t.Tag]; !seen {
				tags[t.Tag] = t.Value
			}
			return nil
		},
	})
	m.fill(tags)
	if f == HEIC {
		m.Orientation = 1
	}
	return m
}

func (m *Meta) fill(tags map[string]any) {
	if o := int(number(tags["Orientation"])); o >= 1 && o <= 8 {
		m.Orientation = o
	}
	m.Camera = strings.TrimSpace(text(tags["Make"]) + " " + text(tags["Model"]))
	m.Lens = text(tags["LensModel"])
	m.FocalMM = number(tags["FocalLength"])
	m.Focal35MM = number(tags["FocalLengthIn35mmFormat"])
	m.SubjectMM = 1000 * number(tags["SubjectDistance"])
	m.Taken, m.Zoned = taken(tags)
	perUnit := number(tags["FocalPlaneXResolution"])
	switch int(number(tags["FocalPlaneResolutionUnit"])) {
	case 0, 2: // inches; also the standard's default
		m.SensorPxPerMM = perUnit / 25.4
	case 3: // centimetres
		m.SensorPxPerMM = perUnit / 10
	case 4: // millimetres, a common extension
		m.SensorPxPerMM = perUnit
	}
}

// taken reads the time of the shot and its zone. Fractions of a second are left
// out: their leading zeros are lost on the way, and file names order a burst.
func taken(tags map[string]any) (t time.Time, zoned bool) {
	for _, names := range [][2]string{
		{"DateTimeOriginal", "OffsetTimeOriginal"}, {"CreateDate", "OffsetTimeDigitized"}, {"ModifyDate", "OffsetTime"},
	} {
		t, err := time.ParseInLocation("2006:01:02 15:04:05", strings.TrimSpace(text(tags[names[0]])), time.UTC)
		if err != nil || t.Year() < 1980 {
			continue
		}
		if off, err := time.Parse("-07:00", strings.TrimSpace(text(tags[names[1]]))); err == nil {
			_, seconds := off.Zone()
			return t.Add(-time.Duration(seconds) * time.Second), true
		}
		return t, false
	}
	return time.Time{}, false
}

// number reads a tag's value as a finite number that is not negative, else 0.
func number(v any) float64 {
	var f float64
	switch x := v.(type) {
	case uint8:
		f = float64(x)
	case uint16:
		f = float64(x)
	case uint32:
		f = float64(x)
	case int:
		f = float64(x)
	case int32:
		f = float64(x)
	case float32:
		f = float64(x)
	case float64:
		f = x
	case interface{ Float64() float64 }:
		f = x.Float64()
	}
	if f > 0 && f < 1e12 {
		return f
	}
	return 0
}

// text reads a tag's value as words, without control characters.
func text(v any) string {
	s, ok := v.(string)
	if !ok {
		return ""
	}
	return strings.Map(func(r rune) rune {
		if r < ' ' || r == 0x7f {
			return -1
		}
		return r
	}, s)
}
