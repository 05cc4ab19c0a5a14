package web

import (
	"fmt"
	"net/http"
	"slices"
	"strings"
	"time"

	"holdfast"
	"holdfast/desk"
	"holdfast/internal/web/form"
	"holdfast/internal/web/page"
	"holdfast/internal/web/view"
	"holdfast/internal/web/words"
	known "holdfast/reference"
	"holdfast/science/water/dose"
)

// kept are the conditions of a bath that a person vouches for.
var kept = []view.Option{
	{Value: "carbon", Label: "Carbon and resin were out", Below: "and the lamp for germs off"},
	{Value: "light", Label: "Light was off or low"},
	{Value: "temperature", Label: "Temperature stayed where it was meant to"},
	{Value: "duration", Label: "It ran the whole time", Below: "no water changed before its end"},
}

// A trial is on so few animals that losing them is bearable, and so many that
// one odd animal does not decide. Common practice.
const trialLow, trialHigh = 3, 5

// treatForm answers GET /lots/{id}/treat.
func (s *Server) treatForm(w http.ResponseWriter, r *http.Request) error {
	return s.treatShown(w, r, http.StatusOK, tried{})
}

// treatSave answers POST /lots/{id}/treat: it works out the weight, or records.
func (s *Server) treatSave(w http.ResponseWriter, r *http.Request) error {
	if err := r.ParseForm(); err != nil {
		return badForm(err)
	}
	if r.PostForm.Get("do") == "weigh" {
		t := tried{what: "treat", values: r.PostForm, form: form.New(r.PostForm)}
		if weigh(t.form); !t.form.OK() {
			return s.treatShown(w, r, http.StatusBadRequest, t)
		}
		return s.treatShown(w, r, http.StatusOK, t)
	}
	return s.doLot(w, r, "treat", treat, s.treatShown)
}

// weighing is what the weight follows from.
type weighing struct{ share, target, litres float64 }

// weigh reads strength, target and litres.
func weigh(f *form.Form) weighing {
	var d weighing
	if x := f.Number("strength", form.Range{Low: 0.01, High: 100, Unit: "%", Needed: true}); x != nil {
		d.share = *x / 100
	}
	if x := f.Number("target", form.Range{Low: 0.001, High: 400000, Unit: "mg/l", Needed: true}); x != nil {
		d.target = *x
	}
	if x := f.Number("litres", form.Range{Low: 0.01, High: 100000, Unit: "L", Needed: true}); x != nil {
		d.litres = *x
	}
	return d
}

func treat(d *doing) error {
	f := d.form
	doses := weigh(f)
	t := holdfast.Treatment{StrengthShare: doses.share, TargetMgL: doses.target, VolumeL: doses.litres,
		Form: f.OneOf("form", []string{"bath", "dip"}, true), Active: f.Text("active", 80, true), Batch: f.Text("batch", 80, false),
		WeighedG: f.Number("weighed", form.Range{Low: 0, High: 100000, Unit: "g"}), TempC: f.Number("temp", form.Range{Low: -2, High: 45, Unit: "°C"}),
		Reason: f.Text("reason", 2000, false), Note: f.Text("note", 2000, false), Task: f.Text("task", 200, false),
		Prescription: f.Text("prescription", 200, false), Disposal: f.Text("disposal", 500, false)}
	if x := f.Number("hours", form.Range{Low: 0.001, High: 24 * 60, Unit: "h", Needed: true}); x != nil {
		t.Hours = *x
	}
	t.Trial = f.OneOf("who", []string{"lot", "trial"}, true) == "trial"
	if t.Trial {
		t.Task = "" // the job of the round is the dose of the lot
	}
	if n := f.Count("count", 1, max(1, d.lot.Alive.High), t.Trial); n != nil {
		t.Count = *n
	}
	treatHeld(f, &t)
	tank := d.tank("tank")
	return d.run(func() error {
		return renamed(renamed(d.desk.Treat(d.ctx, d.by, d.lot.ID, tank, t), "weighed_g", "weighed"), "target_mg_l", "target")
	})
}

// treatHeld reads whether its conditions held, and that the two answers agree.
func treatHeld(f *form.Form, t *holdfast.Treatment) {
	var all []string
	for _, o := range kept {
		all = append(all, o.Value)
	}
	ticked := f.Some("kept", all)
	t.Held = f.OneOf("held", []string{holdfast.HeldFull, holdfast.HeldPartial, holdfast.HeldVoid}, true)
	var failed []string
	for _, o := range kept {
		if !slices.Contains(ticked, o.Value) {
			failed = append(failed, words.MidSentence(o.Label)+": no")
		}
	}
	why := f.Text("failed", 300, false)
	switch {
	case t.Held == holdfast.HeldFull && len(failed) > 0:
		f.Fault("held", "It counts in full only if every condition above is ticked.", "Tick what held, or say that it counts in part.")
	case t.Held == holdfast.HeldFull:
		return
	case why != "":
		failed = append(failed, why)
	case len(failed) == 0 && t.Held != "":
		f.Fault("failed", "Say what did not hold.", "")
	}
	t.Failed = strings.Join(failed, "; ")
}

// treatShown draws the form, with the weight worked out where it can be.
func (s *Server) treatShown(w http.ResponseWriter, r *http.Request, status int, t tried) error {
	ctx := r.Context()
	v, err := s.Desk.View(ctx, r.PathValue("id"))
	if err != nil {
		return err
	}
	fr, err := s.frame(r)
	if err != nil {
		return err
	}
	l := v.Lot
	fr.Back = lotURL(l.ID) + "/treat"
	p := page.LotForm{URL: lotURL(l.ID), Lot: lotName(l), Name: "Treat"}
	if l.Status == holdfast.Closed {
		p.Stop = "The lot is closed: nobody is left to treat."
	}
	var tank *holdfast.Tank
	if len(l.Places) > 0 {
		if tank, err = s.Desk.Tank(ctx, l.Places[0].Tank); err != nil {
			return err
		}
	}
	if p.Act, err = s.act(l.ID, "treat", "", "Record it as given", t, treatParts(l, tank, r.FormValue("task"))...); err != nil {
		return err
	}
	p.Act.Weight = view.Main
	p.Act.Also = &page.Also{Label: "Only work out the weight", Name: "do", Value: "weigh"}
	p.Reckoned = reckonedDose(t, tank)
	p.Cares, p.Beside = treatCares(v, s.Desk.Now()), treatBeside()
	return s.page(w, r, status, page.LotFormPage(view.Page{Frame: fr, Title: "Treat " + lotName(l), At: view.Lots}, p))
}

func treatParts(l *holdfast.Lot, tank *holdfast.Tank, task string) []page.Part {
	strength := numberPart("strength", "Active in the product", "%", "From its label; 100 for the pure substance")
	litres := numberPart("litres", "Water really in it", "L", "")
	if tank != nil {
		litres.Value = words.Number(tank.Litres, 1)
		litres.Hint = fmt.Sprintf("Tank %s: %s to %s L as measured", tank.ID, words.Number(tank.Low, 1), words.Number(tank.High, 1))
	}
	active := page.Part{As: page.AsText, Field: view.Field{Name: "active", Label: "Active ingredient", Hint: "Its plain name, as the label says it", Max: 80, Half: true}}
	for _, m := range medicines() {
		if !slices.Contains(active.List, m.Active) {
			active.List = append(active.List, m.Active)
		}
	}
	return []page.Part{
		strength, active,
		numberPart("target", "Strength in the water", "mg/l", "Of active ingredient; 1 g/l is 1000 mg/l"),
		litres,
		numberPart("weighed", "Weighed", "g", "What the scale showed; empty if nothing was weighed"),
		numberPart("hours", "For", "h", "30 seconds are 0.0083 h"),
		numberPart("temp", "Water", "°C", ""),
		{As: page.AsText, Field: view.Field{Name: "batch", Label: "Batch of the product", Max: 80}},
		tankPart(l, "tank", "In which tank"),
		{As: page.AsChoose, Field: view.Field{Name: "form", Label: "How", Wide: true}, Options: []view.Option{{Value: "bath", Label: "Bath", Below: "in the tank, for hours or days"}, {Value: "dip", Label: "Dip", Below: "in a vessel apart, for seconds or minutes"}}},
		{As: page.AsChoose, Field: view.Field{Name: "who", Label: "Whom", Wide: true}, Options: []view.Option{
			{Value: "trial", Label: fmt.Sprintf("First a trial on %d to %d animals", trialLow, trialHigh), Below: "in a vessel apart, watched for a day"}, {Value: "lot", Label: "The lot"}}},
		numberPart("count", "How many animals", "", fmt.Sprintf("For a trial %d to %d; empty for the whole lot", trialLow, trialHigh)),
		whenPart(),
		{As: page.AsTicks, Field: view.Field{Name: "kept", Label: "What held, as you saw it", Wide: true}, Options: kept},
		{As: page.AsChoose, Field: view.Field{Name: "held", Label: "What it counts for", Wide: true}, Options: []view.Option{
			{Value: holdfast.HeldFull, Label: "In full", Below: "everything above held"},
			{Value: holdfast.HeldPartial, Label: "In part", Below: "something failed, most of it held"},
			{Value: holdfast.HeldVoid, Label: "Not at all", Below: "it was cut short or taken out of the water"}}},
		textPart("failed", "What did not hold, if anything", "", 300),
		textPart("reason", "Why all the same, if a rule or the trial speaks against it", "It stays on the record", 2000),
		prescriptionPart(), disposalPart(),
		textPart("note", "Note, if any", "", 2000),
		{As: page.AsHidden, Field: view.Field{Name: "task", Value: task}},
	}
}

// prescriptionPart and disposalPart ask for what a register of medicines commonly
// has to say.
func prescriptionPart() page.Part {
	return textPart("prescription", "Prescription, if there is one", "Its number, and who wrote it", 200)
}

func disposalPart() page.Part {
	return textPart("disposal", "Where treated water and leftovers went", "Never outdoors; as the label and your law say", 500)
}

// reckonedDose is the weight for the strength and litres typed so far.
func reckonedDose(t tried, tank *holdfast.Tank) []page.Fact {
	if t.form == nil {
		return nil
	}
	d := weigh(form.New(t.values)) // its faults stand at the fields of the form already
	if d.share <= 0 || d.target <= 0 || d.litres <= 0 {
		return nil
	}
	grams := func(litres float64) string { return words.Measure(d.target*litres/1000/d.share, 3, "g") }
	out := []page.Fact{{Mark: view.Half, Name: "Weigh out " + grams(d.litres),
		Says: fmt.Sprintf("%s mg/l in %s L is %s of active ingredient; the product holds %s %% of it.", words.Number(d.target, 3), words.Number(d.litres, 2),
			words.Measure(d.target*d.litres/1000, 3, "g"), words.Number(d.share*100, 2))}}
	if tank != nil && tank.High > tank.Low && d.litres >= tank.Low && d.litres <= tank.High {
		out = append(out, page.Fact{Mark: view.Unlooked, Name: "The litres are not sure",
			Says: fmt.Sprintf("With %s to %s L in the tank, that weight makes %s to %s mg/l.", words.Number(tank.Low, 1), words.Number(tank.High, 1),
				words.Number(d.target*d.litres/tank.High, 3), words.Number(d.target*d.litres/tank.Low, 3))})
	}
	return out
}

// treatCares are the cautions beside the form.
func treatCares(v *desk.LotView, now time.Time) []string {
	all := []string{
		"Follow the label of the medicine and your local law; ask an aquatic veterinarian. Gloves and eye protection, and no vapours.",
		"Weigh it; a spoon is no scale. Carbon and resin out, lamp for germs off, air running, and nobody leaves before the first hour is over.",
		"If an animal flips, races or goes limp, move all of them to clean, matched water at once.",
	}
	if says := trialShut(v.Lot, now); says != "" {
		all = append([]string{says}, all...)
	}
	return all
}

// treatBeside is what the reference knows of what may be given.
func treatBeside() []page.Beside {
	var out []page.Beside
	for _, m := range medicines() {
		b := page.Beside{Summary: m.Name}
		if m.Use == known.Avoid {
			b.Summary += ": better not"
		}
		for _, sec := range m.Sections() {
			for i, c := range sec.Claims {
				claim := page.Claim{Say: c.Say, Caution: c.Caution, From: c.Origin()}
				if i == 0 {
					claim.Head = sec.Title
				}
				if !strings.HasSuffix(claim.Say, ".") {
					claim.Say += "."
				}
				b.Claims = append(b.Claims, claim)
			}
		}
		out = append(out, b)
	}
	return out
}

// trialShut says why the lot's latest trial opens no treatment of the others, or
// that there is none; it is empty when that trial opens one.
func trialShut(l *holdfast.Lot, now time.Time) string {
	trials := desk.Trials(l, now)
	switch {
	case len(trials) > 0 && trials[0].Gate.State == dose.GateOpen:
		return ""
	case len(trials) > 0:
		return fmt.Sprintf("The trial with %s: %s", trials[0].Given.Active, trials[0].Gate.Say)
	}
	return fmt.Sprintf("No trial on this lot is written down. Try it on %d to %d animals first and watch them for a day.", trialLow, trialHigh)
}
