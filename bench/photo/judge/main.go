// Command judge scores the finders that are built in on a folder of phantoms
// that bench/photo/render wrote, and prints every figure beside its standard
// error and the random floor.
//
//	go run -tags nodynamic ./bench/photo/judge DIR
package main

import (
	"flag"
	"fmt"
	"log"
	"slices"
	"strings"

	"holdfast/bench/photo/score"
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
	reports, err := score.Examine(flag.Arg(0), rows, &photo.Decoder{}, *jobs, *scale)
	if err != nil {
		log.Fatal(err)
	}
	for _, k := range []phantom.Kind{phantom.Eggs, phantom.Worm, phantom.Tuft} {
		photos := photosOf(rows, reports, k)
		at := []float64{0.5, 1, 2, 5}
		score.Judge(photos, k, at).Print(string(k), "mark")
		floor(photos, k, at)
	}
	printEyes(rows, reports)
	printSharpness(rows, reports)
	printWhite(rows, reports)
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
		hit := score.HitsEye(e.At, r.Truth)
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
	sharpPassed, softPassed := 0, 0
	for i, r := range rows {
		v, usable := reports[i].Sharpness.Value, btoi(reports[i].Usable)
		if r.BodyBlurMM <= 0.03 {
			sharp, sharpPassed = append(sharp, v), sharpPassed+usable
		} else {
			soft, softPassed = append(soft, v), softPassed+usable
		}
	}
	slices.Sort(sharp)
	slices.Sort(soft)
	fmt.Printf("sharpness of the sharp: a tenth below %.2f, half below %.2f; of the soft: half below %.2f\n",
		sharp[len(sharp)/10], sharp[len(sharp)/2], soft[len(soft)/2])
	area, se := score.AUC(sharp, soft)
	fmt.Printf("sharpness: %d sharp, %d soft, AUC %.3f (se %.3f); usable %d of the sharp, %d of the soft\n",
		len(sharp), len(soft), area, se, sharpPassed, softPassed)
}

func btoi(b bool) int {
	if b {
		return 1
	}
	return 0
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
