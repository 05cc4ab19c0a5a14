package web

import (
	"fmt"
	"strings"

	"holdfast"
	"holdfast/desk"
	"holdfast/internal/web/words"
)

// byWords names the ways of looking in a sentence.
var byWords = map[string]string{
	holdfast.ByEye: "by eye", holdfast.ByLens: "with the lens", holdfast.ByPhoto: "on photographs", holdfast.ByMicroscope: "under the microscope",
}

// tellSight says what the shop adopted of how well it sees.
func tellSight(p *holdfast.SightSet) string {
	of := strings.ToLower(desk.Called(p.Condition))
	if p.A == 0 {
		return fmt.Sprintf("How well the %s is seen %s: back to the desk’s own guess.", of, byWords[p.By])
	}
	return fmt.Sprintf("How well the %s is seen %s: %s, learned on %s.", of, byWords[p.By],
		words.Percent(p.A/(p.A+p.B)), words.Plural(p.Carriers, "carrier", "carriers"))
}

// chosenWords says how the animals of a look were chosen where it matters.
func chosenWords(p *holdfast.Inspection) string {
	say := ""
	if p.PerRecord() > 1 {
		say = " in " + words.Plural(len(p.Animals), "picture", "pictures")
	}
	switch p.Chosen {
	case holdfast.ChosenWeak:
		return say + ", the weak ones first"
	case holdfast.ChosenAsCaught:
		return say + ", whichever could be caught"
	case holdfast.ChosenAll:
		return say + ", all there were"
	case holdfast.ChosenAgain:
		return say + " once more, without knowing the first verdicts"
	}
	return say
}
