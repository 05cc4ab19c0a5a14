// Command speed times the questions that a page asks of science/clearance, and
// prints processor seconds, seconds by the clock and the greatest memory so far.
package main

import (
	"context"
	"fmt"
	"os"
	"syscall"
	"time"

	"holdfast/science/clearance"
)

// plan is the lot that vectorised.py follows too: 200 animals, 100 l, baths of 4 d
// on days 1, 15 and 29, one pull a day.
func plan(runs int, days ...float64) clearance.Case {
	certain := 1.0
	c := clearance.Case{Animals: 200, Tanks: []clearance.Tank{{VolumeL: 100}}, Infested: &certain, Runs: runs, Seed: 1, Days: days,
		Pulls: []clearance.Pulls{{From: 0, To: 90, PerDay: 1}}}
	for i := range 3 {
		c.Doses = append(c.Doses, clearance.Dose{Treatment: "praziquantel", Day: 1 + 14*float64(i), Days: 4})
	}
	return c
}

func usage() (processor float64, peakMB int64) {
	var u syscall.Rusage
	if err := syscall.Getrusage(syscall.RUSAGE_SELF, &u); err != nil {
		return 0, 0
	}
	return float64(u.Utime.Nano()+u.Stime.Nano()) / 1e9, u.Maxrss / 1024
}

func timed(name string, animalDays float64, f func() (string, error)) {
	before, _ := usage()
	start := time.Now()
	said, err := f()
	if err != nil {
		fmt.Fprintln(os.Stderr, "speed:", err)
		os.Exit(1)
	}
	wall := time.Since(start).Seconds()
	after, peak := usage()
	per := ""
	if animalDays > 0 {
		per = fmt.Sprintf("%.1f", (after-before)/animalDays*1e9)
	}
	fmt.Printf("%s\t%.3f\t%.3f\t%s\t%d\t%s\n", name, after-before, wall, per, peak, said)
}

func main() {
	ctx := context.Background()
	timed("runs", 200*90*5000, func() (string, error) {
		w, err := clearance.Weigh(ctx, plan(5000, 90))
		if err != nil {
			return "", err
		}
		free := 0
		for _, c := range w.Clear {
			if c[0] {
				free++
			}
		}
		return fmt.Sprintf("%.4f", float64(free)/5000), nil
	})
	timed("ten times the animals", 0, func() (string, error) {
		// The same infested animals among ten times as many: 2,000 animals and a
		// tenth of the share infested.
		c := plan(5000, 90)
		cond, err := clearance.LoadCondition("rostrum_worm")
		if err != nil {
			return "", err
		}
		few := clearance.Belief{Kind: "fix", A: .026, Low: .026, High: .026}
		cond.Figures[clearance.Prev] = few
		c.Condition, c.Animals, c.Tanks[0].VolumeL = cond, 2000, 1000
		_, err = clearance.Weigh(ctx, c)
		return "", err
	})
	line := plan(4000)
	for d := range 91 {
		line.Days = append(line.Days, float64(d))
	}
	line.Looks = []clearance.Look{{Day: 1, Animals: 30, Worms: 2}, {Day: 56, Animals: 30}, {Day: 70, Animals: 30}}
	timed("evidence line, first", 0, func() (string, error) {
		_, err := clearance.Sharpen(ctx, line, func(clearance.Result) bool { return false })
		return "", err
	})
	timed("evidence line, 4000", 0, func() (string, error) {
		r, err := clearance.Evidence(ctx, line)
		if err != nil {
			return "", err
		}
		return fmt.Sprintf("%d runs", r.Mixed.Runs), nil
	})
	q := clearance.Question{Case: plan(1000, 0)}
	q.Case.Doses, q.Case.Pulls = nil, nil
	for _, doses := range []int{2, 3, 4} {
		for _, gap := range []float64{7, 14, 21, 28} {
			for _, pulls := range []int{1, 2} {
				q.Candidates = append(q.Candidates, clearance.Course{Treatment: "praziquantel", First: 1, Doses: doses, Gap: gap, PullsPerDay: pulls, LookAnimals: 30, LooksBefore: []float64{14, 0}})
			}
		}
	}
	timed("24 courses, 1000 runs", 0, func() (string, error) { _, err := clearance.Compare(ctx, q, nil); return "", err })
	q.Candidates = nil
	timed("whole search", 0, func() (string, error) {
		a, err := clearance.Search(ctx, q, nil)
		if err != nil {
			return "", err
		}
		return fmt.Sprintf("%d courses", len(a.Courses)), nil
	})
}
