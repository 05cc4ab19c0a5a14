package web

import (
	"fmt"

	"holdfast"
	"holdfast/desk"
	"holdfast/internal/web/words"
)

// tellCourse says what an accepted course plans.
func tellCourse(p *holdfast.CourseAccepted) string {
	s := fmt.Sprintf("Course accepted: %s, release on %s at %s likely clear of the %s.", words.Plural(len(p.Doses), "dose", "doses"),
		desk.ShortDay(p.Release), words.Percent(p.Promise.Clear), words.MidSentence(desk.Called(p.Condition)))
	return noted(s, p.Because)
}

func tellBeliefs(p *holdfast.BeliefsSet) string {
	name := words.MidSentence(desk.Called(p.Condition))
	if len(p.File) == 0 && len(p.Figures) == 0 {
		return noted(fmt.Sprintf("What is believed of the %s: the program's figures again.", name), p.Note)
	}
	return noted(fmt.Sprintf("What is believed of the %s: %s changed.", name, words.Plural(len(p.Figures), "figure", "figures")), p.Note)
}
