package web

import (
	"fmt"
	"net/http"
	"strconv"
	"strings"
	"time"

	"holdfast"
	"holdfast/desk"
	"holdfast/internal/web/page"
	"holdfast/internal/web/view"
	"holdfast/internal/web/words"
)

// benchSecond compares two people's judgements of the same photographs.
func (s *Server) benchSecond(w http.ResponseWriter, r *http.Request) error {
	b, err := s.benchOf(r)
	if err != nil {
		return err
	}
	frame, err := s.frame(r)
	if err != nil {
		return err
	}
	p := page.Second{Sheet: benchURL(b.View.Lot.ID, b.Day), From: fromBench(b)}
	switch {
	case b.Saved == nil:
		p.Says = "No look by these photographs has been saved yet. Judge them and save the look; then another person can judge the same photographs without seeing what was said."
	case len(b.Seconds) == 0:
		p.Says = fmt.Sprintf("%s saved the look. Let somebody else put their name at the top of the page and judge the same animals: they see nothing of what was said before.", somebody(b.Saved.Who))
	default:
		both, all := b.Differences()
		p.Says = fmt.Sprintf("%s judged by two people, who differ on %s.", words.Capital(words.Plural(both, "animal was", "animals were")), words.Int(len(all)))
		if len(all) == 0 {
			p.Says = fmt.Sprintf("%s judged by two people, who agree on all.", words.Capital(words.Plural(both, "animal was", "animals were")))
		}
		for _, x := range all {
			p.Rows = append(p.Rows, page.DifferenceRow{No: x.No, URL: sub(b, "animal/"+strconv.Itoa(x.No)), Thumb: sharpestOf(b, x.No), First: saidWords(x.FirstWho, x.First), Second: saidWords(x.SecondWho, x.Second)})
		}
	}
	frame.Back = sub(b, "second")
	return s.page(w, r, http.StatusOK, page.SecondPage(view.Page{Frame: frame, Title: "Second pair of eyes", At: view.Lots}, p))
}

// sharpestOf is a small picture of the sharpest photograph of an animal, "" if it
// has none.
func sharpestOf(b *desk.Bench, no int) string {
	a, err := b.Animal(no)
	if err != nil {
		return ""
	}
	var all []*desk.BenchPhoto
	for _, side := range holdfast.Sides {
		all = append(all, a.Sides[side]...)
	}
	best := ""
	sharp := -1.0
	for _, x := range all {
		if x.Usable() && x.Reading.Sharp > sharp {
			best, sharp = pictureURL(x.SHA256, 240), x.Reading.Sharp
		}
	}
	return best
}

func saidWords(who string, found []string) string {
	if len(found) == 0 {
		return somebody(who) + ": nothing on the sides seen"
	}
	return somebody(who) + ": " + strings.ToLower(strings.Join(found, ", "))
}

// benchBefore lays photographs of an earlier look beside those of a later one.
func (s *Server) benchBefore(w http.ResponseWriter, r *http.Request) error {
	now, err := s.benchOf(r)
	if err != nil {
		return err
	}
	frame, err := s.frame(r)
	if err != nil {
		return err
	}
	lot := now.View.Lot.ID
	p := page.BeforeAfter{Sheet: benchURL(lot, now.Day), From: "Lot " + lot, Name: now.View.Lot.Strain, Action: lotURL(lot) + "/bench/before"}
	for _, day := range now.Days {
		p.Days = append(p.Days, view.Option{Value: day.String(), Label: words.FullDay(day.Date())})
	}
	var then *desk.Bench
	if text := r.URL.Query().Get("before"); text != "" {
		day, ok := holdfast.ParseDay(text)
		if !ok {
			return errNoPage
		}
		if then, err = s.Desk.Bench(r.Context(), lot, day); err != nil {
			return err
		}
	} else if len(now.Days) > 1 {
		earlier := now.Days[len(now.Days)-1]
		for _, day := range now.Days {
			if day < now.Day {
				earlier = day
				break
			}
		}
		if then, err = s.Desk.Bench(r.Context(), lot, earlier); err != nil {
			return err
		}
	}
	if then != nil {
		if then.Day > now.Day {
			then, now = now, then
		}
		p.Before, p.After = then.Day.String(), now.Day.String()
		p.BeforeSays, p.AfterSays = lookSays(then), lookSays(now)
		p.Between = between(now.View.Lot, frame.Now.Location(), then, now)
		for _, x := range desk.Pairs(then, now) {
			p.Pairs = append(p.Pairs, page.PairRow{Side: sideLabels[x.Side], Before: s.pairShot(then, x.Before), After: s.pairShot(now, x.After)})
		}
	}
	return s.page(w, r, http.StatusOK, page.BeforePage(view.Page{Frame: frame, Title: "Before and after: " + p.Name, At: view.Lots}, p))
}

func (s *Server) pairShot(b *desk.Bench, x *desk.BenchPhoto) page.PairShot {
	if x == nil {
		return page.PairShot{}
	}
	d := sheet{s: s, b: b}
	out := page.PairShot{URL: d.photoURL(x.SHA256), Says: fmt.Sprintf("%s, animal %d", words.ShortDay(b.Day.Date()), x.Animal)}
	if r := x.Reading; r.Eye != nil && r.PxPerMM > 0 {
		rad := discMM * r.PxPerMM
		out.SVG = near{x, *r.Eye, rad, rad, false, out.Says + ", eye and rostrum", nil}.svg()
	} else {
		out.SVG = photoSVG(x, 480, nil, out.Says)
	}
	return out
}

// lookSays is what the look of a day found.
func lookSays(b *desk.Bench) string {
	if b.Saved == nil {
		return "No look saved of these photographs."
	}
	return tell(*b.Saved)
}

// between says what was done to the lot between two days.
func between(l *holdfast.Lot, zone *time.Location, then, now *desk.Bench) []string {
	var out []string
	for _, ev := range l.Events {
		day := holdfast.DayOf(ev.OccurredAt, zone)
		if day < then.Day || day > now.Day {
			continue
		}
		if p, ok := ev.Payload.(*holdfast.Treatment); ok {
			out = append(out, words.ShortDay(day.Date())+": "+tellTreatment(p))
		}
	}
	return out
}
