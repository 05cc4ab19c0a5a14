package chart

import (
	"math"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

var pathNumber = regexp.MustCompile(`[ML]([0-9.-]+) ([0-9.-]+)`)

// Whatever was measured, every point stands inside the drawing, whose words say
// what it shows.
func TestSeriesStaysInside(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := Series{Says: "x", Unit: "mg/l", Dots: rapid.Bool().Draw(t, "dots"), FromZero: rapid.Bool().Draw(t, "zero")}
		day := 0.0
		for range rapid.IntRange(0, 12).Draw(t, "n") {
			day += rapid.Float64Range(0, 3).Draw(t, "step")
			s.Points = append(s.Points, SeriesPoint{day, rapid.Float64Range(0, 1000).Draw(t, "value")})
		}
		if rapid.Bool().Draw(t, "band") {
			s.Low = rapid.Float64Range(0, 100).Draw(t, "low")
			s.High, s.BandWords = s.Low+rapid.Float64Range(0.1, 100).Draw(t, "width"), "wanted"
		}
		if rapid.Bool().Draw(t, "line") {
			s.Line, s.LineWords = rapid.Float64Range(0.1, 500).Draw(t, "at"), "act"
		}
		for k := range 40 {
			s.Ticks = append(s.Ticks, SeriesTick{float64(k), "day " + strconv.Itoa(k)})
		}
		for _, d := range []struct {
			svg           string
			width, height float64
		}{{s.Wide(), 760, 190}, {s.Half(), 500, 170}, {s.Tall(), 344, 190}} {
			if strings.Contains(d.svg, "NaN") || strings.Contains(d.svg, "Inf") || !strings.Contains(d.svg, `aria-label="x"`) {
				t.Fatalf("a drawing of nothing: %.300s", d.svg)
			}
			for _, m := range pathNumber.FindAllStringSubmatch(d.svg, -1) {
				x, _ := strconv.ParseFloat(m[1], 64)
				y, _ := strconv.ParseFloat(m[2], 64)
				if x < -0.1 || x > d.width+0.1 || y < -0.1 || y > d.height+0.1 {
					t.Fatalf("a point at %v, %v of %v by %v", x, y, d.width, d.height)
				}
			}
		}
	})
}

// A line that falls from 4 to 0 in two days falls to the right and down.
func TestSeriesFalls(t *testing.T) {
	s := Series{Points: []SeriesPoint{{0, 4}, {2, 0}}, FromZero: true}
	i := strings.Index(s.Wide(), `class="line"`)
	if i < 0 {
		t.Fatal("no line")
	}
	m := pathNumber.FindAllStringSubmatch(s.Wide()[i:], 2)
	x1, _ := strconv.ParseFloat(m[0][1], 64)
	y1, _ := strconv.ParseFloat(m[0][2], 64)
	x2, _ := strconv.ParseFloat(m[1][1], 64)
	y2, _ := strconv.ParseFloat(m[1][2], 64)
	if !(x2 > x1 && y2 > y1) || math.Abs(y2-(190-seriesFoot)) > 0.1 {
		t.Errorf("from %v,%v to %v,%v", x1, y1, x2, y2)
	}
}
