package photo

import "math"

// Of dividing a picture into animal and ground.
const (
	splitLevels = 20   // of each primary: colours are told apart this finely
	splitRounds = 8    // beyond which little changes
	splitFloor  = 2e-6 // share that any colour has at least
	splitColour = 1.5  // how much colours count beside places
	splitBias   = -1.5 // log-odds: most of a picture is ground
	splitReach  = 12.0 // mm from the eye over which an animal becomes unlikely
	splitMiddle = 0.35 // of the width and height, the same from the middle
	splitFrame  = 0.08 // of the width and height: the border, where it is less likely
)

// animalChance is for each pixel of a reduced picture (one a cell of bodyCell
// working pixels) the chance that it shows the animal, by
// expectation-maximisation: from where an animal is likely to lie, the colours of
// animal and ground are counted; from these the chances of the pixels follow, and
// so on. Each pixel's chance counts squared, so that the undecided say little.
// Source of the method: hastie2009, 8.5; the constants were set by trial on tuning
// and varied phantoms.
func animalChance(small *Image, eye Point, sure bool) *Plane {
	place := placeOdds(small, eye, sure)
	colours := make([]int32, small.W*small.H)
	for i := range colours {
		p := small.Pix[3*i : 3*i+3]
		colours[i] = (int32(p[0])*splitLevels>>8*splitLevels+int32(p[1])*splitLevels>>8)*splitLevels + int32(p[2])*splitLevels>>8
	}
	chance := NewPlane(small.W, small.H)
	for i, v := range place {
		chance.Pix[i] = logistic(v)
	}
	for range splitRounds {
		animal, ground := make([]float64, splitLevels*splitLevels*splitLevels), make([]float64, splitLevels*splitLevels*splitLevels)
		for i, c := range colours {
			w := float64(chance.Pix[i])
			animal[c] += w * w
			ground[c] += (1 - w) * (1 - w)
		}
		smoothColours(animal)
		smoothColours(ground)
		for c := range animal {
			animal[c] = math.Log((animal[c] + splitFloor) / (ground[c] + splitFloor))
		}
		for i, c := range colours {
			chance.Pix[i] = float32(animal[c])
		}
		chance = chance.Blur(1)
		for i, v := range place {
			chance.Pix[i] = logistic(max(-8, min(8, v+splitBias+splitColour*chance.Pix[i])))
		}
	}
	return chance
}

func logistic(v float32) float32 { return float32(1 / (1 + math.Exp(-float64(v)))) }

// placeOdds are the log-odds, but for a constant, that the animal lies at a
// pixel, whatever its colour.
func placeOdds(small *Image, eye Point, sure bool) []float32 {
	const perMM = WorkingScale / bodyCell
	ex, ey := eye.X/bodyCell-0.5, eye.Y/bodyCell-0.5
	out := make([]float32, small.W*small.H)
	for i := range out {
		x, y := float64(i%small.W), float64(i/small.W)
		u, v := x/float64(small.W), y/float64(small.H)
		odds := 2 - 4*min(1.2, math.Hypot(x-ex, y-ey)/(splitReach*perMM))
		if !sure {
			cx, cy := (u-0.5)/splitMiddle, (v-0.5)/splitMiddle
			odds = 1 - 3*min(1.2, cx*cx+cy*cy)
		}
		if min(u, v) < splitFrame || max(u, v) > 1-splitFrame {
			odds -= 2
		}
		out[i] = float32(odds)
	}
	return out
}

// smoothColours smooths counts of colours by one level in each primary, those of
// the ends standing for what lies beyond, and makes their sum 1.
func smoothColours(counts []float64) {
	k := gaussKernel(1)
	line := make([]float64, splitLevels)
	for step := 1; step < len(counts); step *= splitLevels {
		for from := range counts {
			if from/step%splitLevels != 0 {
				continue
			}
			sum := 0.0
			for i := range line {
				line[i] = counts[from+i*step]
				sum += line[i]
			}
			if sum == 0 {
				continue
			}
			for i := range line {
				v := line[i] * float64(k[0])
				for d := 1; d < len(k); d++ {
					v += float64(k[d]) * (line[max(0, i-d)] + line[min(splitLevels-1, i+d)])
				}
				counts[from+i*step] = v
			}
		}
	}
	sum := 0.0
	for _, v := range counts {
		sum += v
	}
	for i := range counts {
		counts[i] /= max(sum, 1e-300)
	}
}
