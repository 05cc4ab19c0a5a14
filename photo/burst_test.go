package photo

import (
	"slices"
	"testing"
	"time"

	"pgregory.net/rapid"
)

// scene is a smooth random picture, moved by a few pixels and shaded.
func scene(seed uint64, dx, dy int, gain float32) []float32 {
	big := noisePlane(360, 260, 0.3, seed).Blur(9)
	p := NewPlane(300, 200)
	for y := range 200 {
		for x := range 300 {
			p.Pix[y*300+x] = gain * big.At(x+30+dx, y+30+dy)
		}
	}
	return Signature(p)
}

func TestSimilarity(t *testing.T) {
	a := scene(1, 0, 0, 1)
	if s := Similarity(a, scene(1, 17, -11, 0.6)); s < 0.9 {
		t.Errorf("moved and darker: %g", s)
	}
	if s := Similarity(a, scene(2, 0, 0, 1)); s > 0.65 {
		t.Errorf("another scene: %g", s)
	}
	if s := Similarity(a, a); s < 0.9999 {
		t.Errorf("itself: %g", s)
	}
	if s := Similarity(a, Signature(NewPlane(200, 300))); s != 0 {
		t.Errorf("another shape: %g", s)
	}
	if s := Similarity(Signature(NewPlane(60, 40)), Signature(NewPlane(60, 40))); s != 0 {
		t.Errorf("two blank ones: %g", s)
	}
	if s := Similarity(nil, nil); s != 0 {
		t.Errorf("nothing: %g", s)
	}
}

func TestSortFoldsBursts(t *testing.T) {
	at := func(s int) time.Time { return time.Date(2026, 3, 4, 5, 6, s, 0, time.UTC) }
	frames := []Frame{
		{Name: "d", Taken: at(30), Likeness: scene(1, 0, 0, 1), Sharpness: 1, Usable: true}, // long after: alone
		{Name: "b", Taken: at(1), Likeness: scene(1, 3, 0, 1), Sharpness: 9, Usable: false},
		{Name: "a", Taken: at(1), Likeness: scene(1, 0, 0, 1), Sharpness: 5, Usable: true},
		{Name: "c", Taken: at(2), Likeness: scene(1, 5, 2, 1), Sharpness: 7, Usable: true},
		{Name: "e", Taken: at(31), Likeness: scene(2, 0, 0, 1), Sharpness: 4}, // soon after, another scene
		{Name: "y", Likeness: scene(3, 0, 0, 1), Sharpness: 2},                // no times: likeness alone
		{Name: "z", Likeness: scene(3, 2, 0, 1), Sharpness: 3},
	}
	want := [][]int{{3, 2, 1}, {0}, {4}, {6, 5}}
	if got := Sort(frames); !slices.EqualFunc(got, want, slices.Equal) {
		t.Errorf("got %v, want %v", got, want)
	}
	if got := Sort(nil); len(got) != 0 {
		t.Errorf("nothing: %v", got)
	}
}

func TestSortKeepsEveryFrameOnce(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(0, 12).Draw(t, "n")
		frames := make([]Frame, n)
		for i := range frames {
			frames[i] = Frame{
				Name:      rapid.StringMatching(`[a-c]{1,2}`).Draw(t, "name"),
				Likeness:  []float32{2, 1, float32(i % 3), 1},
				Sharpness: rapid.Float64Range(0, 9).Draw(t, "sharpness"),
				Usable:    rapid.Bool().Draw(t, "usable"),
			}
			if rapid.Bool().Draw(t, "timed") {
				frames[i].Taken = time.Unix(int64(rapid.IntRange(0, 20).Draw(t, "s")), 0)
			}
		}
		var all []int
		for _, b := range Sort(frames) {
			for k, i := range b[1:] {
				a, c := frames[b[k]], frames[i]
				if !a.Usable && c.Usable || a.Usable == c.Usable && a.Sharpness < c.Sharpness {
					t.Fatalf("burst %v is not best first", b)
				}
			}
			all = append(all, b...)
		}
		slices.Sort(all)
		for i, v := range all {
			if i != v {
				t.Fatalf("frames %v", all)
			}
		}
		if len(all) != n {
			t.Fatalf("%d of %d frames", len(all), n)
		}
	})
}
