package drawing

import "fmt"

// siteMark is a numbered place: where the number stands and what it points to,
// both in animal units.
type siteMark struct {
	number, x, y, ax, ay float64
}

// siteMarks follow the numbers of the reference's sites.
var siteMarks = []siteMark{
	{1, 74, 84, 106, 124},
	{2, 122, 62, 140, 130},
	{3, 84, 196, 138, 179},
	{4, 26, 262, 66, 250},
	{5, 140, 262, 208, 192},
	{6, 172, 62, 190, 122},
	{7, 262, 62, 266, 138},
	{8, 216, 62, 216, 156},
	{9, 308, 62, 290, 132},
	{10, 372, 62, 372, 138},
	{11, 446, 92, 446, 178},
	{12, 520, 140, 516, 196},
	{13, 190, 346, 222, 282},
	{14, 336, 330, 288, 213},
	{15, 404, 330, 396, 250},
}

var animalScenes = []scene{{
	"animal", "A dwarf shrimp and where to look",
	"Side view of a dwarf shrimp facing left with fifteen numbered places: 1 rostrum, 2 between the eyes, 3 bases of the antennae, 4 antennae, 5 under the gill cover, 6 outside of the head shield, 7 behind the head inside, 8 liver in the head, 9 neck joint, 10 gut line, 11 tail muscle inside, 12 outside of the tail, 13 walking legs, 14 belly between the legs, 15 swimming legs.",
	func(s *sheet) {
		s.whole(thick)
		s.gills(hair)
		s.path(outline(thin).dashed("5 4"), gutLine)
		s.path(outline(thin).tinted(0.12), liver)
		s.path(outline(thin).dashed("2 4"), saddleAt)
		for _, m := range siteMarks {
			x, y := s.at(m.x, m.y)
			tx, ty := s.at(m.ax, m.ay)
			fmt.Fprintf(&s.over, `<path d="M%s,%s L%s,%s" stroke="currentColor" stroke-width="%s" fill="none"/><circle cx="%s" cy="%s" r="2.6" fill="currentColor"/>`,
				num(x), num(y), num(tx), num(ty), num(hair), num(tx), num(ty))
			fmt.Fprintf(&s.over, `<circle cx="%s" cy="%s" r="14" fill="var(--sheet,Canvas)" stroke="currentColor" stroke-width="1.4"/>`, num(x), num(y))
			fmt.Fprintf(&s.over, `<text x="%s" y="%s" text-anchor="middle" font-size="17" fill="currentColor">%s</text>`, num(x), num(y+6), num(m.number))
			s.d.Labels = append(s.d.Labels, Box{x - 14, y - 14, 28, 28})
		}
		s.bar(5)
	},
}}
