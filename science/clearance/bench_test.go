package clearance

import (
	"context"
	"testing"
)

func benchTrial(b *testing.B, doses, pulls int, days bool) (*trial, *Condition, []string) {
	c, err := LoadCondition("rostrum_worm")
	if err != nil {
		b.Fatal(err)
	}
	ids := c.treatmentIDs()
	index := map[string]int{}
	for i, id := range ids {
		index[id] = i
	}
	t := &trial{places: 200, horizon: 90, limit: c.Cap}
	var ds []Dose
	for i := range doses {
		ds = append(ds, Dose{Treatment: "praziquantel", Day: 1 + 14*float64(i), Days: 4})
	}
	t.schedules = []schedule{newSchedule(Tank{VolumeL: 100}, 0, ds, []Pulls{{From: 0, To: 90, PerDay: pulls}}, index, 90)}
	t.events = events(ds, nil, nil)
	var asked, looks []float64
	if days {
		for d := range 91 {
			asked = append(asked, float64(d))
		}
		looks = []float64{56, 70}
	}
	t.asked, t.looks = newCalendar(asked, 90), newCalendar(looks, 90)
	return t, c, ids
}

func benchRuns(b *testing.B, doses, pulls int, days bool) {
	t, c, ids := benchTrial(b, doses, pulls, days)
	var born, capped int
	for b.Loop() {
		born, capped = 0, 0
		bs := make([]int, 5000)
		cs := make([]bool, 5000)
		each(context.Background(), 5000, batch, func() func(int) {
			r := t.newRun()
			var v Values
			kill := make([]float64, len(ids))
			return func(i int) {
				k := runKey(1, i)
				c.draw(k, &v, kill, ids)
				r.follow(k, &v, kill, nil, nil)
				bs[i] = r.born
				cs[i] = r.capped
			}
		})
		for i := range bs {
			born += bs[i]
			if cs[i] {
				capped++
			}
		}
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/(200*90*5000), "ns/animal-day")
	b.ReportMetric(float64(born)/5000, "worms/run")
	b.ReportMetric(float64(capped)/5000, "capped")
}

func BenchmarkRuns3x14(b *testing.B)      { benchRuns(b, 3, 1, false) }
func BenchmarkRuns3x14Days(b *testing.B)  { benchRuns(b, 3, 1, true) }
func BenchmarkRuns2x14Days(b *testing.B)  { benchRuns(b, 2, 1, true) }
func BenchmarkRuns4x14Days(b *testing.B)  { benchRuns(b, 4, 1, true) }
func BenchmarkRunsUntreated(b *testing.B) { benchRuns(b, 0, 0, true) }
