package signs

import "holdfast/science/ref"

// Mark is what a program marked on a photograph, before a person has judged it.
type Mark struct {
	// Dots is the number of like dots in a row or group of rows; 0 for a
	// filament or a tuft.
	Dots int
	// Rows is the number of rows.
	Rows int
	// Tuft says that it is fine texture in disorder, which has neither dots nor
	// rows.
	Tuft bool
	// MM is the length of one dot, or of the filament, in millimetres; 0 when it
	// was not measured, as without a scale or of a tuft.
	MM float64
}

// FromMark turns a mark into answers that say no more than the mark does: its
// form as every form it may be, how many, and the length. They are a beginning
// for a person, who sees colour, place and motion.
//
// It returns an InputError for a length that makes no sense, a negative count,
// or a tuft of dots.
func FromMark(k Mark) (Answers, error) {
	if k.Dots < 0 || k.Rows < 0 {
		return nil, ref.Inputf("mark", "Count from 0.", "%d dots in %d rows", k.Dots, k.Rows)
	}
	if k.Tuft && (k.Dots > 0 || k.Rows > 0) {
		return nil, ref.Inputf("mark", "Say which of the two it is.", "a tuft with %d dots in %d rows", k.Dots, k.Rows)
	}
	a := Answers{}
	if k.MM != 0 {
		size, err := SizeOption(k.MM)
		if err != nil {
			return nil, err
		}
		a["size"] = []string{size}
	}
	switch {
	case k.Tuft:
		a["form"] = []string{"fuzz", "cotton", "threads", "shapeless"}
	case k.Dots == 0:
		a["form"] = []string{"tentacled", "finger", "ringed", "threads", "cotton", "wriggler", "shapeless"}
	case k.Dots < 4:
		a["form"] = []string{"dots", "flecks", "patch", "shapeless"}
		a["arrangement"] = []string{"single", "few"}
	default:
		a["form"] = []string{"dots", "beads", "flecks", "patch"}
		a["arrangement"] = []string{"many"}
		if k.Rows > 0 {
			a["arrangement"] = []string{"rows", "many"}
		}
	}
	return a, nil
}
