package web

import (
	"fmt"
	"strings"

	"holdfast"
	"holdfast/desk"
	"holdfast/internal/web/words"
)

// tell says in one sentence what an entry says, as the journal of a lot and
// the strip after a tick show it. The lot and tank stand beside it, not in it.
func tell(ev holdfast.Event) string {
	switch p := ev.Payload.(type) {
	case *holdfast.ShopSet:
		return "Shop settings changed."
	case *holdfast.BeliefsSet:
		return tellBeliefs(p)
	case *holdfast.CostsSet:
		return "What things cost and bring changed."
	case *holdfast.CourseAccepted:
		return tellCourse(p)
	case *holdfast.CourseStopped:
		return because("Course stopped", p.Reason)
	case *holdfast.SightSet:
		return tellSight(p)
	case *holdfast.TankSet:
		if p.Closed {
			return "Taken out of use."
		}
		return fmt.Sprintf("Measured: %s of water.", words.Measure(p.Litres, 1, "L"))
	case *holdfast.ConsignmentReceived:
		if p.Boxes == 0 { // nobody counted them
			return fmt.Sprintf("Delivery from %s.", p.Supplier)
		}
		return fmt.Sprintf("Delivery from %s, %s.", p.Supplier, words.Plural(p.Boxes, "box", "boxes"))
	case *holdfast.LotOpened:
		return fmt.Sprintf("Lot opened: %s %s on the packing list.", words.Int(p.Declared), p.Strain)
	case *holdfast.LotPlaced:
		return fmt.Sprintf("Put %s into tank %s.", some(p.Count), ev.Tank)
	case *holdfast.LotMoved:
		return because(fmt.Sprintf("Moved %s from tank %s to tank %s", some(p.Count), p.From, ev.Tank), p.Reason)
	case *holdfast.LotSplit:
		return because(fmt.Sprintf("Split off %s into lot %s", words.Int(p.Count), p.NewLot), p.Reason)
	case *holdfast.LotMerged:
		return because(fmt.Sprintf("Put %s among lot %s", words.Int(p.Count), p.Into), p.Reason)
	case *holdfast.Counted:
		if p.PlusMinus > 0 {
			return noted(fmt.Sprintf("Counted %s alive, give or take %s.", words.Int(p.Count), words.Int(p.PlusMinus)), p.Note)
		}
		return noted(fmt.Sprintf("Counted %s alive.", words.Int(p.Count)), p.Note)
	case *holdfast.Births:
		return noted(fmt.Sprintf("%s young seen.", words.Int(p.Count)), p.Note)
	case *holdfast.Death:
		if p.Count == 0 {
			return "Looked for dead: none."
		}
		return noted(fmt.Sprintf("%s dead.", words.Int(p.Count)), p.Cause)
	case *holdfast.DOA:
		return noted(fmt.Sprintf("%s dead on arrival.", words.Int(p.Count)), p.Note)
	case *holdfast.Gone:
		return noted(fmt.Sprintf("%s gone without a body.", words.Int(p.Count)), p.Note)
	case *holdfast.Removal:
		return because(fmt.Sprintf("Took out %s", words.Int(p.Count)), p.Reason)
	case *holdfast.Inspection:
		return tellLook(p)
	case *holdfast.PhotoAdded:
		return noted("Photograph added.", p.Note)
	}
	return tellCare(ev)
}

func tellCare(ev holdfast.Event) string {
	switch p := ev.Payload.(type) {
	case *holdfast.Treatment:
		return tellTreatment(p)
	case *holdfast.TreatmentLook:
		return tellAfter(p)
	case *holdfast.TreatmentEnded:
		return tellEnded(p)
	case *holdfast.Redose:
		if p.WeighedG != nil {
			return noted(fmt.Sprintf("Dosed again: %s weighed.", words.Measure(*p.WeighedG, 3, "g")), p.Note)
		}
		return noted(fmt.Sprintf("Dosed again: %s.", words.Measure(*p.Taken, 2, p.TakenUnit)), p.Note)
	case *holdfast.MoultPull:
		if p.Count == nil {
			return noted("Moults pulled, not counted.", p.Note)
		}
		return noted(fmt.Sprintf("Pulled %s.", words.Plural(*p.Count, "moult", "moults")), p.Note)
	case *holdfast.WaterChange:
		return noted(fmt.Sprintf("Changed %s of water.", words.Measure(p.Litres, 1, "L")), p.Note)
	case *holdfast.TopUp:
		return noted(fmt.Sprintf("Topped up %s.", words.Measure(p.Litres, 1, "L")), p.Note)
	case *holdfast.WaterMeasured:
		return noted("Water measured: "+tellWater(p.Water)+".", p.Note)
	case *holdfast.Alarm:
		if p.Over {
			return noted(fmt.Sprintf("Alarm over: %s.", p.What), p.Note)
		}
		return noted(fmt.Sprintf("Alarm: %s failed.", p.What), p.Note)
	case *holdfast.TaskTicked:
		if strings.HasPrefix(p.Task, string(desk.TaskHygiene)+"/") {
			return noted("Hands washed and dried, nets and bucket changed before this section.", p.Note)
		}
		return noted("Ticked.", p.Note)
	case *holdfast.TaskSkipped:
		return because("Skipped", p.Reason)
	case *holdfast.CaseConfirmed:
		return noted("It was: "+desk.Called(p.Truth)+". "+proofWords[p.Proof]+".", p.Note)
	case *holdfast.ReferenceSet:
		return "The reference was changed."
	case *holdfast.Visit:
		return tellVisit(p)
	case *holdfast.Declared:
		return tellDeclared(p)
	case *holdfast.PapersAdded:
		return tellPapers(p)
	case *holdfast.Note:
		return p.Text
	case *holdfast.Correction:
		return because("Took an entry back", p.Reason)
	}
	return tellDecision(ev)
}

func tellDecision(ev holdfast.Event) string {
	switch p := ev.Payload.(type) {
	case *holdfast.Hold:
		switch {
		case p.Suspect != "":
			return because("Everything held: "+desk.Called(p.Suspect)+" suspected"+withLots(ev, p, "which share animals or water"), p.Reason)
		case p.Cleared != "":
			return because("No longer suspected: "+desk.Called(p.Cleared)+withLots(ev, p, "which were held with it"), p.Reason)
		}
		return because("Held", p.Reason)
	case *holdfast.Release:
		if p.Override != "" {
			return "Released below the line, with a signed reason."
		}
		return noted("Released for sale.", p.Note)
	case *holdfast.Override:
		return because("Signed below the line", p.Reason)
	case *holdfast.Exit:
		return because(exitWords[p.Way], p.Reason)
	case *holdfast.Sale:
		if p.Price != nil {
			return fmt.Sprintf("Sold %s to %s, %s each.", words.Int(p.Count), p.Buyer, words.Money(p.Price.Minor, p.Price.Currency))
		}
		return fmt.Sprintf("Sold %s to %s.", words.Int(p.Count), p.Buyer)
	}
	return "Entry of kind " + string(ev.Kind) + "."
}

// mostNamed is how many lots of a suspicion a sentence names.
const mostNamed = 6

// withLots names the lot of a suspicion and those it holds too.
func withLots(ev holdfast.Event, p *holdfast.Hold, why string) string {
	if len(p.Also) == 0 {
		return ""
	}
	named := p.Also[:min(len(p.Also), mostNamed)]
	say := fmt.Sprintf(" in lot %s, with it %s, %s", ev.Lot, strings.Join(named, ", "), why)
	if n := len(p.Also) - len(named); n > 0 {
		say = fmt.Sprintf(" in lot %s, with it %s and %s, %s", ev.Lot, strings.Join(named, ", "), words.Plural(n, "other", "others"), why)
	}
	return say
}

var exitWords = map[string]string{
	holdfast.ExitTreatOn: "Decided to treat on", holdfast.ExitClaim: "Decided to claim or return",
	holdfast.ExitDisclosed: "Decided to sell with the finding disclosed", holdfast.ExitColony: "Decided to keep as a separate colony",
	holdfast.ExitPutDown: "Decided to put down humanely",
}

func tellLook(p *holdfast.Inspection) string {
	say := "Looked at " + words.Int(p.Looked()) + chosenWords(p) + ": "
	found := map[string]int{}
	var order []string
	for _, a := range p.Animals {
		on := map[string]bool{}
		for _, f := range a.Findings {
			id := desk.ConditionOf(f.Condition)
			if id == holdfast.Pigment || id == holdfast.CannotTell || on[id] {
				continue
			}
			on[id] = true
			if found[id] == 0 {
				order = append(order, id)
			}
			found[id]++
		}
	}
	if len(order) == 0 {
		return noted(say+"nothing found.", p.Note)
	}
	parts := make([]string, len(order))
	for i, id := range order {
		parts[i] = fmt.Sprintf("%s on %s", strings.ToLower(desk.Called(id)), words.Int(found[id]))
	}
	return noted(say+strings.Join(parts, ", ")+".", p.Note)
}

func tellTreatment(p *holdfast.Treatment) string {
	form := strings.ToUpper(p.Form[:1]) + p.Form[1:]
	say := fmt.Sprintf("%s: %s, %s for %s", form, p.Active, words.Measure(p.TargetMgL, 2, "mg/l"), stay(p.Hours))
	if p.Form == "dip" {
		say = fmt.Sprintf("%s: %s, %s for %s", form, p.Active, words.Measure(p.TargetMgL/1000, 1, "g/l"), stay(p.Hours))
	}
	if p.Trial {
		say += ", on trial with " + words.Int(p.Count)
	}
	if p.WeighedG != nil {
		say += ", " + words.Measure(*p.WeighedG, 3, "g") + " weighed"
	} else if p.Taken != nil {
		say += ", " + words.Measure(*p.Taken, 2, p.TakenUnit) + " measured"
	}
	if p.Stopped != "" {
		say += ". Stopped: " + p.Stopped
	}
	if p.Reason != "" {
		say += ". Given all the same: " + strings.TrimSuffix(p.Reason, ".")
	}
	if p.Running {
		return noted(say+". It runs.", p.Note)
	}
	return noted(say+". "+heldSays(p.Held, p.Failed), p.Note)
}

// heldSays says what a treatment counts for.
func heldSays(held, failed string) string {
	switch held {
	case holdfast.HeldPartial:
		return "Counts in part: " + failed + "."
	case holdfast.HeldVoid:
		return "Does not count: " + failed + "."
	}
	return "Conditions held."
}

// stay says how long a bath or dip lasted, in the unit that people count it in.
func stay(hours float64) string {
	switch {
	case hours*3600 < 120:
		return words.Measure(hours*3600, 0, "s")
	case hours < 2:
		return words.Measure(hours*60, 0, "min")
	}
	return words.Measure(hours, 1, "h")
}

func tellAfter(p *holdfast.TreatmentLook) string {
	say := fmt.Sprintf("Looked after the treatment: %s down, %s dead", words.Int(p.Down), words.Int(p.Dead))
	if p.Walking > 0 {
		say = fmt.Sprintf("Looked after the treatment: %s walking, %s down, %s dead", words.Int(p.Walking), words.Int(p.Down), words.Int(p.Dead))
	}
	return noted(say+".", p.Note)
}

func tellEnded(p *holdfast.TreatmentEnded) string {
	say := fmt.Sprintf("The bath ended after %s. ", stay(p.Hours))
	return noted(say+heldSays(p.Held, p.Failed), p.Note)
}

func tellWater(w holdfast.Water) string {
	var parts []string
	add := func(name string, v *float64, decimals int, unit string) {
		if v != nil {
			parts = append(parts, strings.TrimSpace(name+" "+words.Number(*v, decimals)+" "+unit))
		}
	}
	add("", w.TempC, 1, "°C")
	add("pH", w.PH, 2, "")
	add("", w.ECUS, 0, "µS/cm")
	add("GH", w.GH, 1, "°dH")
	add("KH", w.KH, 1, "°dH")
	add("ammonia", w.TAN, 2, "mg/l N")
	add("nitrite", w.NO2, 2, "mg/l")
	add("nitrate", w.NO3, 0, "mg/l")
	add("oxygen", w.O2, 1, "mg/l")
	return strings.Join(parts, ", ")
}

// some says a count where 0 stands for all.
func some(n int) string {
	if n == 0 {
		return "all"
	}
	return words.Int(n)
}

// because adds a reason, noted what else was written.
func because(what, reason string) string {
	if reason == "" {
		return what + "."
	}
	return what + ": " + ended(reason)
}

func noted(what, note string) string {
	if note == "" {
		return what
	}
	return what + " " + ended(note)
}

func ended(s string) string {
	if strings.HasSuffix(s, ".") || strings.HasSuffix(s, "!") || strings.HasSuffix(s, "?") {
		return s
	}
	return s + "."
}
