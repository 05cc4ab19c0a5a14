package drawing

import "fmt"

// tank scenes use the same 20 units to a millimetre.
var tankScenes = []scene{
	{"planaria", "Planarian on the glass",
		"A flat worm of about eight millimetres gliding over the glass, with an arrow-shaped head and two eyes.",
		func(s *sheet) {
			s.look(0, 0, 240)
			s.glass()
			s.path(marked(thin, 0.18), "M34,98 C44,88 56,84 66,82 L72,72 C80,78 82,84 92,86 C130,84 166,84 202,92 C208,96 208,100 202,104 C166,112 130,112 92,110 C82,112 80,118 72,124 L66,114 C56,112 44,108 34,98 Z")
			s.path(paint{ink: mark, tint: 1}, ellipse(62, 93.5, 2.2, 2.2, 0)+" "+ellipse(62, 102.5, 2.2, 2.2, 0))
			s.shows("planaria", 168)
			s.point(20, 60, "start", "arrow head, two eyes", 62, 92)
			s.point(470, 290, "end", "glides, never loops", 150, 106)
			s.bar(2)
		}},
	{"hydra", "Hydra on the glass",
		"Two stalks fixed to the glass, one stretched with a crown of six tentacles, about eight millimetres, one drawn in to a knob.",
		func(s *sheet) {
			s.look(0, 0, 260)
			s.glass()
			s.path(marked(thin, 0.18), "M92,160 C90,130 96,104 92,74 C94,70 104,70 106,74 C108,104 104,130 108,160 Z")
			for _, t := range []string{"M93,74 C84,60 62,60 44,72", "M95,72 C88,48 70,36 56,24", "M98,71 C98,50 92,32 98,10", "M101,71 C106,50 116,36 122,16", "M104,72 C116,54 132,44 150,40", "M106,75 C120,66 140,66 156,78"} {
				s.path(paint{width: thick, ink: mark}, t)
			}
			s.path(marked(thin, 0.3), "M184,160 C182,148 186,140 196,140 C206,140 210,148 208,160 Z")
			s.path(paint{width: thin, ink: mark}, "M188,142 l-4,-5 M194,140 l-1,-6 M200,140 l3,-6 M205,144 l5,-4")
			s.shows("hydra", 150)
			s.point(470, 60, "end", "crown of tentacles", 146, 41)
			s.point(470, 200, "end", "drawn in", 200, 141)
			s.bar(2)
		}},
	{"leech", "Leech",
		"A ringed worm of about a centimetre and a half arched over the floor, with a sucker at both ends.",
		func(s *sheet) {
			s.look(0, 0, 320)
			s.glass()
			l := s.ringed(70, 192, 240, 192, 92, 26, true)
			s.shows("leech", l)
			s.point(30, 330, "start", "sucker", 70, 196)
			s.point(470, 330, "end", "and sucker", 240, 196)
			s.point(470, 44, "end", "rings", 170, 96)
			s.bar(5)
		}},
	{"detritus_worm", "Thin worms of the substrate",
		"Thin white threads of a few millimetres wriggle in S shapes in the water and stand out of the floor.",
		func(s *sheet) {
			s.look(0, 0, 240)
			s.glass()
			for _, d := range []string{"M40,60 C56,40 66,84 84,62 C98,46 106,76 120,60", "M150,110 C162,92 172,126 186,108 C196,96 202,114 212,104", "M70,150 C66,134 80,128 74,112", "M110,150 C116,138 104,130 112,116", "M180,150 C176,140 188,134 182,124"} {
				s.path(paint{width: thick, ink: mark}, d)
			}
			s.shows("detritus_worm", 100)
			s.point(470, 44, "end", "wriggles, no head", 118, 61)
			s.point(250, 330, "middle", "in the floor", 111, 146)
			s.bar(2)
		}},
	{"seed_shrimp", "Seed shrimp and copepods",
		"Specks under a millimetre and a half: bean-shaped seed shrimp, drop-shaped copepods with long feelers, each moving by itself.",
		func(s *sheet) {
			s.look(0, 0, 120)
			s.glass()
			for _, p := range []struct{ x, y, turn float64 }{{34, 30, -10}, {88, 60, 20}} {
				s.group(p.x, p.y, p.turn, 1, func(k float64) {
					s.pathIn(paint{width: hair, ink: mark}, "M8,-2 l5,-4 M8,-1 l6,-2", k)
					s.pathIn(marked(thin, 0.25), "M-9,2 C-9,-5 -4,-7 2,-6.5 C8,-6 10,-1 8,4 C4,6 -6,6 -9,2 Z", k)
					s.pathIn(paint{ink: mark, tint: 1}, ellipse(4, -3.6, 0.9, 0.9, 0), k)
					s.pathIn(paint{width: hair, ink: mark}, "M-6,-1 C-2,-3 2,-2 5,1", k)
					s.pathIn(paint{width: hair, ink: mark}, "M-8,3 l-4,3 M-5,5 l-3,4 M7,4 l4,2", k)
				})
			}
			s.group(72, 30, 30, 1, func(k float64) {
				s.pathIn(marked(thin, 0.25), "M0,-9 C5,-7 5,0 2,6 L1,14 L-1,14 L-2,6 C-5,0 -5,-7 0,-9 Z", k)
				s.pathIn(paint{width: hair, ink: mark}, "M-2,-8 C-8,-8 -12,-4 -14,2 M2,-8 C8,-8 12,-4 14,2 M-1,14 l-3,6 M1,14 l3,6", k)
				s.pathIn(paint{ink: mark, tint: 1}, ellipse(0, -6, 1, 1, 0), k)
			})
			s.shows("seed_shrimp", 19)
			s.point(20, 250, "start", "bean: seed shrimp", 34, 36)
			s.point(470, 40, "end", "drop with feelers: copepod", 74, 25)
			s.bar(1)
		}},
	{"nymph", "Damselfly nymph",
		"An insect of about two centimetres with six legs, large eyes, a slender body and three leaf-like tails.",
		func(s *sheet) {
			s.look(0, -40, 520)
			s.glass()
			for _, t := range []string{"M372,106 C400,92 440,84 476,88 C458,104 410,112 374,112 Z", "M374,112 C404,112 446,116 480,128 C452,136 404,128 374,118 Z", "M372,118 C398,128 430,148 452,172 C420,166 388,144 370,124 Z"} {
				s.path(marked(thin, 0.12), t)
			}
			for _, l := range []string{"M150,120 L126,170 L104,184", "M170,124 L164,180 L146,204", "M192,124 L206,184 L196,214", "M150,104 L122,62 L98,54", "M172,100 L168,50 L148,30", "M196,100 L220,54 L216,26"} {
				s.path(paint{width: thick, ink: mark}, l)
			}
			s.path(marked(thin, 0.18), "M126,112 C130,98 160,94 206,98 C270,100 330,102 374,106 C378,110 378,116 374,120 C330,124 270,126 206,126 C160,130 130,126 126,112 Z")
			for i := range 8 {
				x := 214 + 20*float64(i)
				s.path(paint{width: hair, ink: mark}, fmt.Sprintf("M%s,100 C%s,108 %s,118 %s,125", num(x), num(x+4), num(x+4), num(x)))
			}
			s.path(marked(thin, 0.2), "M126,96 C112,92 98,98 96,112 C98,126 112,132 126,128 Z")
			s.path(paint{ink: mark, tint: 0.85}, ellipse(100, 98, 8, 7, 0)+" "+ellipse(100, 126, 8, 7, 0))
			s.shows("nymph", 384)
			s.point(470, 330, "end", "three leaf-like tails", 436, 158)
			s.point(20, 330, "start", "six legs", 148, 202)
			s.point(20, 60, "start", "big eyes", 98, 96)
			s.bar(5)
		}},
}
