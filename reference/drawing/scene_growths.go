package drawing

import (
	"math"
	"slices"
	"strings"
)

var growthScenes = []scene{
	{"ciliates", "Bell animals on the head",
		"Head of a shrimp through a lens. Tufts of tiny bells on thin stalks, each a tenth of a millimetre, grow from the tip of the rostrum, the eye stalk and the antenna base.",
		func(s *sheet) {
			s.headClose()
			d := dice()
			for _, t := range []struct {
				x, y, turn, l float64
				n             int
			}{{89, 128, -70, 9, 12}, {100, 126, -10, 8, 9}, {126, 124, 0, 9, 10}, {132, 148.5, -50, 8, 9}, {164, 119, 10, 9, 10}} {
				s.bells(t.x, t.y, t.turn, t.l, t.n, d)
			}
			s.shows("ciliates", 9)
			s.point(20, 60, "start", "bells on stalks", 99, 118)
			s.point(470, 60, "end", "short fuzz", 166, 110)
			s.bar(1)
		}},
	{"green_growth", "Green growth among the swimming legs",
		"Swimming legs through a lens. Threads of one to two millimetres branch from the legs and the body wall and end in full green clubs; they have roots, not a mother's fan of round eggs.",
		func(s *sheet) {
			s.look(296, 196, 120)
			s.animal(thin)
			d := dice()
			for _, t := range []struct{ x, y, turn float64 }{{318, 216, -14}, {330, 213, 14}, {352, 216, -10}, {364, 214, 16}, {382, 212, -6}, {398, 214, 8}} {
				s.thread(t.x, t.y, t.turn, 13, 3, d)
			}
			s.shows("green_growth", 32)
			s.point(20, 330, "start", "branching, green ends", 330, 246)
			s.point(470, 44, "end", "rooted in the body", 364, 214)
			s.bar(1)
		}},
	{"water_mould", "Water mould on a dead clutch",
		"Underside of a berried female. Between sound round eggs some are white and dead, and long fine threads like cotton wool stand off them for several millimetres.",
		func(s *sheet) {
			s.look(290, 150, 210)
			s.animal(thin)
			for _, e := range clutch {
				s.path(outline(thin).solid().tinted(0.08), ellipse(e[0], e[1], 10, 9, 0))
			}
			d := dice()
			for _, e := range clutch[4:7] {
				s.path(marked(thin, 0.5), ellipse(e[0], e[1], 10, 9, 0))
				s.hairs(e[0], e[1], 36, 60, 300, 34, d)
			}
			s.shows("water_mould", 36)
			s.point(470, 330, "end", "long cotton", 392, 262)
			s.point(20, 320, "start", "sound egg", clutch[0][0], clutch[0][1])
			s.bar(2)
		}},
	{"algae_growth", "Plain algae on an old shell",
		"Head shield through a lens. A film with short unbranched threads lies on top of the shell, anywhere, without roots; it goes with the moult.",
		func(s *sheet) {
			s.look(170, 84, 120)
			s.animal(thin)
			d := dice()
			var upper, lower []string
			for i := range 25 {
				x, y := topOfShell(0.3 + 0.6*float64(i)/24)
				sag := 9 * math.Sin(math.Pi*float64(i)/24)
				upper = append(upper, num(x)+","+num(y-1.5))
				lower = append(lower, num(x)+","+num(y+sag*(0.8+0.4*d.Float64())))
				s.hairs(x, y-1, 10, -35, 35, 3, d)
			}
			slices.Reverse(lower)
			s.path(paint{width: hair, ink: mark, tint: 0.25}, "M"+strings.Join(upper, " L")+" L"+strings.Join(lower, " L")+" Z")
			s.shows("algae_growth", 90)
			s.point(20, 54, "start", "film and threads", 216, 108)
			s.point(250, 326, "middle", "shell sound below", 236, 150)
			s.bar(1)
		}},
	{"shell_lesion", "Eroded shell",
		"Head shield through a lens. Two brown-black pits with ragged rims are eaten into the shell, the larger about a millimetre and a half across.",
		func(s *sheet) {
			s.look(190, 104, 120)
			s.animal(thin)
			d := dice()
			for _, p := range []struct{ x, y, r float64 }{{238, 146, 15}, {270, 172, 8}} {
				s.path(marked(thin, 0.25), blot(p.x, p.y, p.r, 0.5, d))
				s.path(paint{width: hair, ink: mark, tint: 0.85}, blot(p.x, p.y, p.r*0.55, 0.6, d))
			}
			s.shows("shell_lesion", 30)
			s.point(20, 30, "start", "ragged rim", 228, 138)
			s.point(470, 36, "end", "pit", 272, 168)
			s.bar(1)
		}},
	{"scar", "Healed wound",
		"Head shield through a lens. Two dark spots with a smooth even edge, flat in the shell: one as wide as a millimetre, one a closed scratch. The shell around them is whole.",
		func(s *sheet) {
			s.look(190, 104, 120)
			s.animal(thin)
			s.path(marked(hair, 0.14), ellipse(240, 150, 14, 10, -18))
			s.path(paint{width: thin, ink: mark, tint: 0.7}, ellipse(240, 150, 10, 6.5, -18))
			s.path(paint{width: hair, ink: mark, tint: 0.7}, "M262,172 C266,166 272,162 277,160 C278,161 278,163 276,165 C272,168 267,172 263,175 C261,175 261,173 262,172 Z")
			s.shows("scar", 20)
			s.point(20, 30, "start", "smooth edge, flat", 234, 146)
			s.point(470, 330, "end", "no pit, shell whole", 270, 168)
			s.bar(1)
		}},
	{"listed_disease", "White flecks in the shell",
		"Head shield at low power. Round white flecks of half a millimetre to two millimetres lie in the shell, many of them, some with a darker middle; they cannot be wiped off.",
		func(s *sheet) {
			s.look(130, 84, 200)
			s.animal(thin)
			d := dice()
			var placed [][2]float64
			for range 400 {
				x, y, r := 182+100*d.Float64(), 128+72*d.Float64(), 4+4.5*d.Float64()
				if slices.ContainsFunc(placed, func(p [2]float64) bool { return math.Hypot(p[0]-x, p[1]-y) < 19 }) || len(placed) == 16 {
					continue
				}
				placed = append(placed, [2]float64{x, y})
				s.path(marked(thin, 0.15), ellipse(x, y, r, r*0.92, 0))
				s.path(paint{ink: mark, tint: 0.8}, ellipse(x, y, r*0.25, r*0.25, 0))
			}
			s.shows("listed_disease", 18)
			s.point(20, 44, "start", "flecks within the shell", 204, 132)
			s.point(470, 328, "end", "cannot be wiped off", 255.6, 199.5)
			s.bar(2)
		}},
}

// clutch are the places of carried eggs.
var clutch = [][2]float64{
	{312, 222}, {330, 226}, {349, 224}, {368, 226}, {387, 224}, {405, 224}, {396, 240}, {424, 222},
	{320, 240}, {340, 243}, {359, 243}, {377, 242}, {414, 240}, {331, 258}, {350, 260}, {368, 260},
}

func (s *sheet) eggs(ripe bool) {
	for i, e := range clutch {
		s.path(marked(thin, 0.15), ellipse(e[0], e[1], 11, 9.5, 0))
		if ripe && i%2 == 0 {
			s.path(paint{ink: mark, tint: 1}, ellipse(e[0]+4, e[1]-2, 1.8, 1.4, 0)+" "+ellipse(e[0]+4, e[1]+3, 1.8, 1.4, 0))
		}
	}
}
