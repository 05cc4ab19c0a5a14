// Command judge scores the finders that are built in on a folder of phantoms
// that bench/photo/render wrote, and prints every figure beside its standard
// error and the random floor.
//
//	go run -tags nodynamic ./bench/photo/judge DIR
package main

import (
	"cmp"
	"flag"
	"fmt"
	"log"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"

	"holdfast/bench/photo/score"
	"holdfast/internal/turbojpeg"
	"holdfast/photo"
	"holdfast/photo/phantom"
)

var (
	jobs  = flag.Int("jobs", 1, "photographs at the same time")
	first = flag.Int("n", 0, "judge only so many photographs, 0 for all")
	scale = flag.Float64("scale-error", 1, "multiply every scale by this before looking")
)

func main() {
	log.SetFlags(0)
	flag.Parse()
	rows, err := score.ReadTruth(flag.Arg(0))
	if err != nil {
		log.Fatal(err)
	}
	if *first > 0 {
		rows = rows[:min(*first, len(rows))]
	}
	reports := examine(flag.Arg(0), rows)
	for _, k := range []phantom.Kind{phantom.Eggs, phantom.Worm, phantom.Tuft} {
		photos := photosOf(rows, reports, k)
		at := []float64{0.5, 1, 2, 5}
		print(string(k), score.Judge(photos, k, at))
		floor(photos, k, at)
	}
	printEyes(rows, reports)
	printSharpness(rows, reports)
	printWhite(rows, reports)
}

func examine(dir string, rows []score.Row) []*photo.Report {
	var dec photo.Decoder
	if lib, err := turbojpeg.Load(); err == nil {
		dec.JPEG = lib
	}
	reports := make([]*photo.Report, len(rows))
	var wg sync.WaitGroup
	next := make(chan int)
	for range *jobs {
		wg.Go(func() {
			for i := range next {
				data, err := os.ReadFile(filepath.Join(dir, rows[i].File))
				if err == nil {
					_, reports[i], err = dec.Examine(data, rows[i].PxPerMM**scale)
				}
				if err != nil {
					log.Fatal(err)
				}
			}
		})
	}
	for i := range rows {
		next <- i
	}
	close(next)
	wg.Wait()
	return reports
}

func photosOf(rows []score.Row, reports []*photo.Report, k phantom.Kind) []score.Photo {
	photos := make([]score.Photo, len(rows))
	for i, r := range reports {
		photos[i].Truth = rows[i].Truth
		for _, m := range r.Marks {
			if string(m.Kind) == string(k) {
				photos[i].Marks = append(photos[i].Marks, score.Mark{Box: score.Box{X: m.X, Y: m.Y, W: m.W, H: m.H}, Score: m.Score})
			}
		}
	}
	return photos
}

func print(name string, r score.Result) {
	fmt.Printf("%s: %d photographs, %d finds, %d resolvable, %.1f marks a photograph, any mark %.3f\n",
		name, r.Photos, r.Finds, r.Resolvable, r.MarksPerPhoto, r.Ceiling)
	for i, k := range r.At {
		fmt.Printf("  @%.1f  all %.3f  resolvable %.3f (se %.3f)\n", k, r.All[i], r.Res[i], r.SE[i])
	}
	fmt.Printf("  AUC all %.3f  resolvable %.3f (se %.3f)   first five: all %.3f (se %.3f) resolvable %.3f\n",
		r.AUCAll, r.AUC, r.AUCSE, r.First5, math.Sqrt(r.First5*(1-r.First5)/float64(r.Finds)), r.First5Res)
}

// floor prints the mean over twenty random orders of the same marks.
func floor(photos []score.Photo, k phantom.Kind, at []float64) {
	const orders = 20
	res := make([]float64, len(at))
	var auc, five float64
	for seed := range uint64(orders) {
		r := score.Judge(score.Shuffled(photos, seed), k, at)
		for i := range at {
			res[i] += r.Res[i] / orders
		}
		auc += r.AUC / orders
		five += r.First5 / orders
	}
	fmt.Printf("  in random order: resolvable %.3f, AUC %.3f, first five %.3f\n", res, auc, five)
}

func printEyes(rows []score.Row, reports []*photo.Report) {
	with, first, sure, sureRight := 0, 0, 0, 0
	for i, r := range rows {
		if len(r.Eyes) == 0 {
			continue
		}
		with++
		if len(reports[i].Eyes) == 0 {
			continue
		}
		e := reports[i].Eyes[0]
		hit := slices.ContainsFunc(r.Eyes, func(t [2]float64) bool {
			return math.Hypot(e.At.X-t[0], e.At.Y-t[1]) < 0.4*r.PxPerMM
		})
		if hit {
			first++
		}
		if e.Score > 0 {
			sure++
			if hit {
				sureRight++
			}
		}
	}
	fmt.Printf("eye within 0.4 mm in %d of %d photographs with one; called sure in %d, right in %d of them\n", first, with, sure, sureRight)
}

// printSharpness prints how well the value ranks photographs whose animal has a
// blur of at most 0.03 mm before the others.
func printSharpness(rows []score.Row, reports []*photo.Report) {
	var sharp, soft []float64
	passed := 0
	for i, r := range rows {
		if v := reports[i].Sharpness.Value; r.BodyBlurMM <= 0.03 {
			sharp = append(sharp, v)
			if reports[i].Usable {
				passed++
			}
		} else {
			soft = append(soft, v)
		}
	}
	slices.Sort(sharp)
	slices.Sort(soft)
	fmt.Printf("sharpness of the sharp: a tenth below %.2f, half below %.2f; of the soft: half below %.2f\n",
		sharp[len(sharp)/10], sharp[len(sharp)/2], soft[len(soft)/2])
	n := 0.0
	for _, a := range sharp {
		for _, b := range soft {
			switch cmp.Compare(a, b) {
			case 1:
				n++
			case 0:
				n += 0.5
			}
		}
	}
	fmt.Printf("sharpness: %d sharp, %d soft, AUC %.3f; usable %d of the sharp\n",
		len(sharp), len(soft), n/float64(len(sharp)*len(soft)), passed)
}

// printWhite prints in how many photographs of each strain nothing can be told
// for the whiteness of the shell.
func printWhite(rows []score.Row, reports []*photo.Report) {
	all, white := map[string]int{}, map[string]int{}
	for i, r := range rows {
		all[r.Strain]++
		if slices.ContainsFunc(reports[i].CannotTell, func(s string) bool { return strings.HasPrefix(s, "white") }) {
			white[r.Strain]++
		}
	}
	var names []string
	for n := range all {
		names = append(names, n)
	}
	slices.Sort(names)
	fmt.Print("white shell said of:")
	for _, n := range names {
		fmt.Printf(" %s %d/%d", n, white[n], all[n])
	}
	fmt.Println()
}
