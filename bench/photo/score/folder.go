package score

import (
	"encoding/json"
	"errors"
	"math"
	"os"
	"path/filepath"
	"sync"

	"holdfast/internal/turbojpeg"
	"holdfast/photo"
	"holdfast/photo/phantom"
)

// Row is one photograph in truth.json.
type Row struct {
	File string `json:"file"`
	phantom.Truth
}

// ReadTruth reads the truth of a folder that bench/photo/render wrote.
func ReadTruth(dir string) ([]Row, error) {
	b, err := os.ReadFile(filepath.Join(dir, "truth.json"))
	if err != nil {
		return nil, err
	}
	var rows []Row
	return rows, json.Unmarshal(b, &rows)
}

// Examine looks at every photograph of the folder, jobs of them at the same
// time, at its true scale times scaleError, with dec and the fastest JPEG
// decoder there is.
func Examine(dir string, rows []Row, dec *photo.Decoder, jobs int, scaleError float64) ([]*photo.Report, error) {
	if lib, err := turbojpeg.Load(); err == nil {
		dec.JPEG = lib
	}
	reports, errs := make([]*photo.Report, len(rows)), make([]error, len(rows))
	Each(len(rows), jobs, func(i int) {
		data, err := os.ReadFile(filepath.Join(dir, rows[i].File))
		if err == nil {
			_, reports[i], err = dec.Examine(data, rows[i].PxPerMM*scaleError)
		}
		errs[i] = err
	})
	return reports, errors.Join(errs...)
}

// Each calls f with 0 to n-1, jobs of them at the same time.
func Each(n, jobs int, f func(i int)) {
	next := make(chan int)
	var wg sync.WaitGroup
	for range jobs {
		wg.Go(func() {
			for i := range next {
				f(i)
			}
		})
	}
	for i := range n {
		next <- i
	}
	close(next)
	wg.Wait()
}

// HitsEye tells whether a place lies within 0.4 mm of an eye of the truth.
func HitsEye(at photo.Point, t phantom.Truth) bool {
	for _, e := range t.Eyes {
		if math.Hypot(at.X-e[0], at.Y-e[1]) < 0.4*t.PxPerMM {
			return true
		}
	}
	return false
}
