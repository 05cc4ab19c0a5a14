package photo

import (
	"math"
	"testing"
)

// TestNothingIsMarkedByChance looks for rows where there are none: the Hubble
// deep field, spots thrown about without order, and gravel, which is full of
// texture (scikit-image's sample pictures; testdata/real/README.md). Each is cut
// into photographs of 250 pixels.
//
// No more rows may be as unlikely as once in a photograph, or once in ten, and
// no more marks may be said to be expected so often, than that number of
// photographs gives with three standard deviations of a Poisson number.
func TestNothingIsMarkedByChance(t *testing.T) {
	const side = 250
	for _, name := range []string{"hubble_deep_field.jpg", "gravel.png"} {
		m := mustDecode(t, "real/"+name)
		pieces, seen := 0, 0
		levels := []float64{1, 0.1}
		rows, marks := make([]int, len(levels)), make([]int, len(levels))
		for y := 0; y+side <= m.H; y += side {
			for x := 0; x+side <= m.W; x += side {
				piece, err := m.Part(float64(x), float64(y), side, side, side, false)
				if err != nil {
					t.Fatal(err)
				}
				pieces++
				blobs := FindBlobs(piece.Whiteness(), nil)
				seen += len(blobs)
				for _, c := range FindChains(blobs, nil) {
					for i, level := range levels {
						if c.LogNFA <= math.Log10(level) {
							rows[i]++
						}
					}
				}
				for _, k := range Analyse(piece, side, side, WorkingScale, Models{}, 12).Marks {
					for i, level := range levels {
						if k.Kind == Dots && k.ExpectedFalse <= level {
							marks[i]++
						}
					}
				}
			}
		}
		if pieces < 4 || seen < 100 {
			t.Fatalf("%s: %d pieces with %d spots", name, pieces, seen)
		}
		for i, level := range levels {
			mean := level * float64(pieces)
			most := mean + 3*math.Sqrt(mean)
			t.Logf("%s: %d pieces, at %g a piece: %d rows, %d marks, at most %.1f", name, pieces, level, rows[i], marks[i], most)
			if float64(rows[i]) > most || float64(marks[i]) > most {
				t.Errorf("%s: %d rows and %d marks at %g a piece, at most %.1f", name, rows[i], marks[i], level, most)
			}
		}
	}
}
