package book

import (
	"errors"
	"fmt"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"holdfast/internal/web/view"
	"holdfast/internal/web/words"
	"holdfast/reference"
	"holdfast/science/ref"
	"holdfast/science/signs"
)

// tick is one answer to tick.
type tick struct {
	name, value, label string
	// no are the numbers of the place on the drawing above, or empty.
	no      string
	checked bool
}

// asked is one question with its answers.
type asked struct {
	id, ask, answered string
	ticks             []tick
	// more are the answers least to be expected, shut away at first.
	more []tick
	open bool
}

// line is one suspect.
type line struct {
	url, name, small, fit string
	mark                  view.Mark
	word                  string
	pro, con              string
	tell                  []string
	isolation             string
}

// signsView is what the page shows.
type signsView struct {
	answered    bool
	suspects    []line
	nothingFits bool
	hold        bool
	flags       []string
	ask         string
	next        *asked
	nextWhy     []string
	questions   []asked
	length      view.Field
	learned     string
	marked      string
	more        SignsMore
}

// shown is how many suspects the page names, and least the share below which
// it stops after three.
const (
	shown = 6
	least = 0.01
)

// newSigns answers a query: each question's id with the ticked options, mm
// with a length in millimetres.
func newSigns(m *signs.Model, b *reference.Book, q url.Values) (signsView, error) {
	answers, length := answersOf(m, q)
	v := signsView{answered: looked(m, answers) || len(answers) > 0 && q.Get("lot") == "", length: length, marked: markWords(q)}
	r, err := m.Rank(answers)
	if err != nil {
		return v, err
	}
	looks, err := m.Next(answers)
	if err != nil {
		return v, err
	}
	if v.answered {
		v.nothingFits, v.hold, v.flags, v.ask = r.NothingFits, r.Hold, r.Flags, signs.AskWords(r.Ask)
		for i, s := range heldFirst(r, b) {
			if i >= shown || i >= 3 && s.Share < least {
				break
			}
			l := newLine(m, b, s, answers)
			if i > 0 {
				l.isolation = "" // what to do now is said once, of what leads
			}
			if i == 0 && r.Hold {
				l.fit = "not ruled out" // its small share must not speak against the call
			} else {
				l.fit += ", " + words.Percent(s.Share) + " of the weight"
			}
			v.suspects = append(v.suspects, l)
		}
		v.learned = learnedWords(m)
	}
	next := ""
	if v.answered && len(looks) > 0 {
		next = looks[0].Question
		for _, o := range looks[0].Answers[:min(3, len(looks[0].Answers))] {
			e, _ := b.Condition(o.Leader)
			v.nextWhy = append(v.nextWhy, fmt.Sprintf("%s: then %s leads", o.Say, strings.ToLower(e.Name)))
		}
	}
	for _, question := range m.Questions() {
		a := newAsked(question, answers[question.ID], !v.answered && slices.Contains(begin, question.ID))
		if question.ID == "site" && !v.answered {
			a.numbered(b)
		}
		if question.ID == next {
			a.likeliestFirst(looks[0])
			v.next = &a
			continue
		}
		v.questions = append(v.questions, a)
	}
	return v, nil
}

// looked reports whether anything was answered by looking: what a lot says of
// itself is no suspicion yet.
func looked(m *signs.Model, a signs.Answers) bool {
	return slices.ContainsFunc(m.Questions(), func(q signs.Question) bool { return q.Kind == signs.Look && len(a[q.ID]) > 0 })
}

// firstTicks is how many answers of the next look stand open.
const firstTicks = 8

// likeliestFirst orders the answers by how likely they are now, so that a
// thumb finds them, and shuts the rest away.
func (a *asked) likeliestFirst(l signs.NextLook) {
	place := func(t tick) int {
		return slices.IndexFunc(l.Answers, func(o signs.Outlook) bool { return o.Option == t.value })
	}
	slices.SortStableFunc(a.ticks, func(x, y tick) int { return place(x) - place(y) })
	if len(a.ticks) > firstTicks+2 {
		a.ticks, a.more = a.ticks[:firstTicks], a.ticks[firstTicks:]
	}
}

// placesOf are the places of the drawing that an answer to "where is it" means.
var placesOf = map[string][]string{
	"rostrum": {"rostrum", "between_eyes"}, "antennae": {"antenna_base", "antennae"}, "gill_chamber": {"gill_chamber"}, "shell": {"carapace", "tail"},
	"behind_head": {"behind_head"}, "neck": {"neck"}, "gut_line": {"gut_line"}, "muscle": {"muscle"}, "inside_head": {"liver"},
	"legs": {"legs"}, "belly": {"belly"}, "pleopods": {"pleopods"},
}

// numbered gives the answers the numbers of the drawing.
func (a *asked) numbered(b *reference.Book) {
	for i := range a.ticks {
		var numbers []string
		for _, id := range placesOf[a.ticks[i].value] {
			if site, ok := b.Site(id); ok && site.Number > 0 {
				numbers = append(numbers, strconv.Itoa(site.Number))
			}
		}
		a.ticks[i].no = strings.Join(numbers, ", ")
	}
}

// begin are the questions that stand open on an empty page: one tap is enough
// for a first answer.
var begin = []string{"site"}

// answersOf reads the query. What is no question of the model is passed over;
// a bad length is told at its field and left out.
func answersOf(m *signs.Model, q url.Values) (signs.Answers, view.Field) {
	answers := signs.Answers{}
	for _, question := range m.Questions() {
		if ticked := q[question.ID]; len(ticked) > 0 {
			answers[question.ID] = ticked
		}
	}
	length := view.Field{Name: "mm", Label: "Length measured on a picture with a scale", Unit: "mm", Hint: "Counts instead of the ticks above.", Value: strings.TrimSpace(q.Get("mm"))}
	mark(answers, q)
	if length.Value == "" {
		return answers, length
	}
	mm, err := strconv.ParseFloat(strings.Replace(length.Value, ",", ".", 1), 64)
	if err != nil {
		length.Err = "Write a number, as 1.5."
		return answers, length
	}
	option, err := signs.SizeOption(mm)
	if err != nil {
		length.Err = "A length is more than nothing. Write it in millimetres, as 1.5."
		var in *ref.InputError
		if errors.As(err, &in) {
			length.Err = in.Hint
		}
		return answers, length
	}
	answers["size"] = []string{option}
	return answers, length
}

// mark fills in what a mark on a photograph says of form, arrangement and
// length, where the person has ticked nothing: mark=dots with dots and rows, or
// mark=thread, or mark=tuft, and mm if it was measured. A mark that makes no
// sense is passed over.
func mark(answers signs.Answers, q url.Values) {
	k := signs.Mark{}
	switch q.Get("mark") {
	case "dots":
		k.Dots, k.Rows = whole(q.Get("dots")), whole(q.Get("rows"))
	case "thread":
	case "tuft":
		k.Tuft = true
	default:
		return
	}
	if mm := strings.TrimSpace(q.Get("mm")); mm != "" {
		var err error
		if k.MM, err = strconv.ParseFloat(strings.Replace(mm, ",", ".", 1), 64); err != nil {
			return
		}
	}
	found, err := signs.FromMark(k)
	if err != nil {
		return
	}
	for question, options := range found {
		if len(answers[question]) == 0 {
			answers[question] = options
		}
	}
}

// whole is a count of an address, below nought when it is none.
func whole(s string) int {
	n, err := strconv.Atoi(s)
	if err != nil || n > 100_000 {
		return -1
	}
	return n
}

// markWords says what a mark filled in.
func markWords(q url.Values) string {
	filled := signs.Answers{}
	if mark(filled, q); len(filled) == 0 {
		return ""
	}
	return "What is ticked below comes from a mark on a photograph: a beginning. Take off what you see is wrong, and add colour, place and motion."
}

func newAsked(q signs.Question, ticked []string, open bool) asked {
	a := asked{id: q.ID, ask: q.Ask, open: open}
	var said []string
	for _, o := range q.Options {
		t := tick{name: q.ID, value: o.ID, label: o.Say, checked: slices.Contains(ticked, o.ID)}
		if t.checked {
			said = append(said, o.Say)
		}
		a.ticks = append(a.ticks, t)
	}
	a.answered = strings.Join(said, ", or ")
	return a
}

// heldFirst puts the likeliest notifiable suspect before all others while
// everything is held: the ranking alone must not talk anybody out of a call.
func heldFirst(r signs.Ranking, b *reference.Book) []signs.Suspect {
	if !r.Hold {
		return r.Suspects
	}
	i := slices.IndexFunc(r.Suspects, func(s signs.Suspect) bool {
		e, _ := b.Condition(s.ID)
		return e.NotifiableSuspect
	})
	if i < 0 {
		return r.Suspects
	}
	rest := slices.Concat(r.Suspects[:i], r.Suspects[i+1:])
	return append([]signs.Suspect{r.Suspects[i]}, rest...)
}

func newLine(m *signs.Model, b *reference.Book, s signs.Suspect, answers signs.Answers) line {
	e, _ := b.Condition(s.ID)
	l := line{name: e.Name, url: EntryURL(e.What(), e.ID), fit: fitWords(s), isolation: isolationWords[e.Isolation]}
	l.mark, l.word = alarm(e)
	if d, ok := reference.Drawing(e.Drawing); ok {
		l.small = d.Small
	}
	l.pro, l.con = reasons(m, s, answers)
	for _, a := range e.Alike {
		if slices.Contains(s.Alike, a.ID) {
			l.tell = append(l.tell, a.Say)
		}
	}
	return l
}

// fitWords says a share in words: the figure itself is no frequency.
func fitWords(s signs.Suspect) string {
	switch {
	case s.RuledOut:
		return "ruled out"
	case s.Share >= 0.5:
		return "fits best"
	case s.Share >= 0.15:
		return "fits"
	case s.Share >= 0.03:
		return "may be"
	}
	return "hardly"
}

// reasons are the answers that speak most for and against, in the person's own
// words; a factor between 2/3 and 3/2 says nothing worth reading.
func reasons(m *signs.Model, s signs.Suspect, answers signs.Answers) (pro, con string) {
	most, less := 1.5, 1/1.5
	for _, w := range s.Weights {
		if w.Factor > most {
			most, pro = w.Factor, ownWords(m, w.Question, answers)
		}
		if w.Factor < less {
			less, con = w.Factor, ownWords(m, w.Question, answers)
		}
	}
	return pro, con
}

func ownWords(m *signs.Model, question string, answers signs.Answers) string {
	for _, q := range m.Questions() {
		if q.ID == question {
			return newAsked(q, answers[question], false).answered
		}
	}
	return question
}

// learnedWords says how much of the table is still the shipped judgement.
func learnedWords(m *signs.Model) string {
	cases := 0.0
	for _, l := range m.Learned() {
		cases += l.Cases
	}
	if cases == 0 {
		return ""
	}
	lead := m.Learned()
	least := lead[0].PriorWeight
	for _, l := range lead {
		least = min(least, l.PriorWeight)
	}
	return fmt.Sprintf("Your own confirmed cases count with a weight of %s; of no suspect is less than %s still the shipped judgement.", words.Number(cases, 1), words.Percent(least))
}
