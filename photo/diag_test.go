package photo

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"testing"
)

func TestDiag(t *testing.T) {
	dir := "/tmp/ph/tune/"
	b, _ := os.ReadFile(dir + "truth.json")
	var rows []struct {
		File    string
		PxPerMM float64
		Finds   []struct {
			Kind                                            string
			X, Y, W, H, Contrast, BlurMM, DiameterMM, GapMM float64
			Rows                                            int
			Dots                                            []struct{ X, Y float64 }
		}
	}
	if err := json.NewDecoder(bytes.NewReader(b)).Decode(&rows); err != nil {
		t.Fatal(err)
	}
	var d Decoder
	hist := map[int]int{}
	for _, r := range rows {
		has := false
		for _, f := range r.Finds {
			if f.Kind == "dots" && f.Contrast > 0.04 && f.BlurMM < 0.45*f.DiameterMM {
				has = true
			}
		}
		if !has {
			continue
		}
		data, _ := os.ReadFile(dir + r.File)
		src, err := d.Open(data)
		if err != nil {
			t.Fatal(err)
		}
		img, _ := d.Decode(src, 1)
		ww, wh := workingSize(img, src.W, r.PxPerMM)
		s := &search{models: Models{}.orBuiltIn(), w: src.W, h: src.H, pxPerMM: r.PxPerMM, keep: 100}
		s.white, s.bright = img.Whiteness().Resample(ww, wh), img.Brightness().Resample(ww, wh)
		c := s.rowContext()
		chains := FindChains(c.blobs, c.eyes)
		for _, f := range r.Finds {
			if !(f.Kind == "dots" && f.Contrast > 0.04 && f.BlurMM < 0.45*f.DiameterMM) {
				continue
			}
			n := 0
			var resp float64
			hitb := map[int]bool{}
			for _, p := range f.Dots {
				w := s.working(Point{p.X, p.Y})
				for bi, bl := range c.blobs {
					if math.Hypot(bl.X-w.X, bl.Y-w.Y) < 0.05*56 {
						n++
						resp += bl.Response
						hitb[bi] = true
						break
					}
				}
			}
			best := 99.0
			bl := 0
			for _, ch := range chains {
				k := 0
				for _, dd := range ch.Dots {
					if hitb[dd] {
						k++
					}
				}
				if 2*k > len(ch.Dots) {
					if ch.LogNFA < best {
						best = ch.LogNFA
						bl = len(ch.Dots)
					}
				}
			}
			hist[n*10/len(f.Dots)]++
			fmt.Printf("%s contrast %.3f blur/d %.2f d %.2f gap %.2f rows %d eggs %d found %.2f meanresp %.4f blobs %d best chain %.1f len %d\n", r.File, f.Contrast, f.BlurMM/f.DiameterMM, f.DiameterMM, f.GapMM, f.Rows, len(f.Dots), float64(n)/float64(len(f.Dots)), resp/float64(n), len(c.blobs), best, bl)
		}
	}
	fmt.Println(hist)
}
