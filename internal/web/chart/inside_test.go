package chart

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// A label is either left out, or forced, or covers no other words, no mark and
// no edge.
func TestLabelsCoverNothing(t *testing.T) {
	placed := 0
	rapid.Check(t, func(t *rapid.T) {
		p := placer{bounds: box{0, 0, 400, 200}}
		for range rapid.IntRange(1, 12).Draw(t, "labels") {
			l := label{
				at:     xy{rapid.Float64Range(0, 400).Draw(t, "x"), rapid.Float64Range(0, 200).Draw(t, "y")},
				words:  rapid.StringMatching(`[a-z 0-9%]{1,20}`).Draw(t, "words"),
				face:   plainFace,
				gap:    6,
				prefer: rapid.IntRange(0, 7).Draw(t, "prefer"),
			}
			before := append([]box(nil), p.solid...)
			if _, _, ok := p.place(l); !ok {
				if len(p.solid) != len(before) {
					t.Fatal("a label that was left out takes up room")
				}
				continue
			}
			placed++
			taken := p.solid[len(p.solid)-1]
			words := box{taken.x + 2, taken.y + 1, taken.w - 4, taken.h - 2}
			if !words.within(box{-0.01, -0.01, 400.02, 200.02}) {
				t.Fatalf("%q stands outside: %+v", l.words, words)
			}
			for _, b := range before {
				if words.overlap(b) > 0.01 {
					t.Fatalf("%q covers something: %+v on %+v", l.words, words, b)
				}
			}
		}
	})
	if placed == 0 {
		t.Error("no label was ever placed")
	}
}

func TestScaleIsOrderedAndClamped(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		line := rapid.Float64Range(0.5, 0.999).Draw(t, "line")
		s := scaleFor(line, rapid.Float64Range(0, 1).Draw(t, "a chance"))
		a, b := rapid.Float64Range(0, 1).Draw(t, "a"), rapid.Float64Range(0, 1).Draw(t, "b")
		if a > b {
			a, b = b, a
		}
		if s.at(a) > s.at(b) || s.at(a) < 0 || s.at(b) > 1 {
			t.Fatalf("%v at %v, %v at %v", a, s.at(a), b, s.at(b))
		}
		if s.at(line) <= 0.4 || s.at(line) >= 0.995 {
			t.Fatalf("the release line %v stands at %v", line, s.at(line))
		}
	})
}

// However many tanks there are, the walk shows each once: alone or counted.
func TestFoldedWalkLosesNobody(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var w Walk
		n := rapid.IntRange(0, 200).Draw(t, "tanks")
		done := rapid.IntRange(0, n).Draw(t, "done")
		for i := range n {
			w.Stops = append(w.Stops, Stop{Label: "t", Zone: Zone(i * 3 / max(n, 1)), Done: i < done})
		}
		sum, now := 0, 0
		nodes := w.nodes(11)
		for _, k := range nodes {
			sum += k.count()
			if k.now {
				now++
			}
		}
		if sum != n {
			t.Fatalf("%d tanks, %d shown", n, sum)
		}
		if want := min(n-done, 1); now != want {
			t.Fatalf("%d stops are the next one, want %d", now, want)
		}
		if len(nodes) > 11 {
			t.Fatalf("%d circles for %d tanks", len(nodes), n)
		}
	})
}

func TestInWords(t *testing.T) {
	for p, want := range map[float64]string{0.95: "19 in 20", 0.9: "9 in 10", 0.5: "1 in 2", 0.99: "99 in 100", 0.973: "97 in 100", 0.999: "999 in 1000", -1: "–"} {
		if got := InWords(p); got != want {
			t.Errorf("%v: %q, want %q", p, got, want)
		}
	}
	if InWords(math.NaN()) != "–" {
		t.Error("not a number has words")
	}
}
