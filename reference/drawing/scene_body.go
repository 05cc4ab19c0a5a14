package drawing

import "fmt"

var bodyScenes = []scene{
	{"white_muscle", "White muscle in the tail",
		"Rear of the tail. The muscle inside three segments is chalky white, deep under a sound clear shell.",
		func(s *sheet) {
			s.tailHalf()
			for _, d := range tailMuscle {
				s.path(paint{width: thin, ink: mark, tint: 0.45}, d)
			}
			s.point(20, 328, "start", "chalky, deep inside", 436, 190)
			s.point(470, 44, "end", "shell sound", 424, 142)
			s.bar(2)
		}},
	{"bacterial", "Discoloured inside",
		"Whole shrimp. The liver in the head is pale and blurred, the front of the body has a coloured cast and the line of the gut is empty.",
		func(s *sheet) {
			s.whole(thin)
			s.path(paint{ink: mark, tint: 0.2}, carapace)
			s.path(paint{width: thin, ink: mark, tint: 0.35, dash: "4 4"}, liver)
			s.path(outline(thin).dashed("3 7"), gutLine)
			s.point(240, 296, "start", "cast, blurred liver", 214, 166)
			s.point(470, 46, "end", "gut empty", 418, 147)
			s.bar(5)
		}},
	{"poisoning", "Poisoned or bad water",
		"A shrimp on its back with its legs in the air, small marks of twitching round it, and a second one above it at the surface of the water.",
		func(s *sheet) {
			s.look(0, -38, 640)
			s.path(outline(thin).faint(0.6), "M0,10 C60,4 100,16 160,10 C220,4 260,16 320,10 C380,4 420,16 480,10 C540,4 600,16 640,10")
			s.group(592, 416, 180, 0.8, func(float64) { s.animal(thin / 0.8) })
			for _, a := range []string{"M132,330 l-14,-8 M126,352 l-16,0 M132,374 l-14,8", "M490,132 l14,-12 M514,144 l16,-8 M526,166 l16,-2"} {
				s.path(paint{width: thick, ink: mark}, a)
			}
			s.group(10, 2, 14, 0.42, func(float64) { s.animal(hair / 0.42) })
			s.point(470, 70, "end", "crawling out", 140, 80)
			s.point(470, 334, "end", "on its back, twitching", 330, 300)
			s.bar(5)
		}},
	{"failed_moult", "Failed moult: a ring all the way round",
		"Joint of head shield and tail through a lens. A pale band runs all the way round the body, above and below; the animal cannot get out.",
		func(s *sheet) {
			s.look(206, 102, 170)
			s.animal(thin)
			s.path(marked(thick, 0.25), "M281,126 C298,122 312,122 322,124 C318,150 314,180 312,210 C302,212 290,210 277,208 C292,182 294,152 281,126 Z")
			s.path(paint{width: hair, ink: mark}, "M289,132 C299,152 298,184 288,204 M300,130 C308,154 306,184 298,206")
			s.point(20, 26, "start", "ring above", 296, 125)
			s.point(20, 334, "start", "and below", 292, 207)
			s.bar(1)
		}},
	{"moulting", "Moulting: a gap on the back only",
		"Joint of head shield and tail through a lens. The skin is open on the back only and the body arches out of it; below it is whole.",
		func(s *sheet) {
			s.look(206, 102, 170)
			s.animal(thin)
			s.path(marked(thin, 0.2), "M272,126 C284,112 308,110 324,124 C316,136 300,142 288,140 C280,138 274,132 272,126 Z")
			s.point(20, 26, "start", "gap on the back", 288, 122)
			s.point(20, 334, "start", "whole below", 290, 206)
			s.bar(1)
		}},
	{"premoult", "Dull before a moult",
		"Whole shrimp, dull all over, with a second fine outline inside its shell where the new skin is forming.",
		func(s *sheet) {
			s.whole(thin)
			for _, d := range append([]string{carapace}, plates...) {
				s.path(paint{ink: mark, tint: 0.14}, d)
			}
			s.path(paint{width: thin, ink: mark, dash: "4 4"}, "M160,132 C194,120 250,124 284,137 C330,132 372,134 420,145 C456,162 488,184 534,212")
			s.path(paint{width: thin, ink: mark, dash: "4 4"}, "M166,190 C200,206 250,207 280,200 C320,206 372,205 412,203 C444,206 470,212 520,232")
			s.point(300, 292, "middle", "all of it dull, for a day or two", 392, 184)
			s.bar(5)
		}},
	{"opaque_strain", "Opaque strain",
		"Whole shrimp of an opaque strain: solid white bands of colour all along, the same in all its siblings.",
		func(s *sheet) {
			s.whole(thin)
			for _, d := range []string{carapace, segment2, segment4, segment6} {
				s.path(paint{width: thin, ink: mark, tint: 0.5}, d)
			}
			s.point(320, 292, "middle", "solid, all siblings alike", 348, 176)
			s.bar(5)
		}},
	{"shed_skin", "Shed skin",
		"An empty clear shrimp on the floor, drawn in broken lines, open on the back where head shield and tail meet.",
		func(s *sheet) {
			s.lookWhole()
			for _, d := range append(append([]string{}, plates...), carapace) {
				s.path(paint{width: thin, dash: "6 4"}, d)
			}
			for _, x := range pleopodX {
				s.path(paint{width: hair, dash: "5 4"}, pleopod(x, 214))
			}
			s.path(outline(thin).dashed("6 4"), "M182,204 L168,236 L181,256 M222,212 L211,258 L238,312 M262,211 L272,262 L302,314 M134,180 C92,196 58,240 44,330")
			s.path(marked(thick, 0.2), "M268,122 C280,108 306,106 322,122 C314,136 298,142 286,138 C276,134 270,128 268,122 Z")
			s.path(outline(thin).faint(0.5), "M0,330 L640,330")
			s.point(30, 40, "start", "open on the back", 292, 118)
			s.point(470, 294, "end", "empty, clear, light", 400, 190)
			s.shows("shed_skin", 500)
			s.bar(5)
		}},
	{"gut", "Gut, liver and heart",
		"Whole shrimp. A line of food runs down the back, a dark liver lies in the head the same from both sides, and the heart beats at the rear of the head shield.",
		func(s *sheet) {
			s.whole(thin)
			s.path(paint{width: 5, ink: mark}, gutLine)
			s.path(marked(thin, 0.5), liver)
			s.path(marked(thin, 0.15), ellipse(268, 150, 9, 7, 0))
			s.point(250, 290, "start", "liver", 214, 166)
			s.point(220, 36, "middle", "heart", 268, 148)
			s.point(470, 46, "end", "food in the gut", 452, 158)
			s.bar(5)
		}},
	{"saddle", "Ovary, the saddle",
		"Back of the head shield through a lens. A mass with a smooth edge lies inside, over the back where head and tail meet; grains of eggs show in it.",
		func(s *sheet) {
			s.look(206, 96, 120)
			s.animal(thin)
			s.path(marked(thick, 0.3), saddleAt)
			for r := range 3 {
				for i := range 9 {
					x := 240 + 6*float64(i) + 3*float64(r%2)
					s.path(paint{width: hair, ink: mark}, ellipse(x, 133.5+5.6*float64(r)+0.06*(x-266), 2.4, 2.2, 0))
				}
			}
			s.shows("saddle", 66)
			s.point(20, 326, "start", "smooth edge, inside", 250, 149)
			s.point(20, 46, "start", "on the back", 258, 130)
			s.bar(1)
		}},
}

// cross is a small cross at a place, for twitching and gleams.
func cross(x, y, r float64) string {
	return fmt.Sprintf("M%s,%s L%s,%s M%s,%s L%s,%s", num(x-r), num(y), num(x+r), num(y), num(x), num(y-r), num(x), num(y+r))
}
