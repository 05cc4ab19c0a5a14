package freedom

import (
	"math/rand/v2"
	"testing"
)

// Most lots of a shop carry nothing. With a flat share for every lot each clear
// one pulls the sensitivities down; LotShares keeps the truth inside the limits
// about as often as they say. Simulated, seed 5: two ways of 0.5 and 0.85, 30
// animals a lot, three lots in four clear.
func TestLotSharesHoldTheTruth(t *testing.T) {
	if testing.Short() {
		t.Skip("draws some seconds")
	}
	rng := rand.New(rand.NewPCG(5, 1))
	truth := [2]float64{0.5, 0.85}
	const rounds = 30
	held, flatHeld := [2]int{}, [2]int{}
	for range rounds {
		lots := make([]Twofold, 20)
		for i := range lots {
			share := 0.0
			if i%4 == 0 {
				share = 0.1 + 0.4*rng.Float64()
			}
			for range 30 {
				var saw [2]bool
				if rng.Float64() < share {
					saw = [2]bool{rng.Float64() < truth[0], rng.Float64() < truth[1]}
				}
				switch {
				case saw[0] && saw[1]:
					lots[i].Both++
				case saw[0]:
					lots[i].OnlyFirst++
				case saw[1]:
					lots[i].OnlySecond++
				default:
					lots[i].Neither++
				}
			}
		}
		count := func(priors LearnPriors, into *[2]int) {
			out, err := LearnTwoWays(rng, lots, priors, 0.9)
			if err != nil {
				t.Fatal(err)
			}
			for i, se := range out.Sensitivity {
				if se.Low <= truth[i] && truth[i] <= se.High {
					into[i]++
				}
			}
		}
		priors := FlatLearnPriors()
		count(priors, &flatHeld)
		priors.Share = LotShares
		count(priors, &held)
	}
	t.Logf("of %d: held %v, with flat shares %v", rounds, held, flatHeld)
	for i := range held {
		if held[i] < 23 { // 27 expected; 22 or fewer in one run of a hundred
			t.Errorf("way %d: the limits hold the truth in %d of %d", i+1, held[i], rounds)
		}
	}
}
