package web

import (
	"fmt"
	"math"
	"strings"
	"time"

	"holdfast"
	"holdfast/internal/web/chart"
	"holdfast/internal/web/page"
	"holdfast/internal/web/words"
	known "holdfast/reference"
	"holdfast/science/water"
)

// linesDays is how far back the lines of a tank reach.
const linesDays = 60

// tankLines draws a line for every kind of reading that was taken lately, with
// the band that the animals in the tank are kept in.
func tankLines(t *holdfast.Tank, lots []holdfast.LotRow, now time.Time, zone *time.Location) []page.TankLine {
	from := now.AddDate(0, 0, -linesDays)
	var taken []holdfast.Event
	for _, ev := range t.Measured {
		if ev.OccurredAt.In(zone).After(from) {
			taken = append(taken, ev)
		}
	}
	if len(taken) == 0 {
		return nil
	}
	wants := wantsOf(lots)
	var out []page.TankLine
	for _, k := range waterReadings {
		points := pointsOf(taken, zone, func(w holdfast.Water) *float64 { return *k.at(&w) })
		if len(points) == 0 {
			continue
		}
		out = append(out, tankLine(k.label, k.unit, k.decimals, points, wants[k.name], lineOf[k.name], zone))
	}
	if points := pointsOf(taken, zone, unionized); len(points) > 0 {
		l := tankLine("Un-ionized ammonia, as nitrogen", "mg/l", 3, points, want{}, level{water.AmmoniaAlarm.Value, "act"}, zone)
		l.Reck = true
		out = append(out, l)
	}
	return out
}

// unionized is the part of the ammonia that poisons; nil unless everything it
// follows from was measured together.
func unionized(w holdfast.Water) *float64 {
	if w.PH == nil || w.TempC == nil || w.TAN == nil {
		return nil
	}
	a, err := water.AmmoniaAt(*w.PH, *w.TempC, *w.TAN, 0)
	if err != nil {
		return nil
	}
	return &a.UnionizedMgLN
}

// level is a limit that common practice watches.
type level struct {
	at    float64
	words string
}

var lineOf = map[string]level{"no2_mg_l": {0.1, "act"}, "no3_mg_l": {40, "change water"}, "o2_mg_l": {water.OxygenEnough.Value, "keep above"}}

func pointsOf(taken []holdfast.Event, zone *time.Location, of func(holdfast.Water) *float64) []chart.SeriesPoint {
	var out []chart.SeriesPoint
	for _, ev := range taken {
		if x := of(ev.Payload.(*holdfast.WaterMeasured).Water); x != nil {
			out = append(out, chart.SeriesPoint{Day: dayNumber(ev.OccurredAt.In(zone)), Value: *x})
		}
	}
	return out
}

// dayNumber counts days of the zone since 1970, the time of day as a part.
func dayNumber(t time.Time) float64 {
	_, offset := t.Zone()
	return float64(t.Unix()+int64(offset)) / 86400
}

func tankLine(label, unit string, decimals int, points []chart.SeriesPoint, w want, l level, zone *time.Location) page.TankLine {
	last := points[len(points)-1].Value
	s := chart.Series{Unit: unit, Points: points, Dots: true, Line: l.at, LineWords: l.words, Decimals: decimals, FromZero: l.at > 0}
	says := fmt.Sprintf("Last %s, of %s.", strings.TrimSpace(words.Number(last, decimals)+" "+unit), words.Plural(len(points), "reading", "readings"))
	wrong := false
	if w.high > w.low {
		s.Low, s.High, s.BandWords = w.low, w.high, "wanted"
		wrong = last < w.low || last > w.high
		says += fmt.Sprintf(" Kept in %s to %s.", words.Number(w.low, 1), words.Number(w.high, 1))
		if wrong {
			says += " It lies outside."
		}
	} else if w.apart {
		says += " The kinds in this tank want different water."
	}
	if (label == "Oxygen" && last < l.at) || (label != "Oxygen" && l.at > 0 && last >= l.at) {
		wrong = true
	}
	s.Says = label + ": " + says
	from, to := math.Floor(points[0].Day), points[len(points)-1].Day
	step := math.Max(1, math.Ceil((to-from)/6))
	for day := from; day <= to+step; day += step {
		s.Ticks = append(s.Ticks, chart.SeriesTick{Day: day, Words: words.ShortDay(time.Unix(int64(day)*86400, 0).UTC())})
	}
	return page.TankLine{Name: label, Wide: s.Half(), Tall: s.Tall(), Says: says, Wrong: wrong}
}

// want is the band that all animals of a tank are kept in; apart says that
// their bands do not meet.
type want struct {
	low, high float64
	apart     bool
}

// wantsOf is the band that suits every lot in the tank, by reading.
func wantsOf(lots []holdfast.LotRow) map[string]want {
	out := map[string]want{}
	for _, l := range lots {
		k, ok := known.Builtin().Kept(l.Species)
		if !ok {
			continue
		}
		for name, span := range map[string]known.Span{"temp_c": k.Needs.TempC, "ph": k.Needs.PH, "gh_dh": k.Needs.GH, "kh_dh": k.Needs.KH, "ec_us_cm": k.Needs.Conductivity} {
			if span.From == "" {
				continue
			}
			w, before := out[name]
			if !before {
				out[name] = want{low: span.Low, high: span.High}
				continue
			}
			w.low, w.high = max(w.low, span.Low), min(w.high, span.High)
			w.apart = w.high <= w.low
			out[name] = w
		}
	}
	return out
}
