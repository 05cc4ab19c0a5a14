package e2e

import (
	"strings"
	"testing"
	"time"

	"holdfast"
	"holdfast/desk"
	"holdfast/internal/web/webtest"
)

// From "Treat" on the round, through the trial and the look a day later, to the
// dose of the lot and its end, by hand in a browser on a phone.
func TestFromTreatToTheRecordedDose(t *testing.T) {
	b := webtest.New(t)
	s := open(t)
	ctx, mara := t.Context(), desk.Actor{Who: "Mara"}
	if _, err := s.SetTank(ctx, mara, desk.TankForm{ID: "14", Use: "quarantine",
		Shape: holdfast.Shape{Form: "box", LengthCM: 60, WidthCM: 30, HeightCM: 35, FillCM: 30}}); err != nil {
		t.Fatal(err)
	}
	_, lots, err := s.Receive(ctx, mara, desk.Arrival{Supplier: "Invented Farm", Boxes: 1, Lines: []desk.ArrivalLine{{Strain: "Blue velvet", Declared: 60, Tank: "14"}}})
	if err != nil {
		t.Fatal(err)
	}
	lot := lots[0]
	page := s.url + "/lots/" + lot
	s.clock.pass(3)
	b.Look(webtest.Phone, webtest.Light)
	b.Go(s.url + "/who")
	b.Type("#name", "Mara")
	b.Send("main form button[type=submit]")
	look(t, b, page, 30, 2)
	round(t, b, s)
	contains(t, b, "main", "Treat against the rostrum worm", "Shut for the lot: first a trial")
	b.Send("main a.b[href*='/mix']")
	contains(t, b, "main", "Read the strength off the label first")
	if b.Text("main .dosed") != "" {
		t.Error("a dose is shown before the strength is known")
	}
	b.Type("#strength", "50 %")
	b.Send(".mix-col form button[type=submit]")
	contains(t, b, "#dose", "of that stock is the dose", "weigh 0.2 g")
	b.Axe("mix, the trial")
	b.NoSideScroll("mix, the trial")
	b.Type("#mix [name=stock_g]", "0.2")
	b.Type("#mix [name=stock_ml]", "1000")
	b.Type("#mix [name=taken_ml]", "50")
	b.Type("#mix [name=count]", "5")
	ticks := func() {
		for _, tick := range []string{"air", "lamp", "carbon"} {
			b.Click("#mix label:has([name=set][value=" + tick + "])")
		}
	}
	ticks()
	b.Press("The trial begins now")
	contains(t, b, "main", "Trial on 5: praziquantel", "Being watched since")
	b.Axe("trial")
	b.NoSideScroll("trial")

	// The round asks to look at them, and the lot's dose stays shut.
	s.clock.micros.Add((61 * time.Minute).Microseconds())
	round(t, b, s)
	contains(t, b, "main", "Look at the 5 on trial", "5 are on trial with praziquantel")
	s.clock.pass(1)
	round(t, b, s)
	b.Send("main a.b[href*=treatments]")
	b.Type("#look [name=walking]", "5")
	b.Type("#look [name=down]", "0")
	b.Type("#look [name=dead]", "0")
	b.Press("Record the look")
	contains(t, b, "main", "the whole dose may be given")
	round(t, b, s)
	contains(t, b, "main", "The 5 on trial with praziquantel walk: it may be given")
	b.Send("main a.b[href*='/mix']")
	b.Type("#strength", "50 %")
	b.Send(".mix-col form button[type=submit]")
	contains(t, b, "#dose", "0.27 g", "on the scale, of the 50 % product", "Gloves")
	b.Axe("mix, the lot")

	// Ten times the weight is caught before it is written.
	b.Type("#mix [name=weighed]", "2.7")
	ticks()
	b.Press("Record the bath as it begins")
	contains(t, b, "#mix", "makes 25 mg/l, not 2.5 mg/l")
	b.Type("#mix [name=weighed]", "0.27")
	b.Press("Record the bath as it begins")
	contains(t, b, "main", "Running since", "0.27 g of the 50 % product")
	round(t, b, s)
	if text := b.Text("main"); strings.Contains(text, "Shut for the lot") {
		t.Error("the round still asks for the dose")
	}
	s.clock.pass(2)
	round(t, b, s)
	contains(t, b, "main", "End the bath with praziquantel")
	b.Send("main a.b[href*=treatments]")
	for _, name := range []string{"carbon", "uv", "lamp", "carbon_back"} {
		b.Click("#end label:has([name=" + name + "][value=yes])")
	}
	b.Press("It ended: record how it went")
	contains(t, b, "main", "Counts in full")
	l, err := s.Lot(ctx, lot)
	if err != nil {
		t.Fatal(err)
	}
	for _, ev := range l.Events {
		if p, ok := ev.Payload.(*holdfast.Treatment); ok && !p.Trial && (p.Held != holdfast.HeldFull || *p.WeighedG != 0.27 || p.TargetMgL != 2.5 || p.VolumeL != 54) {
			t.Errorf("recorded %+v", p)
		}
	}
	b.Go(page + "/record")
	contains(t, b, "main", "Praziquantel, 2.5 mg/l")
}

// The stopwatch runs, speaks its signs in words, and writes its seconds.
func TestTheStopwatchOfADip(t *testing.T) {
	b := webtest.New(t)
	s := open(t)
	b.Look(webtest.Phone, webtest.Dark)
	b.Go(s.url + "/dip")
	contains(t, b, "#watch", "lying on its side", "no longer moving its legs")
	b.Click("[data-dip-start]")
	if got := webtest.Eval[string](b, `new Promise((done) => setTimeout(() => done(document.querySelector("[data-dip-time]").textContent), 1300))`); got != "1 s" {
		t.Errorf("after 1.3 seconds the watch shows %q", got)
	}
	b.Click("[data-dip-stop]")
	contains(t, b, "[data-dip-say]", "Out after 1 seconds")
	b.Quiet("dip")
}
