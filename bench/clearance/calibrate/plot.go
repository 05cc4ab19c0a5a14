package main

import (
	"fmt"
	"math"
	"slices"
	"strings"
)

func sorted(x []float64) []float64 {
	y := slices.Clone(x)
	slices.Sort(y)
	return y
}

// draw makes the picture: stated chance against the share that was clear, and the
// distance of each rank distribution from uniform.
func draw(in *outcome, outside []named) string {
	var b strings.Builder
	b.WriteString(`<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 960 460" font-family="sans-serif" font-size="13">` + "\n")
	b.WriteString(`<rect width="960" height="460" fill="#f7faf8"/>` + "\n")
	b.WriteString(`<text x="60" y="28" font-size="16">Called clear with chance p: how many were</text>` + "\n")
	b.WriteString(`<text x="540" y="28" font-size="16">Rank of the truth, minus uniform</text>` + "\n")
	chances(&b, in, outside)
	ranks(&b, in)
	b.WriteString("</svg>\n")
	return b.String()
}

func axes(b *strings.Builder, x0, y0, w, h float64, low, high float64, format string) {
	fmt.Fprintf(b, `<path d="M%g %gV%gH%g" fill="none" stroke="#0f1f1b"/>`+"\n", x0, y0-h, y0, x0+w)
	for i := range 6 {
		f := float64(i) / 5
		fmt.Fprintf(b, `<text x="%g" y="%g" text-anchor="middle">%.1f</text>`+"\n", x0+f*w, y0+18, f)
		fmt.Fprintf(b, `<text x="%g" y="%g" text-anchor="end">`+format+`</text>`+"\n", x0-6, y0-f*h+4, low+f*(high-low))
	}
}

func chances(b *strings.Builder, in *outcome, outside []named) {
	const x0, y0, w, h = 60.0, 420.0, 380.0, 370.0
	axes(b, x0, y0, w, h, 0, 1, "%.1f")
	fmt.Fprintf(b, `<path d="M%g %gL%g %g" stroke="#63756e" stroke-dasharray="4 3"/>`+"\n", x0, y0, x0+w, y0-h)
	d := len(askedDays) - 1
	for _, n := range outside {
		var path strings.Builder
		for i, k := range n.o.binned(d) {
			fmt.Fprintf(&path, "%s%.1f %.1f", map[bool]string{true: "M", false: "L"}[i == 0], x0+k.stated*w, y0-float64(k.clear)/float64(k.n)*h)
		}
		fmt.Fprintf(b, `<path d="%s" fill="none" stroke="#b9c6c0"><title>%s</title></path>`+"\n", path.String(), n.name)
	}
	for _, k := range in.binned(d) {
		x := x0 + k.stated*w
		fmt.Fprintf(b, `<path d="M%.1f %.1fV%.1f" stroke="#960c58"/><circle cx="%.1f" cy="%.1f" r="4" fill="#960c58"/>`+"\n",
			x, y0-k.low*h, y0-k.high*h, x, y0-float64(k.clear)/float64(k.n)*h)
	}
	fmt.Fprintf(b, `<text x="%g" y="%g" fill="#960c58">truths from the beliefs, 95 %% interval</text>`+"\n", x0+16, y0-h+16)
	if len(outside) > 0 {
		fmt.Fprintf(b, `<text x="%g" y="%g" fill="#63756e">grey: truths from outside them</text>`+"\n", x0+16, y0-h+34)
	}
}

// ranks draws, for each quantity, the empirical distribution of the ranks minus
// the uniform one, and the band that 95 % of uniform samples stay within.
func ranks(b *strings.Builder, in *outcome) {
	const x0, y0, w, h = 540.0, 420.0, 380.0, 370.0
	const reach = .15
	axes(b, x0, y0, w, h, -reach, reach, "%+.2f")
	y := func(v float64) float64 { return y0 - (v+reach)/(2*reach)*h }
	limit := 0.0
	if len(in.ranks) > 0 && len(in.ranks[0]) > 0 {
		limit = 1.358 / math.Sqrt(float64(len(in.ranks[0])))
	}
	fmt.Fprintf(b, `<rect x="%g" y="%.1f" width="%g" height="%.1f" fill="#dae3df"/>`+"\n", x0, y(limit), w, y(-limit)-y(limit))
	for q, name := range in.names {
		x := sorted(in.ranks[q])
		var path strings.Builder
		fmt.Fprintf(&path, "M%g %.1f", x0, y(0))
		for i, u := range x {
			fmt.Fprintf(&path, "L%.1f %.1f", x0+u*w, y(float64(i+1)/float64(len(x))-u))
		}
		fmt.Fprintf(b, `<path d="%s" fill="none" stroke="#0f1f1b" stroke-opacity=".6"><title>%s</title></path>`+"\n", path.String(), name)
	}
	fmt.Fprintf(b, `<text x="%g" y="%g">one line a figure; 19 of 20 stay within the band if the code is right</text>`+"\n", x0, y0+36)
}
