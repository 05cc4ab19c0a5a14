package desk

import (
	"encoding/json"
	"fmt"
	"hash/fnv"
	"math"
	"strconv"
	"strings"
	"sync"

	"holdfast"
	"holdfast/photo"
)

// layout is the version of Reading itself.
const layout = "2"

// readingVersion changes whenever the models that come with the program or the
// layout of a reading do: all photographs are then read again.
var readingVersion = sync.OnceValue(func() string {
	h := fnv.New32a()
	raw, _ := json.Marshal(photo.BuiltIn()) // plain numbers and words
	_, _ = h.Write(raw)
	return layout + "-" + strconv.FormatUint(uint64(h.Sum32()), 36)
})

// Way is how a photograph is to be read.
type Way struct {
	// Models names the last words on what is found, see [Desk.Models]; empty
	// means those that come with the program.
	Models string
	// PxPerMM is the scale in stored pixels a millimetre, 0 when not known.
	PxPerMM float64
}

// String writes the way as readings are kept under.
func (w Way) String() string {
	return readingVersion() + "/" + w.Models + "/" + strconv.FormatFloat(w.PxPerMM, 'f', 3, 64)
}

// ParseWay reads what String wrote.
func ParseWay(s string) (Way, error) {
	parts := strings.Split(s, "/")
	if len(parts) != 3 {
		return Way{}, fmt.Errorf("%q is no way of reading a photograph", s)
	}
	v, err := strconv.ParseFloat(parts[2], 64)
	if err != nil || math.IsNaN(v) || math.IsInf(v, 0) || v < 0 {
		return Way{}, fmt.Errorf("%q is no scale", parts[2])
	}
	return Way{parts[1], v}, nil
}

// Reading is what a photograph was read as. Positions are in pixels of the
// stored file.
type Reading struct {
	// Fault says why it could not be read; everything else is then empty.
	Fault string `json:"fault,omitempty"`
	W     int    `json:"w"`
	H     int    `json:"h"`
	// Orientation is the EXIF tag, 1 to 8.
	Orientation int    `json:"turn"`
	Format      string `json:"format"`
	// Preview says that it is the preview inside a camera raw file.
	Preview bool `json:"preview,omitempty"`
	// Taken is the camera's clock, 0 when the file does not say. Unless Zoned it
	// is written as if it were UTC.
	Taken  holdfast.Micros `json:"taken,omitempty"`
	Zoned  bool            `json:"zoned,omitempty"`
	Camera string          `json:"camera,omitempty"`
	Lens   string          `json:"lens,omitempty"`
	// SensorPxPerMM is the number of stored pixels a millimetre of sensor, 0
	// when the file does not say.
	SensorPxPerMM float64 `json:"sensor,omitempty"`
	// PxPerMM is the scale it was read with, 0 when not known.
	PxPerMM  float64   `json:"px_per_mm,omitempty"`
	Sharp    float64   `json:"sharp"`
	Usable   bool      `json:"usable"`
	Likeness []float32 `json:"likeness,omitempty"`
	// Eye is the place most like an eye, nil without a scale or when nothing is
	// dark and round; EyeSure says that it is more likely an eye than not.
	Eye     *Spot `json:"eye,omitempty"`
	EyeSure bool  `json:"eye_sure,omitempty"`
	// Gills is where the gill chamber should lie, seen from the eye towards the
	// animal; nil without an eye or a scale.
	Gills *Spot `json:"gills,omitempty"`
	// White is the share of the animal about there that is so white that pale
	// dots cannot stand out.
	White float64 `json:"white,omitempty"`
	// Marks are by falling score in each kind.
	Marks []ReadMark `json:"marks,omitempty"`
	Notes []string   `json:"notes,omitempty"`
}

// Spot is a round place in a photograph.
type Spot struct {
	X float64 `json:"x"`
	Y float64 `json:"y"`
	// R is the radius.
	R float64 `json:"r"`
}

// ReadMark is a region to look at.
type ReadMark struct {
	Kind photo.Kind `json:"kind"`
	X    float64    `json:"x"`
	Y    float64    `json:"y"`
	W    float64    `json:"w"`
	H    float64    `json:"h"`
	// Score is higher the more suspicious it is.
	Score float64 `json:"score"`
	// ByChance is how many such marks a photograph of nothing would show on
	// average; below 0 when that is not known.
	ByChance   float64   `json:"by_chance"`
	Features   []float64 `json:"features,omitempty"`
	Dots       int       `json:"dots,omitempty"`
	DiameterMM float64   `json:"diameter_mm,omitempty"`
	StepMM     float64   `json:"step_mm,omitempty"`
	LengthMM   float64   `json:"length_mm,omitempty"`
}

// tooWhite is the share of white from which on pale dots are not looked for in
// vain but cannot be told from the shell. Set on drawn animals with white bands.
const tooWhite = 0.2

// CannotTell says why nothing can be told of this photograph, or of its sizes;
// empty when it can be judged.
func (r *Reading) CannotTell() []string {
	var why []string
	if r.Fault != "" {
		return []string{r.Fault}
	}
	if !r.Usable {
		why = append(why, "too soft")
	}
	if r.White >= tooWhite {
		why = append(why, "white shell, on which pale dots do not show")
	}
	if r.PxPerMM == 0 {
		why = append(why, "no scale yet")
	}
	return why
}

// eyeSure is the score from which on the first eye is taken for one.
const eyeSure = 0.0

// ReadingOf puts together what was measured of one file.
func ReadingOf(src *photo.Source, rep *photo.Report) *Reading {
	r := &Reading{W: src.W, H: src.H, Orientation: max(1, src.Meta.Orientation), Format: string(src.Format), Preview: src.Preview,
		Camera: src.Meta.Camera, Lens: src.Meta.Lens, SensorPxPerMM: finite(src.Meta.SensorPxPerMM), Zoned: src.Meta.Zoned,
		PxPerMM: rep.PxPerMM, Sharp: finite(rep.Sharpness.Value), Usable: rep.Usable, Notes: rep.Notes}
	if !src.Meta.Taken.IsZero() {
		r.Taken = holdfast.MicrosOf(src.Meta.Taken)
	}
	for _, v := range rep.Likeness {
		r.Likeness = append(r.Likeness, float32(math.Round(finite(float64(v))*1000)/1000))
	}
	if len(rep.Eyes) > 0 && rep.PxPerMM > 0 {
		e := rep.Eyes[0]
		r.EyeSure = e.Score > eyeSure
		r.Eye = &Spot{e.At.X, e.At.Y, e.RadiusMM * rep.PxPerMM}
	}
	for _, m := range rep.Marks {
		k := ReadMark{Kind: m.Kind, X: m.X, Y: m.Y, W: m.W, H: m.H, Score: m.Score, ByChance: m.ExpectedFalse, Dots: len(m.Parts),
			DiameterMM: m.DiameterMM, StepMM: m.StepMM, LengthMM: m.LengthMM}
		if math.IsNaN(k.ByChance) || math.IsInf(k.ByChance, 0) {
			k.ByChance = -1
		}
		for _, v := range m.Features {
			k.Features = append(k.Features, finite(v))
		}
		r.Marks = append(r.Marks, k)
	}
	return r
}

func finite(v float64) float64 {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return 0
	}
	return v
}

// ReadRow decodes what the store keeps of a photograph; nil while nothing is
// known.
func ReadRow(row ReadingRow) (*Reading, error) {
	if len(row.Body) == 0 {
		if row.GivenUp() {
			return &Reading{Fault: "It was tried three times, and each time the program ended before it was read."}, nil
		}
		return nil, nil
	}
	var r Reading
	if err := json.Unmarshal(row.Body, &r); err != nil {
		return nil, fmt.Errorf("a reading: %w", err)
	}
	return &r, nil
}
