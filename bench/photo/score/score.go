// Package score judges marks against the truth of phantoms, by the rules that
// docs/SCIENCE.md states.
package score

import (
	"cmp"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"

	"holdfast/photo/phantom"
)

// Box is a box in pixels.
type Box struct{ X, Y, W, H float64 }

// Hits tells whether a mark counts as having found a thing: its middle lies in
// the true box grown by 10 px, its area is at most 6 times the true box plus
// 2000 px^2, and it overlaps it by an intersection over union of 0.08 or lies
// in it by 60 %.
func Hits(mark Box, f phantom.Find) bool {
	cx, cy := mark.X+mark.W/2, mark.Y+mark.H/2
	if cx < f.X-10 || cx > f.X+f.W+10 || cy < f.Y-10 || cy > f.Y+f.H+10 {
		return false
	}
	area, want := mark.W*mark.H, f.W*f.H
	if area > 6*want+2000 {
		return false
	}
	w := min(mark.X+mark.W, f.X+f.W) - max(mark.X, f.X)
	h := min(mark.Y+mark.H, f.Y+f.H) - max(mark.Y, f.Y)
	common := max(0, w) * max(0, h)
	return common/(area+want-common) >= 0.08 || area > 0 && common/area >= 0.6
}

// Mark is a mark with its score.
type Mark struct {
	Box
	Score float64
}

// Photo is a photograph with what was marked in it.
type Photo struct {
	Truth phantom.Truth
	Marks []Mark
}

// Result is how well marks of one kind find things of that kind.
type Result struct {
	Photos, Finds, Resolvable int
	// All and Res are the shares found at each number of false marks a
	// photograph in At, of all finds and of the resolvable ones; SE is the
	// standard error of Res.
	At, All, Res, SE []float64
	// AUC is the chance that a photograph with a resolvable find has a higher
	// best mark than one without any find; AUCAll takes all finds.
	AUC, AUCAll, AUCSE float64
	// First5 is the share of all finds among the first five marks of their own
	// photograph, First5Res of the resolvable ones.
	First5, First5Res float64
	// Ceiling is the share of resolvable finds that any mark hits.
	Ceiling float64
	// MarksPerPhoto is how many marks there were.
	MarksPerPhoto float64
}

// Judge scores the marks of kind k against the truth.
func Judge(photos []Photo, k phantom.Kind, at []float64) Result {
	r := Result{Photos: len(photos), At: at}
	type found struct {
		best       float64
		resolvable bool
		rank       int
	}
	var finds []found
	var falses []float64
	var with, withRes, without []float64
	for _, p := range photos {
		marks := slices.Clone(p.Marks)
		slices.SortStableFunc(marks, func(a, b Mark) int { return cmp.Compare(b.Score, a.Score) })
		r.MarksPerPhoto += float64(len(marks)) / float64(len(photos))
		hit := make([]bool, len(marks))
		any, anyRes := false, false
		for _, f := range p.Truth.Finds {
			if f.Kind != k {
				continue
			}
			got := found{best: math.Inf(-1), resolvable: f.Resolvable(), rank: math.MaxInt}
			any, anyRes = true, anyRes || got.resolvable
			for i, m := range marks {
				if Hits(m.Box, f) {
					hit[i] = true
					got.best, got.rank = max(got.best, m.Score), min(got.rank, i)
				}
			}
			finds = append(finds, got)
		}
		for i, m := range marks {
			if !hit[i] {
				falses = append(falses, m.Score)
			}
		}
		top := math.Inf(-1)
		if len(marks) > 0 {
			top = marks[0].Score
		}
		switch {
		case anyRes:
			withRes, with = append(withRes, top), append(with, top)
		case any:
			with = append(with, top)
		default:
			without = append(without, top)
		}
	}
	slices.SortFunc(falses, func(a, b float64) int { return cmp.Compare(b, a) })
	for _, k := range at {
		threshold := math.Inf(-1)
		if n := int(math.Round(k * float64(len(photos)))); n < len(falses) {
			threshold = falses[n]
		}
		var all, res, nRes float64
		for _, f := range finds {
			if f.resolvable {
				nRes++
			}
			if f.best > threshold && !math.IsInf(f.best, -1) {
				all++
				if f.resolvable {
					res++
				}
			}
		}
		r.Finds, r.Resolvable = len(finds), int(nRes)
		r.All = append(r.All, all/float64(len(finds)))
		share := res / nRes
		r.Res = append(r.Res, share)
		r.SE = append(r.SE, math.Sqrt(share*(1-share)/nRes))
	}
	var five, fiveRes, ceiling float64
	for _, f := range finds {
		if f.rank < 5 {
			five++
			if f.resolvable {
				fiveRes++
			}
		}
		if f.resolvable && !math.IsInf(f.best, -1) {
			ceiling++
		}
	}
	r.First5, r.First5Res, r.Ceiling = five/float64(r.Finds), fiveRes/float64(r.Resolvable), ceiling/float64(r.Resolvable)
	r.AUC, r.AUCSE = AUC(withRes, without)
	r.AUCAll, _ = AUC(with, without)
	return r
}

// Print writes the figures, each share beside its standard error where it has
// one; marks is what they are called.
func (r Result) Print(name, marks string) {
	fmt.Printf("%s: %d photographs, %d finds, %d resolvable, %.1f %ss a photograph, any %s %.3f\n",
		name, r.Photos, r.Finds, r.Resolvable, r.MarksPerPhoto, marks, marks, r.Ceiling)
	for i, k := range r.At {
		fmt.Printf("  @%.1f  all %.3f  resolvable %.3f (se %.3f)\n", k, r.All[i], r.Res[i], r.SE[i])
	}
	fmt.Printf("  AUC all %.3f  resolvable %.3f (se %.3f)   first five: all %.3f (se %.3f) resolvable %.3f\n",
		r.AUCAll, r.AUC, r.AUCSE, r.First5, math.Sqrt(r.First5*(1-r.First5)/float64(r.Finds)), r.First5Res)
}

// Shuffled returns the photographs with their marks in random order: the floor
// that any score must beat.
func Shuffled(photos []Photo, seed uint64) []Photo {
	rng := rand.New(rand.NewPCG(seed, 1))
	out := make([]Photo, len(photos))
	for i, p := range photos {
		out[i] = Photo{Truth: p.Truth, Marks: slices.Clone(p.Marks)}
		for j := range out[i].Marks {
			out[i].Marks[j].Score = rng.Float64()
		}
	}
	return out
}

// AUC is the chance that one of pos is larger than one of neg, the area under the
// receiver operating characteristic, with its standard error. Source: hanley1982.
func AUC(pos, neg []float64) (area, se float64) {
	if len(pos) == 0 || len(neg) == 0 {
		return math.NaN(), math.NaN()
	}
	sum := 0.0
	for _, p := range pos {
		for _, n := range neg {
			switch {
			case p > n:
				sum++
			case p == n:
				sum += 0.5
			}
		}
	}
	np, nn := float64(len(pos)), float64(len(neg))
	a := sum / np / nn
	q1, q2 := a/(2-a), 2*a*a/(1+a)
	return a, math.Sqrt((a*(1-a) + (np-1)*(q1-a*a) + (nn-1)*(q2-a*a)) / np / nn)
}
