package assets

import (
	"math"
	"regexp"
	"strconv"
	"testing"
)

// Contrast as WCAG 2.2 defines it (relative luminance, success criteria 1.4.3
// and 1.4.11): 4.5 for text, 3 for the edges of what one presses.
func TestContrast(t *testing.T) {
	css, err := files.ReadFile("css/10-tokens.css")
	if err != nil {
		t.Fatal(err)
	}
	blocks := regexp.MustCompile(`(?s):root\{[^}]*--paper:#[^}]*\}`).FindAllString(string(css), -1)
	if len(blocks) != 2 {
		t.Fatalf("found %d palettes, want light and dark", len(blocks))
	}
	for i, name := range []string{"light", "dark"} {
		hue := map[string]float64{}
		for _, m := range regexp.MustCompile(`--(\w+):#([0-9a-f]{6})\b`).FindAllStringSubmatch(blocks[i], -1) {
			hue[m[1]] = luminance(t, m[2])
		}
		for _, c := range []struct {
			front, back string
			least       float64
		}{
			{"ink", "paper", 4.5}, {"ink", "sheet", 4.5}, {"ink", "wash", 4.5},
			{"ink2", "paper", 4.5}, {"ink2", "sheet", 4.5}, {"ink2", "wash", 4.5},
			{"mark", "paper", 4.5}, {"mark", "sheet", 4.5}, {"mark", "wash", 4.5},
			{"onmark", "mark", 4.5}, {"paper", "ink", 4.5},
			{"edge", "paper", 3}, {"edge", "sheet", 3}, {"edge", "wash", 3},
		} {
			front, back := hue[c.front], hue[c.back]
			if front == 0 && back == 0 {
				t.Fatalf("%s: no colours for %s on %s", name, c.front, c.back)
			}
			if got := (max(front, back) + .05) / (min(front, back) + .05); got < c.least {
				t.Errorf("%s: %s on %s is %.2f, want %v at least", name, c.front, c.back, got, c.least)
			}
		}
	}
}

func luminance(t *testing.T, hex string) float64 {
	t.Helper()
	v, err := strconv.ParseUint(hex, 16, 32)
	if err != nil {
		t.Fatal(err)
	}
	channel := func(shift uint) float64 {
		c := float64(v>>shift&255) / 255
		if c <= 0.04045 {
			return c / 12.92
		}
		return math.Pow((c+0.055)/1.055, 2.4)
	}
	return 0.2126*channel(16) + 0.7152*channel(8) + 0.0722*channel(0)
}
