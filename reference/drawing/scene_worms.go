package drawing

import "fmt"

var wormScenes = []scene{
	{"rostrum_worm", "Rostrum worm at the root of the rostrum",
		"Head of a shrimp through a lens. Three whitish fingers stand between the eyes and on the rostrum, each with two tentacles in a V and two eye dots at the free end and a sucker at the base; the longest is about two millimetres.",
		func(s *sheet) {
			s.headClose()
			s.flatworm(108, 125.5, -12, 32, -2)
			s.flatworm(138, 123, 6, 38, 2)
			s.flatworm(153, 121.5, 30, 26, 3)
			s.point(470, 40, "end", "two tentacles", 148, 86)
			s.point(20, 336, "start", "rostrum", 104, 130)
			s.point(470, 336, "end", "eye", 152, 150)
			s.point(470, 236, "end", "sucker", 140, 122.5)
			s.shows("rostrum_worm", 38)
			s.bar(1)
		}},
	{"egg_row", "Rows of eggs inside the gill cover",
		"Side of the head shield through a lens. White ovals of one size, about a seventh of a millimetre long, stand in three rows low at the back on the inside of the gill cover; the gills show behind them.",
		func(s *sheet) {
			s.gillClose()
			for r := range 3 {
				for i := range 8 {
					x := 222 + 6*float64(i) - 1.5*float64(r)
					y := 181 + 6.4*float64(r) - 0.07*float64(i)*float64(i)
					s.path(marked(hair, 0.25), ellipse(x, y, 1.5, 1.1, 65))
				}
			}
			s.point(20, 60, "start", "eggs in rows", 226, 182)
			s.point(20, 328, "start", "gills behind", 204, 186)
			s.point(470, 36, "end", "rear edge", 290.5, 150)
			s.shows("egg_row", 3)
			s.bar(1)
		}},
	{"segmented_worm", "Segmented shrimp worms on the belly",
		"Underside between the last walking leg and the first swimming leg through a lens. Two ringed worms of two to three millimetres, one arched as it walks end over end, hold on with a sucker at the hind end.",
		func(s *sheet) {
			s.bellyClose()
			s.ringed(275, 214, 301, 214, -19, 7.5, false)
			l := s.ringed(309, 214, 317, 260, -5, 8, false)
			s.shows("segmented_worm", l)
			s.point(470, 332, "end", "rings, no tentacles", 316, 246)
			s.point(20, 332, "start", "walks end over end", 288, 234)
			s.point(20, 60, "start", "sucker", 274, 214)
			s.bar(1)
		}},
	{"other_flatworm", "Other flatworm on the shell",
		"Head shield through a lens. Two flat leaf-like bodies of about a millimetre lie on the shell, each with a dark gut inside and a disc at the hind end; a third, seen from the side on the edge of the shell, is thin as paper.",
		func(s *sheet) {
			s.look(196, 96, 120)
			s.animal(thin)
			for _, f := range []struct{ x, y, turn float64 }{{236, 138, 30}, {268, 168, -50}} {
				s.group(f.x, f.y, f.turn, 1, func(k float64) {
					s.pathIn(marked(thin, 0.12), "M0,-12 C6,-9 7,2 3.5,9 C2,12 -2,12 -3.5,9 C-7,2 -6,-9 0,-12 Z", k)
					s.pathIn(paint{width: hair, ink: mark, tint: 0.3}, "M0,-5 C3,-3 3,3 0,5 C-3,3 -3,-3 0,-5 Z", k)
					s.pathIn(paint{width: hair, ink: mark}, "M-2.2,-2 l-2,-1 M2.2,-2 l2,-1 M-2.2,2 l-2,1 M2.2,2 l2,1", k)
					s.pathIn(marked(hair, 0.3), ellipse(0, 9, 3.4, 3, 0), k)
					s.pathIn(paint{ink: mark, tint: 1}, ellipse(-1.5, -7.5, 0.7, 0.7, 0)+ellipse(1.5, -7.5, 0.7, 0.7, 0), k)
				})
			}
			x, y := topOfShell(0.8)
			s.path(marked(thin, 0.2), fmt.Sprintf("M%s,%s C%s,%s %s,%s %s,%s C%s,%s %s,%s %s,%s Z", num(x-4), num(y-0.5), num(x-2), num(y-8), num(x+6), num(y-12), num(x+14), num(y-11), num(x+8), num(y-7), num(x+2), num(y-5), num(x+1), num(y-0.3)))
			s.shows("other_flatworm", 24)
			s.point(20, 60, "start", "flat, glides or loops", 238, 128)
			s.point(470, 44, "end", "thin from the side", x+10, y-10)
			s.point(110, 330, "start", "disc behind", 274, 174)
			s.bar(1)
		}},
	{"internal_worm", "Long worm inside the body",
		"Whole shrimp. A thin thread, several centimetres if stretched, lies in loops inside head and tail.",
		func(s *sheet) {
			s.whole(thin)
			s.path(paint{width: thick, ink: mark}, "M206,170 C230,150 262,158 268,176 C274,194 240,200 232,186 C226,170 270,160 300,168 C340,180 360,150 392,162 C420,172 400,196 380,188 C366,178 410,160 440,180 C460,192 478,196 492,204")
			s.point(330, 290, "middle", "a thread in loops, inside", 384, 188)
			s.shows("internal_worm", 620)
			s.bar(5)
		}},
	{"gill_bulge", "Bulge under one gill cover",
		"Head shield seen from the side at low power. Its hind lower part stands out like a blister; the outline of a broad many-legged isopod shows inside.",
		func(s *sheet) {
			s.look(120, 90, 230)
			s.animal(thin)
			s.path(marked(thick, 0.1), "M214,170 C218,140 256,132 278,146 C292,158 292,190 274,204 C252,216 220,204 214,170 Z")
			s.path(paint{width: thin, ink: mark, tint: 0.25}, "M252,150 C270,152 276,172 268,188 C258,198 240,194 236,180 C232,164 238,150 252,150 Z")
			for i := range 5 {
				y := 160 + 7*float64(i)
				s.path(paint{width: hair, ink: mark}, fmt.Sprintf("M%s,%s C%s,%s %s,%s %s,%s", num(238-float64(i%2)), num(y), num(248), num(y-3), num(260), num(y-3), num(271), num(y+1)))
			}
			s.point(20, 40, "start", "one side stands out", 226, 148)
			s.point(470, 330, "end", "isopod within", 262, 186)
			s.shows("gill_bulge", 48)
			s.bar(2)
		}},
}
