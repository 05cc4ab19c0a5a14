// Command steps times, on one thread, what Holdfast does with one photograph up
// to the tile statistics, and with -make draws a photograph of a size to time:
// a phantom enlarged to it with noise. See bench/photo/run.sh.
package main

import (
	"encoding/json"
	"flag"
	"fmt"
	"log"
	"math"
	"math/rand/v2"
	"os"
	"runtime"
	"syscall"
	"time"

	"holdfast/internal/turbojpeg"
	"holdfast/photo"
	"holdfast/photo/phantom"
)

func main() {
	log.SetFlags(0)
	make := flag.String("make", "", "draw a photograph into this file and stop")
	number := flag.Int("number", 2, "which phantom to draw")
	w := flag.Int("w", 6000, "its width")
	h := flag.Int("h", 4000, "its height")
	quality := flag.Int("quality", 92, "its JPEG quality")
	noise := flag.Float64("noise", 2, "its noise, standard deviation of 255")
	rounds := flag.Int("rounds", 5, "the best of so many counts")
	flag.Parse()
	var err error
	if *make != "" {
		err = draw(*make, *number, *w, *h, *quality, *noise)
	} else {
		err = run(flag.Arg(0), *rounds)
	}
	if err != nil {
		log.Fatal(err)
	}
}

// draw enlarges a phantom and adds noise at full size, so that the file is as
// large as a camera's.
func draw(name string, number, w, h, quality int, noise float64) error {
	p := phantom.Tuning(number)
	m := p.Image.Resample(w, h)
	rng := rand.New(rand.NewPCG(uint64(number), 7))
	for i, v := range m.Pix {
		m.Pix[i] = uint8(math.Max(0, math.Min(255, float64(v)+noise*rng.NormFloat64()+0.5)))
	}
	big := phantom.Photo{Image: m, Quality: quality}
	return os.WriteFile(name, big.JPEG(), 0o644)
}

// cpu is the processor time of this process: what the machine's other work
// does not change.
func cpu() time.Duration {
	var r syscall.Rusage
	_ = syscall.Getrusage(syscall.RUSAGE_SELF, &r)
	return time.Duration(r.Utime.Nano() + r.Stime.Nano())
}

func run(name string, rounds int) error {
	runtime.GOMAXPROCS(1)
	data, err := os.ReadFile(name)
	if err != nil {
		return err
	}
	ms := map[string]float64{}
	timed := func(step string, f func()) {
		best := math.Inf(1)
		for range rounds {
			runtime.GC()
			start := cpu()
			f()
			best = math.Min(best, float64(cpu()-start)/1e6)
		}
		ms[step] = best
	}
	const denom = 4
	var img *photo.Image
	decode := func(d *photo.Decoder) func() {
		return func() {
			src, err := d.Open(data)
			if err == nil {
				img, err = d.Decode(src, denom)
			}
			if err != nil {
				log.Fatal(err)
			}
		}
	}
	var dec photo.Decoder
	timed("decode to a quarter, built-in", decode(&dec))
	if lib, err := turbojpeg.Load(); err == nil {
		dec.JPEG = lib
		timed("decode to a quarter", decode(&dec))
	}
	var luma, blurred *photo.Plane
	timed("to grey", func() { luma = img.Luma() })
	timed("blur 2.5 px", func() { blurred = luma.Blur(2.5) })
	timed("blobs at three scales", func() {
		for _, s := range []float64{1.9, 2.5, 3.3} {
			luma.Blur(s).LoG(s)
		}
	})
	timed("tile statistics", func() { photo.TileMeanSquares(blurred) })
	timed("all that a photograph takes", func() {
		if _, _, err := dec.Examine(data, 4*photo.WorkingScale); err != nil {
			log.Fatal(err)
		}
	})
	b, err := json.Marshal(ms)
	fmt.Println(string(b))
	return err
}
