package drawing

import "fmt"

var normalScenes = []scene{
	{"berried", "Carried eggs",
		"Underside of a female at low power. Round beads of one size, about a millimetre, fill the space between the swimming legs; in some, two eye spots.",
		func(s *sheet) {
			s.look(290, 150, 210)
			s.animal(thin)
			s.eggs(true)
			s.shows("berried", 22)
			s.point(470, 44, "end", "between the legs", 396, 222)
			s.point(20, 330, "start", "round, all of one size", 331, 262)
			s.bar(2)
		}},
	{"spermatophore", "Mating mark",
		"Underside between the legs through a lens. One still white blob, half a millimetre long, sits between the last walking legs of a freshly moulted female.",
		func(s *sheet) {
			s.bellyClose()
			s.path(paint{width: hair, ink: mark, tint: 0.1}, "M280,212 C288,206 296,208 301,213 C302,220 292,226 283,222 C278,220 277,215 280,212 Z")
			s.path(marked(thin, 0.35), "M284,213 C290,210 296,212 297,217 C296,222 288,223 284,220 C281,218 281,215 284,213 Z")
			s.shows("spermatophore", 15)
			s.path(paint{width: hair, ink: mark}, "M286,216 C289,213 293,214 295,216")
			s.point(130, 332, "start", "one blob, gone in a day", 290, 219)
			s.point(20, 60, "start", "between the last legs", 281, 214)
			s.bar(1)
		}},
	{"pigment", "Pigment in the skin",
		"Head shield through a lens. Star-shaped cells of colour lie scattered flat in the skin under a smooth shell, of uneven size and without rows.",
		func(s *sheet) {
			s.look(176, 106, 120)
			s.animal(thin)
			d := dice()
			for i := range 28 {
				x, y := 190+13.5*float64(i%7)+9*d.Float64(), 126+18*float64(i/7)+11*d.Float64()
				if x < 286 && y < 180 {
					s.star(x, y, 1.6+3*d.Float64(), d)
				}
			}
			s.shows("pigment", 9)
			s.point(20, 330, "start", "uneven, flat, no rows", 218, 166)
			s.bar(1)
		}},
	{"white_joint", "Pale joints",
		"Walking legs through a lens. Small pale points sit in the joints, the same on every leg.",
		func(s *sheet) {
			s.look(172, 196, 120)
			s.animal(thin)
			for _, p := range [][2]float64{{211, 258}, {241, 264}, {272, 262}, {191, 246}} {
				s.path(marked(thin, 0.5), ellipse(p[0], p[1], 2.2, 2.2, 0))
			}
			s.shows("white_joint", 4.4)
			s.point(22, 40, "start", "every leg alike", 211, 258)
			s.bar(1)
		}},
	{"regrowing_limb", "Regrowing limb",
		"Walking legs through a lens. Where one leg is missing a small jointed bud is folded against the body.",
		func(s *sheet) {
			s.look(172, 190, 120)
			s.animal(thin)
			s.path(paint{width: 0, cover: true}, "M235,214 L250,214 L252,262 L276,330 L256,330 L236,266 Z")
			s.path(outline(thin), "M262,211 L272,262 L302,314")
			s.path(marked(thin, 0.15), "M238,213 C236,222 236,230 240,235 C245,238 250,234 249,227 C248,222 245,218 246,213 Z")
			s.path(paint{width: hair, ink: mark}, "M237,222 L247,221 M240,234 C242,229 246,227 249,228")
			s.shows("regrowing_limb", 22)
			s.point(22, 326, "start", "a folded, jointed bud", 242, 233)
			s.bar(1)
		}},
}

var artefactScenes = []scene{
	{"bubble", "Air bubble",
		"Head of a shrimp through a lens. A round ball with a bright reflection sits on the rostrum.",
		func(s *sheet) {
			s.headClose()
			s.path(marked(thin, 0.06), ellipse(126, 114, 10, 10, 0))
			s.path(paint{width: hair, ink: mark}, ellipse(126, 114, 7.4, 7.4, 0))
			s.path(paint{ink: mark, tint: 0.9}, "M119,111 C120,107 123,105 126,105 C124,107 122,109 121,112 Z")
			s.shows("bubble", 20)
			s.point(330, 44, "start", "mirror-bright", 133, 108)
			s.bar(1)
		}},
	{"debris", "Dirt and fibre",
		"Head of a shrimp through a lens. A loose crumb and a bent fibre lie across the rostrum without a base.",
		func(s *sheet) {
			s.headClose()
			d := dice()
			s.path(marked(thin, 0.3), blot(118, 120, 6, 0.9, d))
			s.path(paint{width: thick, ink: mark}, "M136,98 C140,108 128,114 134,126 C138,134 150,128 158,136")
			s.shows("debris", 44)
			s.point(330, 44, "start", "no base", 137, 102)
			s.point(20, 44, "start", "no shape", 114, 117)
			s.bar(1)
		}},
	{"glare", "Gleam, not a thing",
		"The same head shield in two pictures seconds apart. A white gleam lies in a different place in the second picture.",
		func(s *sheet) {
			s.look(0, 0, 480)
			for i, f := range []struct{ gx, gy float64 }{{110, 150}, {390, 120}} {
				x := 16 + 228*float64(i)
				s.group(x-112, 40, 0, 0.9, func(float64) {
					s.path(outline(thin).tinted(0.05), "M150,122 C190,112 250,116 288,130 C296,155 294,185 282,206 C250,216 195,214 162,197 C152,189 147,174 150,158 Z")
					s.path(outline(thin), "M288,130 C306,126 320,126 340,128 M282,206 C300,210 320,208 336,206")
				})
				s.path(outline(hair), fmt.Sprintf("M%s,100 h216 v186 h-216 Z", num(x)))
				s.path(paint{width: thick, ink: mark}, cross(f.gx, f.gy+40, 16))
				s.path(marked(thin, 0.9), ellipse(f.gx, f.gy+40, 5, 4, 0))
			}
			s.label(124, 84, "middle", "first picture")
			s.label(352, 84, "middle", "seconds later")
			s.label(240, 326, "middle", "elsewhere in the second: a gleam")
		}},
}
