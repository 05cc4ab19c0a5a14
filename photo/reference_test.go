package photo

import (
	"cmp"
	"encoding/json"
	"math"
	"slices"
	"testing"
)

// reference holds what general libraries computed on the pictures in
// testdata/real; testdata/reference/make.py says how and with which versions.
type reference struct {
	Versions map[string]string
	Blur     []struct {
		Picture       string
		Sigma         float64
		X, Y          int
		Gaussian, Log float64
	}
	Ridge []struct {
		Sigma float64
		X, Y  int
		Ridge float64
	}
	RMS []struct {
		X, Y int
		RMS  float64
	}
	Blobs [][2]float64
	Tail  []struct {
		N int
		L float64
		Q float64
	}
	ECC []struct {
		From, To    int
		Correlation float64
		Warp        Warp
	}
}

func readReference(t *testing.T) reference {
	t.Helper()
	var r reference
	if err := json.Unmarshal(mustRead(t, "reference/values.json"), &r); err != nil {
		t.Fatal(err)
	}
	if len(r.Blur) == 0 || len(r.Ridge) == 0 || len(r.RMS) == 0 || len(r.Blobs) == 0 || len(r.Tail) == 0 || len(r.ECC) == 0 {
		t.Fatal("the table of reference values is empty")
	}
	return r
}

// TestBlobResponse compares the Gaussian and the Laplacian of it with
// scikit-image and SciPy, to the last digit that single precision holds.
func TestBlobResponse(t *testing.T) {
	pictures := map[string]*Plane{}
	for _, c := range readReference(t).Blur {
		if pictures[c.Picture] == nil {
			pictures[c.Picture] = mustDecode(t, "real/"+c.Picture).Whiteness()
		}
		g := pictures[c.Picture].Blur(c.Sigma)
		if got := float64(g.At(c.X, c.Y)); math.Abs(got-c.Gaussian) > 2e-6 {
			t.Errorf("Gaussian %+v: %.8f", c, got)
		}
		if got := float64(g.LoG(c.Sigma).At(c.X, c.Y)); math.Abs(got-c.Log) > 1e-5 {
			t.Errorf("LoG %+v: %.8f", c, got)
		}
	}
}

// TestRidgeResponse compares with the same formula on exact derivatives of the
// Gaussian; ours are differences of the smoothed picture, which come out a
// little lower where detail is finest.
func TestRidgeResponse(t *testing.T) {
	grass := mustDecode(t, "real/grass.png").Whiteness()
	planes := map[float64]*Plane{}
	var so, st, soo, stt, sot, n float64
	for _, c := range readReference(t).Ridge {
		if planes[c.Sigma] == nil {
			planes[c.Sigma] = RidgeResponse(grass.Blur(c.Sigma), c.Sigma)
		}
		o := float64(planes[c.Sigma].At(c.X, c.Y))
		n, so, st = n+1, so+o, st+c.Ridge
		soo, stt, sot = soo+o*o, stt+c.Ridge*c.Ridge, sot+o*c.Ridge
	}
	r := (sot - so*st/n) / math.Sqrt((soo-so*so/n)*(stt-st*st/n))
	t.Logf("correlation %.4f, mean ratio %.3f over %g points", r, so/st, n)
	if ratio := so / st; r < 0.99 || ratio < 0.85 || ratio > 1.05 {
		t.Errorf("correlation %.4f, mean ratio %.3f over %g points", r, ratio, n)
	}
}

// TestLocalRMS compares with OpenCV; ours is smoothed from squares of 8 pixels.
func TestLocalRMS(t *testing.T) {
	gravel := mustDecode(t, "real/gravel.png").Whiteness()
	rms := newLocalRMS(gravel.Blur(2.5).LoG(2.5))
	for _, c := range readReference(t).RMS {
		if got := rms.at(c.X, c.Y); math.Abs(got/c.RMS-1) > 0.02 {
			t.Errorf("%+v: %.6f", c, got)
		}
	}
}

// TestBlobsOfTheDeepField compares the spots found with scikit-image's
// blob_log at the same scales. Ours must be maxima of 5 by 5 pixels, not 3 by
// 3, and round, so that the fainter of close pairs and streaks are left out.
func TestBlobsOfTheDeepField(t *testing.T) {
	g := mustDecode(t, "real/hubble_deep_field.jpg").Whiteness()
	layers := newBlobLayers(g).log
	ours := FindBlobs(g, nil)
	type theirs struct {
		at       [2]float64
		response float32
	}
	var list []theirs
	for _, b := range readReference(t).Blobs {
		top := float32(0)
		for _, l := range layers {
			top = max(top, l.At(int(b[0]), int(b[1])))
		}
		list = append(list, theirs{b, top})
	}
	slices.SortFunc(list, func(a, b theirs) int { return cmp.Compare(b.response, a.response) })
	for _, c := range []struct {
		n     int
		least float64
	}{{100, 0.95}, {len(list), 0.90}} {
		found := 0
		for _, b := range list[:c.n] {
			if slices.ContainsFunc(ours, func(o Blob) bool { return math.Hypot(o.X-b.at[0], o.Y-b.at[1]) < 2.5 }) {
				found++
			}
		}
		t.Logf("of the %d strongest, %d found", c.n, found)
		if share := float64(found) / float64(c.n); share < c.least {
			t.Errorf("of the %d strongest, %.3f found, want %.2f", c.n, share, c.least)
		}
	}
}

// TestLogTail compares with scipy.special.gammaincc where that is a normal
// number and not so near 1 that its logarithm keeps few digits.
func TestLogTail(t *testing.T) {
	checked := 0
	for _, c := range readReference(t).Tail {
		if c.Q < 1e-300 {
			continue
		}
		checked++
		want := math.Log(c.Q)
		tol := 1e-12 * math.Abs(want)
		if c.Q > 0.5 {
			tol = 1e-14 // the digits that Q itself carries
		}
		if got := LogTail(c.N, c.L); math.Abs(got-want) > max(tol, 2e-15) {
			t.Errorf("%+v: %.17g, want %.17g", c, got, want)
		}
	}
	if checked < 30 {
		t.Errorf("only %d values checked", checked)
	}
	// A single waiting time has a plain exponential tail, however far out.
	if got := LogTail(1, 5000); got != -5000 {
		t.Errorf("Q(1, 5000): %g", got)
	}
	if got := LogTail(7, -1); got != 0 {
		t.Errorf("below zero: %g", got)
	}
}

// TestAlignmentOfARealStack compares with OpenCV's ECC, which leaves all six
// numbers of an affine map free, on neighbouring frames of a real focus stack:
// within half a pixel over the middle half of the frame.
func TestAlignmentOfARealStack(t *testing.T) {
	names := []string{"step0.jpg", "step1.jpg", "step2.jpg", "step3.jpg", "step4.jpg", "step5.jpg"}
	last := len(names) - 1
	if testing.Short() {
		last = 1
	}
	var planes []*Plane
	for _, n := range names[:last+1] {
		planes = append(planes, mustDecode(t, "real/stack_step/"+n).Luma())
	}
	for _, c := range readReference(t).ECC[:last] {
		a := planes[c.From]
		got, r, ok := Align(a, planes[c.To], Still)
		if !ok {
			t.Errorf("%d to %d: correlation %g", c.From, c.To, r)
			continue
		}
		worst := 0.0
		for _, f := range [][2]float64{{0.25, 0.25}, {0.75, 0.25}, {0.25, 0.75}, {0.75, 0.75}, {0.5, 0.5}} {
			x, y := f[0]*float64(a.W), f[1]*float64(a.H)
			gx, gy := got.At(x, y)
			wx, wy := c.Warp.At(x, y)
			worst = max(worst, math.Hypot(gx-wx, gy-wy))
		}
		t.Logf("%d to %d: %.2f px from ECC, correlation %.4f", c.From, c.To, worst, r)
		if worst > 0.5 {
			t.Errorf("%d to %d: %.2f px from ECC", c.From, c.To, worst)
		}
	}
}
