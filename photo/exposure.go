package photo

// Exposure says how a picture used the range from black to white.
type Exposure struct {
	// Mean is the mean of the whiteness, 0 to 1.
	Mean float64
	// Black and White are the shares of pixels in which no detail is left: every
	// channel below 8, or every channel above 247, of 255.
	Black, White float64
	// Glare is the share of white pixels in the middle half of the width and
	// height, where the animal is.
	Glare float64
}

// Limits above which a picture is said to be badly exposed. They are guesses
// about what a person can still read, not measurements.
const (
	tooBlack  = 0.60
	tooWhite  = 0.25
	muchGlare = 0.04
)

// MeasureExposure measures a picture at any size.
func MeasureExposure(m *Image) Exposure {
	var e Exposure
	var inside, glare, sum int
	for y := range m.H {
		midRow := y >= m.H/4 && y < m.H-m.H/4
		row := m.Pix[3*y*m.W : 3*(y+1)*m.W]
		for x := range m.W {
			p := row[3*x : 3*x+3 : 3*x+3]
			lo, hi := min(p[0], p[1], p[2]), max(p[0], p[1], p[2])
			sum += int(lo)
			mid := midRow && x >= m.W/4 && x < m.W-m.W/4
			if mid {
				inside++
			}
			switch {
			case hi < 8:
				e.Black++
			case lo > 247:
				e.White++
				if mid {
					glare++
				}
			}
		}
	}
	if n := float64(m.W * m.H); n > 0 {
		e.Mean = float64(sum) / (255 * n)
		e.Black /= n
		e.White /= n
	}
	if inside > 0 {
		e.Glare = float64(glare) / float64(inside)
	}
	return e
}

// Notes says in words what is wrong with the exposure, if anything.
func (e Exposure) Notes() []string {
	var notes []string
	if e.Black > tooBlack {
		notes = append(notes, "too dark: most of the picture is black")
	}
	if e.White > tooWhite {
		notes = append(notes, "too bright: much of the picture is white")
	} else if e.Glare > muchGlare {
		notes = append(notes, "glare hides part of the animal")
	}
	return notes
}
