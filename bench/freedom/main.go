// Command freedom times the sampling questions of this folder's run.sh and
// prints one line for each: name, microseconds of processor time a question,
// answer. It runs on Unix.
package main

import (
	"fmt"
	"os"
	"syscall"
	"time"

	"holdfast/science/freedom"
)

func must[T any](x T, err error) T {
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
	return x
}

// used returns the processor time of this process so far: on a busy machine
// the clock says more of the neighbours than of the work.
func used() time.Duration {
	var u syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}

func main() {
	see := func(se, sp float64) freedom.Seeing { return freedom.Seeing{Sensitivity: se, Specificity: sp} }
	size := func(n int, p float64, how freedom.Seeing, lotSpecificity float64) float64 {
		return float64(must(freedom.SampleSize(freedom.Design{
			Population: n, Prevalence: p, Confidence: 0.95, How: how, LotSpecificity: lotSpecificity,
		})).Look)
	}
	lots := map[int]freedom.Lot{}
	for _, n := range []int{200, 2000, 10_000} {
		lots[n] = must(freedom.NewLot(n, freedom.DefaultPrior()))
	}
	clear := func(n, looked int) float64 {
		return must(lots[n].Look(freedom.Repeat(see(0.8, 1).Clean(), looked))).Clear()
	}
	for _, q := range []struct {
		name string
		ask  func() float64
	}{
		{"size_200_se0.8", func() float64 { return size(200, 0.05, see(0.8, 1), 0) }},
		{"size_10000_se0.8", func() float64 { return size(10_000, 0.02, see(0.8, 1), 0) }},
		{"size_100000_se0.8", func() float64 { return size(100_000, 0.02, see(0.8, 1), 0) }},
		{"cutpoint_200", func() float64 { return size(200, 0.1, see(0.9, 0.98), 0.95) }},
		{"cutpoint_1000", func() float64 { return size(1000, 0.1, see(0.9, 0.98), 0.95) }},
		{"power_500", func() float64 { return must(freedom.Detect(500, 25, 150, 2, see(0.9, 0.98))) }},
		{"clopper_3of30", func() float64 { return must(freedom.ClopperPearson(3, 30, 0.95)).High }},
		{"blaker_3of30", func() float64 { return must(freedom.Blaker(3, 30, 0.95)).High }},
		{"posterior_200", func() float64 { return clear(200, 30) }},
		{"posterior_2000", func() float64 { return clear(2000, 100) }},
		{"posterior_10000", func() float64 { return clear(10_000, 200) }},
		{"more_clean_200", func() float64 {
			return float64(must(lots[200].MoreClean(freedom.ClearLine(0.95), nil, see(0.8, 1))))
		}},
		{"more_clean_10000", func() float64 {
			return float64(must(lots[10_000].MoreClean(freedom.ClearLine(0.9), nil, see(0.8, 1))))
		}},
	} {
		answer := q.ask()
		runs, begin, took := 0, used(), time.Duration(0)
		for ; took < 300*time.Millisecond; took = used() - begin {
			for range 10 {
				q.ask()
			}
			runs += 10
		}
		fmt.Printf("%s\t%.3f\t%.10g\n", q.name, float64(took.Microseconds())/float64(runs), answer)
	}
}
