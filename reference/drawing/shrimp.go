package drawing

import (
	"fmt"
	"strings"
)

// Outlines of a dwarf shrimp seen from its left, 20 units to a millimetre,
// about 25 mm from the root of the rostrum to the end of the tail fan.
const (
	carapace = "M88,129 L112,125.5 L150,122 C190,112 250,116 288,130 C296,155 294,185 282,206 C250,216 195,214 162,197 C152,189 147,174 150,158 C146,150 138,145 128,140.5 Z"
	segment1 = "M288,130 C300,126 315,125 330,126 L326,204 C316,210 300,208 282,205 C293,184 296,155 288,130 Z"
	segment2 = "M326,126 C342,123 360,123 376,127 C382,160 382,192 371,212 C356,222 324,222 311,209 C312,180 318,150 326,126 Z"
	segment3 = "M376,127 C394,128 410,132 424,138 C426,165 424,192 416,210 C404,218 384,218 372,211 C381,182 381,152 376,127 Z"
	segment4 = "M424,138 C440,144 452,150 461,157 C459,180 454,198 446,212 C436,218 424,216 416,210 C424,190 426,162 424,138 Z"
	segment5 = "M461,157 C474,164 484,171 493,179 C489,197 482,210 474,220 C464,224 454,220 446,212 C454,196 459,180 461,157 Z"
	segment6 = "M493,179 C512,190 528,198 542,207 C539,221 533,233 526,242 C508,238 490,230 474,220 C482,208 489,196 493,179 Z"
	telson   = "M542,207 C566,213 590,224 610,242 C584,240 558,236 534,228 Z"
	uropod1  = "M534,227 C560,235 592,246 614,264 C590,270 556,260 529,238 Z"
	uropod2  = "M529,236 C550,250 574,266 588,286 C562,286 538,266 524,244 Z"
	gutLine  = "M214,152 C240,140 262,138 290,140 C330,136 372,137 418,147 C452,158 486,186 532,212"
	liver    = "M186,148 C198,136 232,138 244,150 C246,166 226,176 204,174 C188,172 180,160 186,148 Z"
	saddleAt = "M232,133 C252,122 276,124 296,132 C300,140 298,148 290,152 C270,154 246,150 234,144 C230,140 230,136 232,133 Z"
	// underside is the body wall between the legs and the first swimming leg.
	underside = "M262,210 C276,213 292,214 312,212"
)

// plates of the tail in the order they lie, hindmost first.
var plates = []string{uropod2, uropod1, telson, segment6, segment5, segment4, segment3, segment1, segment2}

// tailMuscle is the muscle inside each tail segment from the fourth on.
var tailMuscle = []string{
	"M428,146 C440,150 450,155 457,161 C455,178 450,192 444,204 C436,208 427,207 421,203 C427,186 429,166 428,146 Z",
	"M465,165 C474,170 482,175 488,182 C484,196 479,206 472,214 C464,216 457,213 452,208 C459,195 463,182 465,165 Z",
	"M497,187 C512,195 525,202 537,210 C534,220 529,228 523,236 C508,232 494,226 481,218 C488,208 493,198 497,187 Z",
}

// body draws the animal with lines of the given width.
func (s *sheet) animal(w float64) {
	s.appendages(w)
	p := outline(w).solid().tinted(0.05)
	for _, d := range plates {
		s.path(p, d)
	}
	s.path(p, carapace)
	s.head(w)
}

// appendages draws feelers, legs and swimming legs, which lie behind.
func (s *sheet) appendages(w float64) {
	line := outline(w * 0.8)
	for _, d := range []string{
		"M128,150 C98,136 62,104 36,52",
		"M128,154 C92,150 52,136 14,116",
		"M134,180 C92,196 58,240 44,330",
	} {
		s.path(line, d)
	}
	leg := outline(w)
	for _, d := range []string{
		"M182,204 L168,236 L181,256 L178,266 M181,256 L186,266",
		"M202,210 L191,246 L207,268 L203,278 M207,268 L212,277",
		"M222,212 L211,258 L238,312 L234,320",
		"M242,213 L241,264 L268,317 L265,325",
		"M262,211 L272,262 L302,314 L300,322",
	} {
		s.path(leg, d)
	}
	for _, x := range pleopodX {
		s.path(outline(w).solid().tinted(0.04), pleopod(x, 214))
	}
}

// pleopodX are the roots of the five swimming legs.
var pleopodX = []float64{306, 340, 388, 426, 458}

// pleopod is one swimming leg hanging from (x, y).
func pleopod(x, y float64) string {
	return fmt.Sprintf("M%s,%s C%s,%s %s,%s %s,%s C%s,%s %s,%s %s,%s Z",
		num(x), num(y), num(x-3), num(y+18), num(x-5), num(y+34), num(x+5), num(y+44),
		num(x+16), num(y+32), num(x+18), num(y+14), num(x+14), num(y-1))
}

// head draws eye, antenna bases, scale and the teeth of the rostrum.
func (s *sheet) head(w float64) {
	s.path(outline(w).solid().tinted(0.05), "M152,171 C134,167 114,170 100,178 C116,187 138,188 154,183 Z")
	s.path(outline(w).solid(), "M154,176 C146,172 136,173 131,178 C134,185 146,187 154,184 Z")
	s.path(outline(w*0.8), "M143,173.5 C141,177 141,181 143,185")
	s.path(outline(w).solid(), "M150,156 C142,149 132,147 125,149 C124,154 134,160 148,162 Z")
	s.path(outline(w*0.8), "M138,148.5 C136,152 136,155 138,158.5")
	s.path(outline(w).solid(), "M152,142 C149,145 148,149 150,152 L158,151 L157,142 Z")
	s.path(outline(w).solid().tinted(0.5), ellipse(147, 147, 8, 7.5, 0))
	s.disc(paint{ink: "var(--sheet,Canvas)", tint: 0.9}, 144.5, 144.5, 1.8, 1.8)
	var teeth strings.Builder
	for i := range 11 {
		x := 96 + 8*float64(i)
		y := 128.1 - 0.093*(x-88)
		fmt.Fprintf(&teeth, "M%s,%s L%s,%s L%s,%s ", num(x), num(y), num(x-1.5), num(y-3.2), num(x+3), num(y-0.5))
	}
	for i := range 3 {
		x := 98 + 9*float64(i)
		fmt.Fprintf(&teeth, "M%s,%s L%s,%s L%s,%s ", num(x), num(131.8+0.29*(x-98)), num(x-1), num(135+0.29*(x-98)), num(x+3), num(132.6+0.29*(x-98)))
	}
	s.path(outline(w*0.8), strings.TrimSpace(teeth.String()))
}

// gills draws the feathered gills as they show through the cover.
func (s *sheet) gills(w float64) {
	p := outline(w).faint(0.45)
	for i := range 7 {
		x := 190 + 13.5*float64(i)
		s.path(p, fmt.Sprintf("M%s,206 C%s,194 %s,180 %s,168", num(x), num(x-2), num(x+1), num(x+6)))
		for k := range 8 {
			y := 203 - 4.4*float64(k)
			s.path(p, fmt.Sprintf("M%s,%s l-4.5,-3 M%s,%s l4.5,-3", num(x-0.5+0.7*float64(k)), num(y), num(x-0.5+0.7*float64(k)), num(y)))
		}
	}
}

// topOfShell is the upper edge of the head shield: t runs from 0, behind the
// eyes, to 1, its rear end.
func topOfShell(t float64) (x, y float64) {
	u := 1 - t
	x = u*u*u*150 + 3*u*u*t*190 + 3*u*t*t*250 + t*t*t*288
	y = u*u*u*122 + 3*u*u*t*112 + 3*u*t*t*116 + t*t*t*130
	return x, y
}
