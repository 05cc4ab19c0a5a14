// Command render writes photographs of a phantom split to a folder: the JPEG
// files, scales.csv for holdfast photos --scales, and truth.json.
//
//	go run -tags nodynamic ./bench/photo/render -split tuning -n 300 DIR
package main

import (
	"encoding/csv"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"log"
	"os"
	"path/filepath"
	"strconv"

	"holdfast/bench/photo/score"
	"holdfast/photo/phantom"
)

func main() {
	log.SetFlags(0)
	split := flag.String("split", "tuning", "tuning, varied or holdout")
	from := flag.Int("from", 0, "number of the first photograph")
	n := flag.Int("n", 100, "how many")
	jobs := flag.Int("jobs", 1, "how many at the same time")
	flag.Parse()
	take := map[string]func(int) *phantom.Photo{"tuning": phantom.Tuning, "varied": phantom.Varied, "holdout": phantom.HoldOut}[*split]
	if take == nil || flag.NArg() != 1 {
		flag.Usage()
		os.Exit(2)
	}
	if err := render(flag.Arg(0), *split, take, *from, *n, *jobs); err != nil {
		log.Fatal(err)
	}
}

func render(dir, split string, take func(int) *phantom.Photo, from, n, jobs int) error {
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return err
	}
	rows, errs := make([]score.Row, n), make([]error, n)
	score.Each(n, jobs, func(i int) {
		p := take(from + i)
		rows[i] = score.Row{File: fmt.Sprintf("%s-%04d.jpg", split, from+i), Truth: p.Truth}
		errs[i] = os.WriteFile(filepath.Join(dir, rows[i].File), p.JPEG(), 0o644)
	})
	if err := errors.Join(errs...); err != nil {
		return err
	}
	if err := writeScales(filepath.Join(dir, "scales.csv"), rows); err != nil {
		return err
	}
	b, err := json.Marshal(rows)
	if err != nil {
		return err
	}
	return os.WriteFile(filepath.Join(dir, "truth.json"), b, 0o644)
}

func writeScales(name string, rows []score.Row) error {
	f, err := os.Create(name)
	if err != nil {
		return err
	}
	w := csv.NewWriter(f)
	_ = w.Write([]string{"file", "px_per_mm"})
	for _, r := range rows {
		_ = w.Write([]string{r.File, strconv.FormatFloat(r.PxPerMM, 'f', 3, 64)})
	}
	w.Flush()
	if err := w.Error(); err != nil {
		return err
	}
	return f.Close()
}
