package clearance

import (
	"context"
	"math"
	"reflect"
	"slices"
	"testing"
)

// siftCases are lots as they stand before a release: clean looks a week apart,
// and signs, a bath and clean looks.
func siftCases(t *testing.T) map[string]Case {
	cond, err := LoadCondition("rostrum_worm")
	if err != nil {
		t.Fatal(err)
	}
	pi := .41
	clean := Case{Condition: cond, Animals: 120, Tanks: []Tank{{VolumeL: 50, Temp: []TempFrom{{0, 23}, {5, 23.8}, {12, 22.9}}}}, Infested: &pi, Runs: 200,
		Pulls: []Pulls{{From: 1, To: 29, PerDay: 1, Done: true}}, Days: []float64{28.99}}
	for day := 8.0; day < 29; day += 7 {
		clean.Looks = append(clean.Looks, Look{Day: day, Animals: 30})
	}
	signs := clean
	signs.Doses = []Dose{{Treatment: "praziquantel", Day: 9, Days: 4}}
	signs.Looks = append([]Look{{Day: 8, Animals: 30, Worms: 3}}, clean.Looks[1:]...)
	return map[string]Case{"clean": clean, "signs": signs}
}

// seedSpread is the mean of numbers and their standard deviation.
func seedSpread(x []float64) (m, sd float64) {
	m = mean(x)
	for _, v := range x {
		sd += (v - m) * (v - m)
	}
	return m, math.Sqrt(sd / float64(len(x)-1))
}

// TestSiftAgreesWithQuick: both estimate the same chance, the error that is told
// is the spread over seeds, and most lots are not followed where looks were clean.
func TestSiftAgreesWithQuick(t *testing.T) {
	seeds := 80
	if testing.Short() {
		seeds = 24
	}
	for name, c := range siftCases(t) {
		var quick, sift, told, bag, siftBag []float64
		for seed := range seeds {
			c.Seed = uint64(seed + 1)
			q, err := Quick(context.Background(), c)
			if err != nil {
				t.Fatal(err)
			}
			c.Seed += 1000 // lots of its own: then the two err independently
			s, err := Sift(context.Background(), c, nil)
			if err != nil {
				t.Fatal(err)
			}
			a, b := q.Mixed.Points[0], s.Mixed.Points[0]
			if a.Alive != b.Alive && math.Abs(a.Alive-b.Alive) > 3 {
				t.Errorf("%s: %v alive, sifted %v", name, a.Alive, b.Alive)
			}
			quick, sift, told = append(quick, a.Clear.Value), append(sift, b.Clear.Value), append(told, b.Clear.SE)
			bag, siftBag = append(bag, a.BagRisk.Value), append(siftBag, b.BagRisk.Value)
		}
		for what, x := range map[string][2][]float64{"clear": {quick, sift}, "bag risk": {bag, siftBag}} {
			m, sd := seedSpread(x[0])
			n, sn := seedSpread(x[1])
			if err := math.Sqrt((sd*sd + sn*sn) / float64(seeds)); math.Abs(m-n) > 4*err {
				t.Errorf("%s, %s: %v, sifted %v ± %v", name, what, m, n, err)
			}
		}
		_, sd := seedSpread(sift)
		if m := mean(told); m < sd/1.6 || m > 1.6*sd {
			t.Errorf("%s: the error told is %v, over seeds it is %v", name, m, sd)
		}
	}
}

func TestSiftFollowsFewer(t *testing.T) {
	c := siftCases(t)["clean"]
	p, err := c.prepared()
	if err != nil {
		t.Fatal(err)
	}
	s := newSample(p, mixed)
	if err := s.sift(context.Background(), 200); err != nil {
		t.Fatal(err)
	}
	if s.dropped < 80 || s.dropped > 180 {
		t.Errorf("%d of 200 lots were not followed", s.dropped)
	}
}

// TestSiftWithoutForesight: where a dose came before the first look, or nobody
// looked, nothing is sifted and the answer is Quick's.
func TestSiftWithoutForesight(t *testing.T) {
	dosed := siftCases(t)["clean"]
	dosed.Doses = []Dose{{Treatment: "praziquantel", Day: 2, Days: 4}}
	unseen := siftCases(t)["clean"]
	unseen.Looks = nil
	for name, c := range map[string]Case{"dosed": dosed, "unseen": unseen} {
		q, err := Quick(context.Background(), c)
		if err != nil {
			t.Fatal(err)
		}
		s, err := Sift(context.Background(), c, nil)
		if err != nil {
			t.Fatal(err)
		}
		if !reflect.DeepEqual(q, s) {
			t.Errorf("%s: %+v, sifted %+v", name, q, s)
		}
	}
}

// TestSiftInInstalments: what was asked for in between changes nothing.
func TestSiftInInstalments(t *testing.T) {
	c := siftCases(t)["clean"]
	c.Runs = 500
	var asked []int
	all, err := Sift(context.Background(), c, func(r Result) bool { asked = append(asked, r.Mixed.Runs); return false })
	if err != nil {
		t.Fatal(err)
	}
	if !slices.Equal(asked, []int{100, 200, 400}) || all.Mixed.Runs != 500 {
		t.Errorf("asked after %v lots, ended at %d", asked, all.Mixed.Runs)
	}
	again, err := Sift(context.Background(), c, nil)
	if err != nil {
		t.Fatal(err)
	}
	if !reflect.DeepEqual(all, again) {
		t.Error("the same case gives two answers")
	}
	early, err := Sift(context.Background(), c, func(Result) bool { return true })
	if err != nil || early.Mixed.Runs != 100 {
		t.Errorf("stopped after %d lots (%v)", early.Mixed.Runs, err)
	}
}
