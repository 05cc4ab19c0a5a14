package drawing

import (
	"math/rand/v2"
	"slices"
)

// scene is one drawing: its words and how it is made.
type scene struct {
	name, title, desc string
	draw              func(*sheet)
}

// scenes holds every drawing, the animal first.
var scenes = slices.Concat(animalScenes, wormScenes, growthScenes, bodyScenes, normalScenes, artefactScenes, tankScenes)

// Names returns the names of all drawings, the animal first.
func Names() []string {
	var out []string
	for _, s := range scenes {
		out = append(out, s.name)
	}
	return out
}

// Draw returns the drawing of the given name.
func Draw(name string) (Drawing, bool) {
	i := slices.IndexFunc(scenes, func(s scene) bool { return s.name == name })
	if i < 0 {
		return Drawing{}, false
	}
	s := &sheet{height: fullSheet, d: Drawing{Name: name, Title: scenes[i].title, Desc: scenes[i].desc, MM: map[string]float64{}}}
	scenes[i].draw(s)
	return s.finish(), true
}

// dice is the chance that scatters small things; the same for every drawing,
// so that a drawing never changes by itself.
func dice() *rand.Rand { return rand.New(rand.NewPCG(20261125, 7)) }

// Windows on the animal.

func (s *sheet) whole(w float64) {
	s.lookWhole()
	s.animal(w)
}

func (s *sheet) lookWhole() {
	s.height = lowSheet
	s.look(0, -8, 640)
}

func (s *sheet) headClose() {
	s.look(78, 74, 120)
	s.animal(thin)
}

func (s *sheet) gillClose() {
	s.look(176, 126, 120)
	s.animal(thin)
	s.gills(hair)
}

func (s *sheet) bellyClose() {
	s.look(240, 186, 120)
	s.animal(thin)
	s.path(outline(thin), underside)
}

func (s *sheet) tailHalf() {
	s.look(280, 88, 270)
	s.animal(thin)
}
