// Command fit fits the last words of the finders on folders of tuning and varied
// phantoms that bench/photo/render wrote, prints how they do by
// cross-validation over photographs, and writes them as JSON.
//
//	go run -tags nodynamic ./bench/photo/fit -out photo/model DIR...
//
// With the labels.csv that a desk's bench exports it learns the last word on rows
// anew from what people there said of marks, on the photographs in the desk's data
// folder, as the desk itself does, and writes it only if it is better on verdicts
// it had not seen.
//
//	go run -tags nodynamic ./bench/photo/fit -labels labels.csv -out MODELS DATA
package main

import (
	"cmp"
	"encoding/json"
	"flag"
	"fmt"
	"log"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat"

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
	labels   = flag.String("labels", "", "labels.csv of a desk; the folder is its data folder then")
	only     = flag.String("only", "", "fit only this model")
)

// example is one candidate.
type example struct {
	photo    int
	features []float64
	box      score.Box
	label    bool
	skip     bool // neither: an unresolvable find
	weight   float64
}

func main() {
	log.SetFlags(0)
	flag.Parse()
	if *labels != "" {
		if err := fitShop(*labels, flag.Arg(0)); err != nil {
			log.Fatal(err)
		}
		return
	}
	var rows []score.Row
	var reports []*photo.Report
	for _, dir := range flag.Args() {
		truth, err := score.ReadTruth(dir)
		if err != nil {
			log.Fatal(err)
		}
		seen, err := score.Examine(dir, truth, &photo.Decoder{Keep: -1}, *jobs, 1)
		if err != nil {
			log.Fatal(err)
		}
		rows, reports = append(rows, truth...), append(reports, seen...)
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
			ex = append(ex, example{photo: i, weight: 1, features: e.Features, label: hit})
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

// fitSharpness fits the logarithm of the blur over the animal by least squares
// with a penalty of sharpRidge, and turns it into the log-odds that the blur is
// at most sharpBlur by the spread of what is left over.
func fitSharpness(rows []score.Row, reports []*photo.Report) {
	var ex []example
	var blur []float64
	for i, r := range rows {
		if f := reports[i].Sharpness.Features; f != nil {
			ex = append(ex, example{photo: i, features: f, label: r.BodyBlurMM <= sharpBlur})
			blur = append(blur, max(-blurReach, min(blurReach, math.Log(r.BodyBlurMM/sharpBlur))))
		}
	}
	scores := crossValidateBy(func(ex []example, _ []string, fold int) *photo.Logistic { return fitBlur(ex, blur, fold) }, ex, nil)
	var sharp, soft, passing []float64
	for k, e := range ex {
		if e.label {
			sharp, passing = append(sharp, scores[k]), append(passing, 10*math.Exp(scores[k]/4))
		} else {
			soft = append(soft, scores[k])
		}
	}
	area, se := score.AUC(sharp, soft)
	fmt.Printf("sharpness: %d photographs, AUC, cross-validated: %.3f (se %.3f)\n", len(ex), area, se)
	slices.Sort(passing)
	fmt.Printf("sharpness: nine in ten of the sharp are above %.2f\n", passing[len(passing)/10])
	write("sharp", fitBlur(ex, blur, -1))
}

const (
	sharpBlur  = 0.03 // mm: what counts as sharp
	sharpRidge = 10
	blurReach  = 1.3 // how much sharper or softer still does not matter, as a logarithm
)

// fitBlur fits on the photographs outside a fold.
func fitBlur(ex []example, blur []float64, fold int) *photo.Logistic {
	var x [][]float64
	var y []float64
	for k, e := range ex {
		if e.photo%*folds != fold {
			x, y = append(x, e.features), append(y, blur[k])
		}
	}
	n, p := len(x), len(photo.SharpFeatures)
	m := &photo.Logistic{Version: *version, Features: photo.SharpFeatures, Mean: make([]float64, p), SD: make([]float64, p), Weight: make([]float64, p)}
	for j := range p {
		var column []float64
		for i := range x {
			if !math.IsNaN(x[i][j]) {
				column = append(column, x[i][j])
			}
		}
		m.Mean[j], m.SD[j] = stat.PopMeanStdDev(column, nil)
	}
	level := stat.Mean(y, nil)
	z, left := mat.NewDense(n, p, nil), mat.NewVecDense(n, nil)
	for i := range x {
		for j, v := range x[i] {
			if m.SD[j] > 0 && !math.IsNaN(v) {
				z.Set(i, j, max(-4, min(4, (v-m.Mean[j])/m.SD[j])))
			}
		}
		left.SetVec(i, y[i]-level)
	}
	var gram mat.Dense
	gram.Mul(z.T(), z)
	for j := range p {
		gram.Set(j, j, gram.At(j, j)+sharpRidge)
	}
	var right, weight, fitted mat.VecDense
	right.MulVec(z.T(), left)
	if err := weight.SolveVec(&gram, &right); err != nil {
		log.Fatal(err)
	}
	fitted.MulVec(z, &weight)
	left.SubVec(left, &fitted)
	// A logistic distribution of spread s has a standard deviation of s pi/sqrt(3).
	s := mat.Norm(left, 2) / math.Sqrt(float64(n)) * math.Sqrt(3) / math.Pi
	m.Bias = -level / s
	for j := range p {
		m.Weight[j] = -weight.AtVec(j) / s
	}
	return m
}

func fitMarks(name string, kind phantom.Kind, rows []score.Row, reports []*photo.Report) {
	var ex []example
	for i, r := range rows {
		for _, m := range reports[i].Marks {
			if string(m.Kind) != string(kind) {
				continue
			}
			e := example{photo: i, weight: 1, features: m.Features, box: score.Box{X: m.X, Y: m.Y, W: m.W, H: m.H}}
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
	fit := fitWithout
	if kind == phantom.Worm {
		fit = fitOrder
	}
	scores := crossValidateBy(fit, ex, features)
	photos := make([]score.Photo, len(rows))
	for i, r := range rows {
		photos[i].Truth = r.Truth
	}
	kept := thinned(kind, ex, scores, rows)
	for _, k := range kept {
		photos[k.photo].Marks = append(photos[k.photo].Marks, score.Mark{Box: k.box, Score: k.score})
	}
	if *worst > 0 {
		printWorst(rows, kept)
	}
	score.Judge(photos, kind, []float64{0.5, 1, 2, 5}).Print(name, "candidate")
	m := fit(ex, features, -1)
	m.Tail = tail(kept, len(rows))
	write(name, m)
}

// candidate is an example that is left when the finder's own thinning is done,
// with the score that it then has.
type candidate struct {
	example
	score float64
}

// thinned thins the candidates of every photograph as the finder does.
func thinned(kind phantom.Kind, ex []example, scores []float64, rows []score.Row) []candidate {
	var out []candidate
	if kind != phantom.Worm {
		for k, alone := range withoutOverlaps(ex, scores) {
			if alone {
				out = append(out, candidate{ex[k], scores[k]})
			}
		}
		return out
	}
	for from := 0; from < len(ex); {
		to := from
		var marks []photo.Mark
		for ; to < len(ex) && ex[to].photo == ex[from].photo; to++ {
			m := asMark(ex[to].box)
			m.Score, m.Features = scores[to], []float64{float64(to)}
			marks = append(marks, m)
		}
		for _, m := range photo.SpreadOut(marks, crops, rows[ex[from].photo].PxPerMM) {
			out = append(out, candidate{ex[int(m.Features[0])], m.Score})
		}
		from = to
	}
	return out
}

// crops is how many threads of a photograph are judged.
const crops = 24

// What the order of threads is learned from: photographs with a thread, in each
// the true candidates, the false ones that a first fit puts on top, and some of
// the others with the weight of all.
const (
	hardest = 60
	others  = 30
)

// fitOrder fits the order of threads on the photographs outside a fold.
func fitOrder(ex []example, features []string, fold int) *photo.Logistic {
	with := map[int]bool{}
	for _, e := range ex {
		with[e.photo] = with[e.photo] || e.label
	}
	ex = slices.DeleteFunc(slices.Clone(ex), func(e example) bool { return !with[e.photo] })
	plain := *products
	*products = 0
	first := fitWithout(fewer(ex, nil, 0, hardest), features, fold)
	*products = plain
	return fitWithout(fewer(ex, first, hardest, others), features, fold)
}

// fewer keeps of the false candidates of each photograph those that m scores
// highest and some of the others.
func fewer(ex []example, m *photo.Logistic, top, some int) []example {
	var out []example
	for from := 0; from < len(ex); {
		to := from
		var falses []example
		for ; to < len(ex) && ex[to].photo == ex[from].photo; to++ {
			if ex[to].label {
				out = append(out, ex[to])
			} else {
				falses = append(falses, ex[to])
			}
		}
		if m != nil {
			slices.SortStableFunc(falses, func(a, b example) int { return cmp.Compare(m.Score(b.features), m.Score(a.features)) })
		}
		n := min(top, len(falses))
		out, falses = append(out, falses[:n]...), falses[n:]
		rng := rand.New(rand.NewPCG(uint64(ex[from].photo), 1))
		rng.Shuffle(len(falses), func(a, b int) { falses[a], falses[b] = falses[b], falses[a] })
		n = min(some, len(falses))
		for _, e := range falses[:n] {
			e.weight = float64(len(falses)) / float64(n)
			out = append(out, e)
		}
		from = to
	}
	return out
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
func printWorst(rows []score.Row, kept []candidate) {
	kept = slices.DeleteFunc(slices.Clone(kept), func(c candidate) bool { return c.label || c.skip })
	slices.SortFunc(kept, func(a, b candidate) int { return cmp.Compare(b.score, a.score) })
	for _, c := range kept[:min(*worst, len(kept))] {
		fmt.Printf("WORST %s %.0f %.0f %.0f %.0f %.2f\n", rows[c.photo].File, c.box.X, c.box.Y, c.box.W, c.box.H, c.score)
	}
}

func asMark(b score.Box) photo.Mark { return photo.Mark{X: b.X, Y: b.Y, W: b.W, H: b.H} }

// crossValidate returns for each example the score of a model that was fitted
// without its photograph's fold.
func crossValidate(ex []example, features []string) []float64 {
	return crossValidateBy(fitWithout, ex, features)
}

func crossValidateBy(fit func([]example, []string, int) *photo.Logistic, ex []example, features []string) []float64 {
	scores := make([]float64, len(ex))
	for f := range *folds {
		m := fit(ex, features, f)
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
	var weight []float64
	for _, e := range ex {
		if e.photo%*folds != fold && !e.skip {
			x, y, weight = append(x, e.features), append(y, e.label), append(weight, e.weight)
		}
	}
	k := *products
	if len(features) < 12 { // eyes and tufts have few
		k = 0
	}
	m, err := photo.FitLogistic(features, x, y, weight, *ridge, k)
	if err != nil {
		log.Fatal(err)
	}
	m.Version = *version
	return m
}

// tail measures how many candidates that are nothing reach a score, at evenly
// spread counts, from the cross-validated scores.
func tail(kept []candidate, photos int) [][2]float64 {
	var falses []float64
	for _, c := range kept {
		if !c.label && !c.skip {
			falses = append(falses, c.score)
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
