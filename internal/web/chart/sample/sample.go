// Package sample holds invented lots for tests of the charts and of the pages
// that show them. No figure in it comes from a real shop or from the model.
package sample

import (
	"math"
	"time"

	"holdfast/internal/web/chart"
)

// Named is one invented lot.
type Named struct {
	Name     string
	Evidence chart.Evidence
}

func day(s string) time.Time {
	t, err := time.Parse(time.DateOnly, s)
	if err != nil {
		panic(err) // a fixed string of this file
	}
	return t
}

// Evidence are lots at very different points of their time on hold.
func Evidence() []Named {
	return []Named{
		{"course", onCourse()},
		{"fresh", fresh()},
		{"reaches", reaches()},
		{"year", year()},
		{"crowded", crowded()},
		{"ends", ends()},
		{"nothing", chart.Evidence{Subject: "Green jade 2511", Condition: "rostrum worm", Start: day("2026-11-25"), Line: 0.95}},
	}
}

// onCourse was found infested, has had three baths, and will end short of the line.
func onCourse() chart.Evidence {
	e := chart.Evidence{
		Subject: "Blue velvet 1910", Condition: "rostrum worm", Start: day("2026-10-19"), Today: 37, End: 112, Line: 0.95,
		Past: []chart.Point{
			{Day: 0, Chance: .41, Low: .3, High: .52}, {Day: 1, Chance: .41, Low: .3, High: .52}, {Day: 1, Chance: .013, Low: .011, High: .015},
			{Day: 5, Chance: .015, Low: .013, High: .02}, {Day: 14, Chance: .03, Low: .02, High: .05}, {Day: 19, Chance: .08, Low: .04, High: .11},
			{Day: 28, Chance: .14, Low: .11, High: .18}, {Day: 33, Chance: .2, Low: .17, High: .25}, {Day: 37, Chance: .27, Low: .24, High: .31},
		},
		Forecast: []chart.Point{
			{Day: 42, Chance: .33, Low: .29, High: .38}, {Day: 56, Chance: .55, Low: .48, High: .62}, {Day: 70, Chance: .66, Low: .55, High: .74},
			{Day: 84, Chance: .7, Low: .58, High: .79}, {Day: 84, Chance: .79, Low: .68, High: .86}, {Day: 98, Chance: .81, Low: .7, High: .88},
			{Day: 98, Chance: .85, Low: .76, High: .91}, {Day: 112, Chance: .86, Low: .77, High: .92},
		},
		Ifs:   []chart.If{{Day: 84, Chance: .013}, {Day: 98, Chance: .013, Words: "signs again, 1 time in 7"}},
		Notes: []chart.Note{{Day: 0.5, Chance: .41, Words: "supplier’s past lots, 41 %", Reck: true}},
		Baths: []chart.Bath{{From: 1, To: 5, Words: "1"}, {From: 15, To: 19, Words: "2", Standing: chart.Partly}, {From: 29, To: 33, Words: "3"}, {From: 43, To: 47, Words: "4", Standing: chart.Planned}},
		Looks: []chart.Look{{Day: 1, Animals: 40, Positive: 3}, {Day: 84, Animals: 30, Standing: chart.Planned}, {Day: 98, Animals: 30, Standing: chart.Planned}},
		Deaths: []chart.Died{
			{Day: 0, N: 4}, {Day: 2, N: 2}, {Day: 6, N: 2}, {Day: 9, N: 1}, {Day: 18, N: 1}, {Day: 31, N: 1},
		},
	}
	for _, points := range [][]chart.Point{e.Past, e.Forecast} {
		for i := range points {
			p := &points[i]
			p.Never, p.Always = p.Chance+.25*p.Chance*(1-p.Chance), p.Chance-.45*p.Chance*(1-p.Chance)
		}
	}
	for d := range 110 {
		p := chart.Pull{Day: float64(d)}
		if float64(d) > e.Today {
			p.Standing = chart.Planned
		}
		e.Pulls = append(e.Pulls, p)
	}
	return e
}

// fresh came today and nobody has looked.
func fresh() chart.Evidence {
	return chart.Evidence{
		Subject: "Taiwan bee mix 2411", Condition: "rostrum worm", Start: day("2026-11-24"), Today: 0, End: 28, Line: 0.95,
		Past:     []chart.Point{{Day: 0, Chance: .71, Low: .52, High: .86}},
		Forecast: []chart.Point{{Day: 0, Chance: .71}, {Day: 2, Chance: .71}, {Day: 2, Chance: .88}, {Day: 14, Chance: .88}, {Day: 14, Chance: .94}, {Day: 28, Chance: .94}},
		Notes:    []chart.Note{{Day: 0, Chance: .71, Words: "supplier’s past lots", Reck: true}},
		Looks:    []chart.Look{{Day: 2, Animals: 25, Standing: chart.Planned}, {Day: 14, Animals: 25, Standing: chart.Planned}},
		Pulls:    []chart.Pull{{Day: 1, Standing: chart.Planned}, {Day: 2, Standing: chart.Planned}, {Day: 3, Standing: chart.Planned}},
	}
}

// reaches will stand at the line with the next clean look.
func reaches() chart.Evidence {
	return chart.Evidence{
		Subject: "Chili rasbora 0911", Condition: "white spot", Start: day("2026-11-09"), Today: 16, End: 35, Line: 0.95,
		Past:     []chart.Point{{Day: 0, Chance: .8, Low: .7, High: .88}, {Day: 3, Chance: .8, Low: .7, High: .88}, {Day: 3, Chance: .87, Low: .8, High: .92}, {Day: 16, Chance: .9, Low: .84, High: .945}},
		Forecast: []chart.Point{{Day: 18, Chance: .9}, {Day: 18, Chance: .962}, {Day: 35, Chance: .968}},
		Ifs:      []chart.If{{Day: 18, Chance: .02, Words: "1 time in 20"}},
		Looks:    []chart.Look{{Day: 3, Animals: 20}, {Day: 18, Animals: 12, Standing: chart.Planned}},
		Deaths:   []chart.Died{{Day: 1, N: 1}},
	}
}

// year is a separate colony kept for most of a year.
func year() chart.Evidence {
	e := chart.Evidence{
		Subject: "Bloody mary 0102", Condition: "green growth", Start: day("2026-02-01"), Today: 297, End: 365, Line: 0.99,
		Baths: []chart.Bath{{From: 20, To: 24, Words: "1"}, {From: 34, To: 38, Words: "2"}, {From: 150, To: 154, Words: "3", Standing: chart.Partly}},
	}
	for d := 0.0; d <= 297; d += 9 {
		p := 1 / (1 + math.Exp(2-d/60))
		e.Past = append(e.Past, chart.Point{Day: d, Chance: p, Low: p * .9, High: min(p*1.08, .998)})
	}
	for d := 306.0; d <= 365; d += 9 {
		p := 1 / (1 + math.Exp(2-d/60))
		e.Forecast = append(e.Forecast, chart.Point{Day: d, Chance: p})
	}
	for d := 10; d < 297; d += 21 {
		e.Looks = append(e.Looks, chart.Look{Day: float64(d), Animals: 15 + d%20})
	}
	for d := range 297 {
		e.Pulls = append(e.Pulls, chart.Pull{Day: float64(d)})
		if d%23 == 5 {
			e.Deaths = append(e.Deaths, chart.Died{Day: float64(d), N: 1 + d%4})
		}
	}
	return e
}

// crowded has many looks in one week, several with signs.
func crowded() chart.Evidence {
	e := chart.Evidence{
		Subject: "Orange rili 2511", Condition: "segmented worm", Start: day("2026-11-01"), Today: 8, End: 10, Line: 0.95,
		Past: []chart.Point{{Day: 0, Chance: .5}},
		Notes: []chart.Note{
			{Day: 0, Chance: .5, Words: "supplier’s past lots, 50 %", Reck: true}, {Day: 4, Chance: .05, Words: "second room", Reck: true},
			{Day: 5, Chance: .04, Words: "bath begun late", Hot: true},
		},
	}
	for i := range 8 {
		d := float64(i) + .5
		before := e.Past[len(e.Past)-1].Chance
		e.Past = append(e.Past, chart.Point{Day: d, Chance: before})
		l := chart.Look{Day: d, Animals: 10 + 5*i}
		if i%3 == 1 {
			l.Positive = 1 + i
			e.Past = append(e.Past, chart.Point{Day: d, Chance: .02})
		} else {
			e.Past = append(e.Past, chart.Point{Day: d, Chance: min(before*1.6, .9)})
		}
		e.Looks = append(e.Looks, l)
	}
	return e
}

// ends stands at both ends of the scale.
func ends() chart.Evidence {
	return chart.Evidence{
		Subject: "Amano 0910", Condition: "rostrum worm", Start: day("2026-09-10"), Today: 60, End: 60, Line: 0.95,
		Past: []chart.Point{
			{Day: 0, Chance: 0, Low: 0, High: .01}, {Day: 20, Chance: 0.0001}, {Day: 30, Chance: .5, Low: .4, High: .6},
			{Day: 45, Chance: .999, Low: .99, High: 1}, {Day: 60, Chance: 1}, {Day: 61, Chance: math.NaN()},
		},
		Looks: []chart.Look{{Day: 10, Animals: 1, Positive: 1}, {Day: 58, Animals: 500}},
	}
}

// Walk is a morning's round.
func Walk() chart.Walk {
	var w chart.Walk
	for _, n := range []string{"1", "2", "3", "4", "5", "9"} {
		w.Stops = append(w.Stops, chart.Stop{Label: n, Zone: chart.Clean, Done: true})
	}
	return chart.Walk{Stops: append(w.Stops,
		chart.Stop{Label: "6", Zone: chart.OnHold, Late: true}, chart.Stop{Label: "23", Zone: chart.OnHold, Late: true}, chart.Stop{Label: "22", Zone: chart.OnHold},
		chart.Stop{Label: "14", Zone: chart.Carrying}, chart.Stop{Label: "7", Zone: chart.Carrying}, chart.Stop{Label: "21", Zone: chart.Carrying},
	)}
}

// BigWalk is the round of a room of 150 tanks, a third of the way through.
func BigWalk() chart.Walk {
	var w chart.Walk
	for i := range 150 {
		s := chart.Stop{Label: string(rune('A'+i/20)) + string(rune('0'+i%10)), Zone: chart.Clean, Done: i < 50, Late: i%31 == 30}
		switch {
		case i >= 130:
			s.Zone = chart.Carrying
		case i >= 90:
			s.Zone = chart.OnHold
		}
		w.Stops = append(w.Stops, s)
	}
	return w
}
