package dose

import (
	"fmt"
	"strings"
	"time"

	"holdfast/science/ref"
)

// TrialAnimals is how few go first.
var TrialAnimals = ref.Param{Value: 5, Low: 3, High: 5, Unit: "count", Basis: ref.Practice,
	Note: "Enough to show a poison that kills half, few enough to lose. Five that live still leave room for one death in two being missed once in 32."}

// Trial is the few animals that get a bath or dip before the lot does.
type Trial struct {
	// Form is "bath" or "dip".
	Form    string      `json:"form"`
	Started time.Time   `json:"started"`
	Animals int         `json:"animals"`
	Looks   []TrialLook `json:"looks"`
}

// TrialLook is one look at them; the three counts add up to the animals.
type TrialLook struct {
	At      time.Time `json:"at"`
	Walking int       `json:"walking"`
	Down    int       `json:"down"`
	Dead    int       `json:"dead"`
}

// GateState says whether the whole lot's dose may be given.
type GateState string

// States of the gate.
const (
	GateClosed  GateState = "closed"
	GateOpen    GateState = "open"
	GateStopped GateState = "stopped"
)

// Gate is the state of a trial at one moment.
type Gate struct {
	State GateState `json:"state"`
	// OpensAt is when it can open at the earliest, NextLook the next look that
	// is due; both zero when it is stopped.
	OpensAt  time.Time `json:"opens_at"`
	NextLook time.Time `json:"next_look"`
	// Missed are looks that were due and not taken.
	Missed []time.Time `json:"missed,omitempty"`
	Say    string      `json:"say"`
}

// LooksAfter is when to look at a trial, after its start; the last one opens
// the gate. Common practice: a dip after 1 h and 24 h, a bath also after 4 h.
func LooksAfter(form string) []time.Duration {
	if form == "dip" {
		return []time.Duration{time.Hour, 24 * time.Hour}
	}
	return []time.Duration{time.Hour, 4 * time.Hour, 24 * time.Hour}
}

// Gate returns the state at now. One animal down or dead stops it for good.
// It opens at the first look after a full day in which all walk. The error is
// a *ref.InputError for form, animals or looks.
func (t Trial) Gate(now time.Time) (Gate, error) {
	if err := t.check(now); err != nil {
		return Gate{}, err
	}
	due := LooksAfter(t.Form)
	opens := t.Started.Add(due[len(due)-1])
	for _, l := range t.Looks {
		if l.Down > 0 || l.Dead > 0 {
			return Gate{State: GateStopped, Say: fmt.Sprintf("%d down, %d dead of %d: stop. %s", l.Down, l.Dead, t.Animals, WhenStopped)}, nil
		}
	}
	g := Gate{State: GateClosed, OpensAt: opens}
	for i, after := range due {
		at := t.Started.Add(after)
		until := now
		if i+1 < len(due) {
			until = t.Started.Add(due[i+1])
		}
		switch {
		case t.lookedBetween(at, until):
		case now.Before(at):
			if g.NextLook.IsZero() {
				g.NextLook = at
			}
		case i == len(due)-1: // the last look is due now
			g.NextLook = at
		case !now.Before(until):
			g.Missed = append(g.Missed, at)
		default:
			g.NextLook = at
		}
	}
	if t.lookedBetween(opens, now) {
		g.State, g.NextLook = GateOpen, time.Time{}
		g.Say = fmt.Sprintf("All %d walked a full day later: the whole dose may be given.", t.Animals)
		return g, nil
	}
	g.Say = "Closed until a look a full day after the start finds all of them walking."
	return g, nil
}

// lookedBetween reports whether a look fell in [from, to].
func (t Trial) lookedBetween(from, to time.Time) bool {
	for _, l := range t.Looks {
		if !l.At.Before(from) && !l.At.After(to) {
			return true
		}
	}
	return false
}

func (t Trial) check(now time.Time) error {
	if t.Form != "bath" && t.Form != "dip" {
		return ref.Inputf("form", "Choose bath or dip.", "no such treatment: %q", t.Form)
	}
	if t.Animals < int(TrialAnimals.Low) || t.Animals > int(TrialAnimals.High) {
		return ref.Inputf("animals", "Take 3 to 5 of the lot, not the weakest and not the best.", "%d animals are no trial", t.Animals)
	}
	for _, l := range t.Looks {
		if l.Walking < 0 || l.Down < 0 || l.Dead < 0 || l.Walking+l.Down+l.Dead != t.Animals {
			return ref.Inputf("looks", fmt.Sprintf("Account for all %d: walking, down or dead.", t.Animals),
				"%d walking, %d down and %d dead are not %d animals", l.Walking, l.Down, l.Dead, t.Animals)
		}
		if l.At.Before(t.Started) || l.At.After(now) {
			return ref.Inputf("looks", "Give the time at which somebody looked.", "a look cannot be before the start or in the future")
		}
	}
	return nil
}

// Reason checks a typed reason for going against a gate or a rule and returns
// it trimmed. The error is a *ref.InputError for field.
func Reason(field, text string) (string, error) {
	text = strings.TrimSpace(text)
	if len([]rune(text)) < 10 {
		return "", ref.Inputf(field, "Say in a sentence why; it stays on the record.", "going on against this needs a reason")
	}
	return text, nil
}
