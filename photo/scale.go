package photo

import "holdfast/science/ref"

// WorkingScale is the number of pixels a millimetre at which everything is
// looked for: a dot of 0.1 mm then has a diameter of 5 to 6 pixels.
const WorkingScale = 56.0

// unscaledLong is the length in pixels of the longer side to which pictures
// of unknown scale are reduced.
const unscaledLong = 1500

// Range of scales, in stored pixels a millimetre, in which a photograph can
// show what is looked for: a 0.1 mm dot has 1.5 pixels at the low end; the
// high end is beyond any lens that is used on a live animal.
const (
	MinPxPerMM = 15.0
	MaxPxPerMM = 5000.0
)

// CheckPxPerMM returns an error when a scale cannot be meant.
func CheckPxPerMM(v float64) error {
	if v >= MinPxPerMM && v <= MaxPxPerMM {
		return nil
	}
	return ref.Inputf("px-per-mm", "Photograph a ruler at the same setting and count the pixels between two millimetre lines.",
		"%g pixels a millimetre is outside %g to %g", v, MinPxPerMM, MaxPxPerMM)
}

// ScaleFromMagnification returns the stored pixels a millimetre of subject for
// a lens at a magnification (1 is life size), with the sensor's stored pixels
// a millimetre, as Meta.SensorPxPerMM.
func ScaleFromMagnification(magnification, sensorPxPerMM float64) float64 {
	return magnification * sensorPxPerMM
}
