package chart

// Zone is how far a tank's water may be trusted, in walking order.
type Zone int

// The zones: clean; on hold, nothing found; carrying.
const (
	Clean Zone = iota
	OnHold
	Carrying
)

// Water draws the water in a glass; fill is 0 to 1 of its height. It
// stretches to the glass it is put into, and always leaves room above for air.
func Water(fill float64) string {
	if !(fill > 0) {
		fill = 0
	}
	top := 10 + (1-min(fill, 1))*60 // a full tank still shows its edge
	s := &svg{}
	s.b.WriteString(`<svg class="water" viewBox="0 0 100 100" preserveAspectRatio="none" aria-hidden="true">`)
	if fill > 0 {
		s.path("", "M0 "+num(top)+"H100V100H0z")
		s.b.WriteString(`<path class="top" vector-effect="non-scaling-stroke" d="M0 ` + num(top) + `H100"/>`)
	}
	s.b.WriteString(`</svg>`)
	return s.b.String()
}

// Pipe joins two glasses that share water: single clear, double held, dotted
// carrying.
func Pipe(z Zone) string {
	s := &svg{}
	class := "pipe"
	if z == Carrying {
		class += " found"
	}
	s.b.WriteString(`<svg class="` + class + `" viewBox="0 0 26 22" preserveAspectRatio="none" aria-hidden="true">`)
	switch z {
	case Clean:
		s.b.WriteString(`<path d="M-2 11H28" stroke-width="4"/>`)
	case OnHold:
		s.b.WriteString(`<path d="M-2 7H28M-2 15H28" stroke-width="3"/>`)
	default:
		s.b.WriteString(`<path d="M3 11H28" stroke-width="6" stroke-linecap="round" stroke-dasharray="0 10"/>`)
	}
	s.b.WriteString(`</svg>`)
	return s.b.String()
}
