// Command fit fits the last words of the finders on a folder of tuning
// phantoms that bench/photo/render wrote, prints how they do by
// cross-validation over photographs, and writes them as JSON.
//
//	go run -tags nodynamic ./bench/photo/fit -out photo/model DIR
package main

import (
	"cmp"
	"encoding/json"
	"flag"
	"fmt"
	"log"
	"math"
	"os"
	"path/filepath"
	"slices"

	"holdfast/bench/photo/score"
	"holdfast/photo"
	"holdfast/photo/phantom"
)

var (
	out      = flag.String("out", "", "folder to write the models to")
	version  = flag.String("version", "tuning", "version to give them")
	jobs     = flag.Int("jobs", 1, "photographs at the same time")
	ridge    = flag.Float64("ridge", 30, "ridge penalty")
	products = flag.Int("products", 40, "products of features that the models of marks have")
	folds    = flag.Int("folds", 5, "folds of the cross-validation")
	worst    = flag.Int("worst", 0, "print so many of the highest false candidates")
	dump     = flag.String("dump", "", "write the examples to KIND-FILE, as JSON")
	only     = flag.String("only", "", "fit only this model")
)

// example is one candidate.
type example struct {
	photo    int
	features []float64
	box      score.Box
	label    bool
	skip     bool // neither: an unresolvable find
}

func main() {
	log.SetFlags(0)
	flag.Parse()
	rows, err := score.ReadTruth(flag.Arg(0))
	if err != nil {
		log.Fatal(err)
	}
	reports, err := score.Examine(flag.Arg(0), rows, &photo.Decoder{Keep: -1}, *jobs, 1)
	if err != nil {
		log.Fatal(err)
	}
	if wanted("eye") {
		fitEyes(rows, reports)
	}
	if wanted("sharp") {
		fitSharpness(rows, reports)
	}
	for _, k := range []struct {
		name string
		kind phantom.Kind
	}{{"rows", phantom.Eggs}, {"threads", phantom.Worm}, {"tufts", phantom.Tuft}} {
		if wanted(k.name) {
			fitMarks(k.name, k.kind, rows, reports)
		}
	}
}

func wanted(model string) bool { return *only == "" || *only == model }

func fitEyes(rows []score.Row, reports []*photo.Report) {
	var ex []example
	found, withEye := 0, 0
	for i, r := range rows {
		any := false
		for _, e := range reports[i].Eyes {
			hit := score.HitsEye(e.At, r.Truth)
			any = any || hit
			ex = append(ex, example{photo: i, features: e.Features, label: hit})
		}
		if len(r.Eyes) > 0 {
			withEye++
			if any {
				found++
			}
		}
	}
	fmt.Printf("eye: %d photographs with an eye; among the candidates in %.3f\n", withEye, float64(found)/float64(withEye))
	scores := crossValidate(ex, photo.EyeFeatures)
	first := 0
	for i, r := range rows {
		best, hit := math.Inf(-1), false
		for k, e := range ex {
			if e.photo == i && scores[k] > best {
				best, hit = scores[k], e.label
			}
		}
		if hit && len(r.Eyes) > 0 {
			first++
		}
	}
	fmt.Printf("eye: first candidate within 0.4 mm, cross-validated: %.3f\n", float64(first)/float64(withEye))
	write("eye", fitAll(ex, photo.EyeFeatures))
}

// fitSharpness fits whether the animal has a blur of at most 0.03 mm. The model
// that comes with the program has -only sharp -ridge 1: it has few measures, and
// the usual penalty costs 0.02 of the AUC.
func fitSharpness(rows []score.Row, reports []*photo.Report) {
	var ex []example
	for i, r := range rows {
		if f := reports[i].Sharpness.Features; f != nil {
			ex = append(ex, example{photo: i, features: f, label: r.BodyBlurMM <= 0.03})
		}
	}
	scores := crossValidate(ex, photo.SharpFeatures)
	right, pairs := 0, 0
	for a := range ex {
		for b := range ex {
			if ex[a].label && !ex[b].label {
				pairs++
				if scores[a] > scores[b] {
					right++
				}
			}
		}
	}
	fmt.Printf("sharpness: %d photographs, AUC, cross-validated: %.3f\n", len(ex), float64(right)/float64(pairs))
	write("sharp", fitAll(ex, photo.SharpFeatures))
}

func fitMarks(name string, kind phantom.Kind, rows []score.Row, reports []*photo.Report) {
	var ex []example
	for i, r := range rows {
		for _, m := range reports[i].Marks {
			if string(m.Kind) != string(kind) {
				continue
			}
			e := example{photo: i, features: m.Features, box: score.Box{X: m.X, Y: m.Y, W: m.W, H: m.H}}
			for _, f := range r.Finds {
				if f.Kind == kind && score.Hits(e.box, f) {
					// A thread is only ever ordered, and all of them count in the order.
					if f.Resolvable() || kind == phantom.Worm {
						e.label = true
					} else {
						e.skip = true
					}
				}
			}
			ex = append(ex, e)
		}
	}
	if len(ex) == 0 {
		return
	}
	features := photo.FeaturesOf(photo.Kind(kind))
	if *dump != "" {
		writeExamples(name+"-"+*dump, features, ex)
	}
	scores := crossValidate(ex, features)
	photos := make([]score.Photo, len(rows))
	for i, r := range rows {
		photos[i].Truth = r.Truth
	}
	alone := withoutOverlaps(ex, scores)
	for k, e := range ex {
		if alone[k] {
			photos[e.photo].Marks = append(photos[e.photo].Marks, score.Mark{Box: e.box, Score: scores[k]})
		}
	}
	if *worst > 0 {
		printWorst(rows, ex, scores, alone)
	}
	score.Judge(photos, kind, []float64{0.5, 1, 2, 5}).Print(name, "candidate")
	m := fitAll(ex, features)
	m.Tail = tail(ex, scores, alone, len(rows))
	write(name, m)
}

// withoutOverlaps tells which candidates no better one of their photograph
// overlaps, as the finder itself thins them.
func withoutOverlaps(ex []example, scores []float64) []bool {
	order := make([]int, len(ex))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int {
		return cmp.Or(cmp.Compare(ex[a].photo, ex[b].photo), cmp.Compare(scores[b], scores[a]))
	})
	alone := make([]bool, len(ex))
	var kept []int
	for _, k := range order {
		if len(kept) > 0 && ex[kept[0]].photo != ex[k].photo {
			kept = kept[:0]
		}
		alone[k] = !slices.ContainsFunc(kept, func(o int) bool {
			return photo.Overlap(asMark(ex[o].box), asMark(ex[k].box))
		})
		if alone[k] {
			kept = append(kept, k)
		}
	}
	return alone
}

// writeExamples writes what a model is fitted on, for a look with other tools.
func writeExamples(name string, features []string, ex []example) {
	type row struct {
		Photo    int       `json:"photo"`
		X        []float64 `json:"x"`
		Box      score.Box `json:"box"`
		Label    bool      `json:"label"`
		Skip     bool      `json:"skip"`
		Features []string  `json:"features,omitempty"`
	}
	rows := make([]row, len(ex))
	for i, e := range ex {
		rows[i] = row{Photo: e.photo, X: e.features, Box: e.box, Label: e.label, Skip: e.skip}
	}
	rows[0].Features = features
	b, err := json.Marshal(rows)
	if err == nil {
		err = os.WriteFile(name, b, 0o644)
	}
	if err != nil {
		log.Fatal(err)
	}
}

// printWorst lists the false candidates that score highest.
func printWorst(rows []score.Row, ex []example, scores []float64, alone []bool) {
	var order []int
	for k, e := range ex {
		if alone[k] && !e.label && !e.skip {
			order = append(order, k)
		}
	}
	slices.SortFunc(order, func(a, b int) int { return cmp.Compare(scores[b], scores[a]) })
	for _, k := range order[:min(*worst, len(order))] {
		b := ex[k].box
		fmt.Printf("WORST %s %.0f %.0f %.0f %.0f %.2f\n", rows[ex[k].photo].File, b.X, b.Y, b.W, b.H, scores[k])
	}
}

func asMark(b score.Box) photo.Mark { return photo.Mark{X: b.X, Y: b.Y, W: b.W, H: b.H} }

// crossValidate returns for each example the score of a model that was fitted
// without its photograph's fold.
func crossValidate(ex []example, features []string) []float64 {
	scores := make([]float64, len(ex))
	for f := range *folds {
		m := fitWithout(ex, features, f)
		for k, e := range ex {
			if e.photo%*folds == f {
				scores[k] = m.Score(e.features)
			}
		}
	}
	return scores
}

func fitAll(ex []example, features []string) *photo.Logistic { return fitWithout(ex, features, -1) }

func fitWithout(ex []example, features []string, fold int) *photo.Logistic {
	var x [][]float64
	var y []bool
	for _, e := range ex {
		if e.photo%*folds != fold && !e.skip {
			x, y = append(x, e.features), append(y, e.label)
		}
	}
	k := *products
	if len(features) < 12 { // eyes and tufts have few
		k = 0
	}
	m, err := photo.FitLogistic(features, x, y, nil, *ridge, k)
	if err != nil {
		log.Fatal(err)
	}
	m.Version = *version
	return m
}

// tail measures how many candidates that are nothing reach a score, at evenly
// spread counts, from the cross-validated scores.
func tail(ex []example, scores []float64, alone []bool, photos int) [][2]float64 {
	var falses []float64
	for k, e := range ex {
		if alone[k] && !e.label && !e.skip {
			falses = append(falses, scores[k])
		}
	}
	return photo.TailOf(falses, photos)
}

func write(name string, m *photo.Logistic) {
	for i, f := range m.Features {
		fmt.Printf("    %-18s mean %8.3f sd %7.3f weight %7.3f\n", f, m.Mean[i], m.SD[i], m.Weight[i])
	}
	if *out == "" {
		return
	}
	b, err := json.Marshal(m)
	if err != nil {
		log.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(*out, name+".json"), append(b, '\n'), 0o644); err != nil {
		log.Fatal(err)
	}
}
