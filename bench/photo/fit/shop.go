package main

import (
	"encoding/csv"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strconv"

	"holdfast/bench/photo/score"
	"holdfast/internal/turbojpeg"
	"holdfast/photo"
	"holdfast/reference"
	"holdfast/science/ref"
)

// labelled is what people of a shop said of one photograph.
type labelled struct {
	sha, animal string
	pxPerMM     float64
	places      []place
}

// place is a judged place in stored pixels.
type place struct {
	score.Box
	real bool
}

// fitShop learns the last word on rows anew from a shop's verdicts.
func fitShop(labels, data string) error {
	photos, err := readLabels(labels)
	if err != nil {
		return err
	}
	verdicts, found, err := shopVerdicts(photos, data)
	if err != nil {
		return err
	}
	judged := 0
	for _, p := range photos {
		judged += len(p.places)
	}
	fmt.Printf("%d places judged on %d photographs; %d are marks of rows now\n", judged, len(photos), found)
	return learn(verdicts, len(photos))
}

// learn refits the last word on rows and writes it if it is better.
func learn(verdicts []photo.Verdict, photos int) error {
	r, err := photo.RefitLogistic(photo.BuiltIn().Rows, verdicts, photos, *version)
	var none *ref.NoAnswer
	if errors.As(err, &none) {
		fmt.Printf("%d real and %d nothing, on %d animals. %s\n", r.Real, r.Nothing, r.Photos, none.Reason)
		return nil
	}
	if err != nil {
		return err
	}
	fmt.Printf("%d real and %d nothing, on %d animals: held out, AUC %.3f before and %.3f after, surprise less by %.4f, standard error %.4f\n",
		r.Real, r.Nothing, r.Photos, r.OldAUC, r.NewAUC, r.Gain, r.SE)
	if !r.Kept {
		fmt.Println("not surely better: not taken, nothing written")
		return nil
	}
	fmt.Println("taken")
	write("rows", r.Model)
	return nil
}

// readLabels reads a desk's table, photograph by photograph in its order.
func readLabels(name string) ([]*labelled, error) {
	f, err := os.Open(name)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil || len(rows) == 0 {
		return nil, errors.Join(err, errors.New("the table of labels is empty or no table"))
	}
	column := map[string]int{}
	for i, head := range rows[0] {
		column[head] = i
	}
	for _, head := range []string{"photograph", "lot", "animal", "px_per_mm", "x", "y", "w", "h", "verdict"} {
		if _, ok := column[head]; !ok {
			return nil, fmt.Errorf("the table of labels has no column %q", head)
		}
	}
	var all []*labelled
	known := map[string]*labelled{}
	for n, row := range rows[1:] {
		at := func(head string) string { return row[column[head]] }
		var v [5]float64
		for i, head := range []string{"px_per_mm", "x", "y", "w", "h"} {
			if v[i], err = strconv.ParseFloat(at(head), 64); err != nil {
				return nil, fmt.Errorf("line %d: %s is %q, no number", n+2, head, at(head))
			}
		}
		if v[0] == 0 || at("verdict") == "" {
			continue // read without a scale: no rows are marked
		}
		p := known[at("photograph")]
		if p == nil {
			p = &labelled{sha: at("photograph"), animal: at("lot") + "/" + at("animal"), pxPerMM: v[0]}
			known[p.sha] = p
			all = append(all, p)
		}
		p.places = append(p.places, place{score.Box{X: v[1], Y: v[2], W: v[3], H: v[4]}, at("verdict") == reference.EggRow})
	}
	return all, nil
}

// shopVerdicts reads the photographs again and returns the marks of rows that
// were judged.
func shopVerdicts(photos []*labelled, data string) (all []photo.Verdict, found int, err error) {
	var dec photo.Decoder // keeps as many marks as the desk's
	if lib, err := turbojpeg.Load(); err == nil {
		dec.JPEG = lib
	}
	reports, errs := make([]*photo.Report, len(photos)), make([]error, len(photos))
	score.Each(len(photos), *jobs, func(i int) {
		p := photos[i]
		if len(p.sha) != 64 {
			errs[i] = fmt.Errorf("%q is no photograph", p.sha)
			return
		}
		b, err := os.ReadFile(filepath.Join(data, "photographs", p.sha[:2], p.sha))
		if err == nil {
			_, reports[i], err = dec.Examine(b, p.pxPerMM)
		}
		errs[i] = err
	})
	if err := errors.Join(errs...); err != nil {
		return nil, 0, err
	}
	for i, p := range photos {
		for _, m := range reports[i].Marks {
			if m.Kind != photo.Dots {
				continue
			}
			for _, at := range p.places {
				if sameMark(at.Box, m) {
					all = append(all, photo.Verdict{Photo: p.animal, Features: m.Features, Real: at.real})
					found++
					break
				}
			}
		}
	}
	return all, found, nil
}

// sameMark reports whether a judged place is a mark: each holds most of the
// other, as the desk tells it.
func sameMark(b score.Box, m photo.Mark) bool {
	w := min(b.X+b.W, m.X+m.W) - max(b.X, m.X)
	h := min(b.Y+b.H, m.Y+m.H) - max(b.Y, m.Y)
	return w > 0 && h > 0 && w*h >= 0.5*max(b.W*b.H, m.W*m.H)
}
