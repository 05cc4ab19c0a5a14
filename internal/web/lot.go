package web

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"net/url"
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
)

// tried is a form of the lot's pages that was sent and not taken.
type tried struct {
	what    string
	values  url.Values
	form    *form.Form
	refused string
}

// journalShown is how many entries of the journal a lot's page shows at first.
const journalShown = 40

func lotURL(id string) string { return "/lots/" + url.PathEscape(id) }

func lotName(l *holdfast.Lot) string { return strings.TrimSpace(l.Strain + " " + l.ID) }

// lotPage answers GET /lots/{id}.
func (s *Server) lotPage(w http.ResponseWriter, r *http.Request) error {
	return s.lotShown(w, r, http.StatusOK, tried{})
}

// lotShown draws the lot, with a form that was not taken opened again.
func (s *Server) lotShown(w http.ResponseWriter, r *http.Request, status int, t tried) error {
	ctx := r.Context()
	v, err := s.Desk.View(ctx, r.PathValue("id"))
	if err != nil {
		return err
	}
	f, err := s.frame(r)
	if err != nil {
		return err
	}
	b := &lotBuild{s: s, v: v, zone: f.Now.Location(), now: f.Now, tried: t, all: r.URL.Query().Get("journal") == "all"}
	l, err := b.build(ctx)
	if err != nil {
		return err
	}
	if l.Recalled {
		f.Strips = append(f.Strips, view.Strip{Mark: view.Stop, Alarm: true, Bold: "Recalled: signs were found after the release.", Rest: recallSay(l)})
	}
	if f.Back = lotURL(v.Lot.ID); b.all {
		f.Back += "?journal=all"
	}
	return s.page(w, r, status, page.LotPage(view.Page{Frame: f, Title: l.Name, At: view.Lots}, l))
}

func recallSay(l page.Lot) string {
	if len(l.Sold) == 0 {
		return "Sell none of it. Nobody bought from it."
	}
	var names []string
	for _, s := range l.Sold {
		if !slices.Contains(names, s.Buyer) {
			names = append(names, s.Buyer)
		}
	}
	const shown = 4
	if n := len(names) - shown; n > 0 {
		names = append(names[:shown], words.Plural(n, "other", "others"))
	}
	return "Sell none of it, and tell who bought: " + strings.Join(names, ", ") + "."
}

// lotBuild gathers what the lot's page shows.
type lotBuild struct {
	s     *Server
	v     *desk.LotView
	zone  *time.Location
	now   time.Time
	tried tried
	all   bool
}

func (b *lotBuild) build(ctx context.Context) (page.Lot, error) {
	v, lot := b.v, b.v.Lot
	gate := v.Gate(b.zone)
	l := page.Lot{URL: lotURL(lot.ID), Name: lotName(lot), Recalled: lot.Status == holdfast.Recalled}
	var err error
	l.From = b.from()
	l.Mark, l.State = lotStanding(v, gate)
	l.Numbers = lotNumbers(v)
	l.Conditions, l.More = lotConditions(v)
	if worst := desk.Worst(v.Assessed); worst != nil {
		l.Chart = b.chart(*worst)
		l.StandsMark, l.Stands = figuresSay(v, *worst)
		l.Hatching = hatching(v, *worst)
		l.Unproven, l.Settle = unproven(*worst), "/signs?lot="+url.QueryEscape(lot.ID)
		l.LiftSay, l.Lifts = lifts(v, *worst)
	} else if v.State.Pending {
		l.StandsMark, l.Stands = figuresSay(v, desk.Assessment{Pending: true})
		l.Pending = awaited(v)
	}
	l.Working = !v.State.Current()
	if b.s.Desk.Life != nil && len(v.Assessed) > 0 {
		l.How = l.URL + "/how"
	}
	l.Signed = signedFacts(desk.Signed(v.Lot, b.zone))
	l.Gate = gateOf(l.URL, v, gate)
	if l.Sold, err = b.sold(ctx); err != nil {
		return l, err
	}
	if err := b.photos(&l); err != nil {
		return l, err
	}
	if err := b.journal(ctx, &l); err != nil {
		return l, err
	}
	if err := b.forms(ctx, &l, gate); err != nil {
		return l, err
	}
	b.links(&l)
	if l.Course, err = b.course(ctx); err != nil {
		return l, err
	}
	l.Changed, err = b.s.lotChange(ctx, v)
	return l, err
}

// from says where the lot stands, whose it was and how long it is here.
func (b *lotBuild) from() string {
	var parts []string
	for _, p := range b.v.Lot.Places {
		say := "Tank " + p.Tank
		if len(b.v.Lot.Places) > 1 {
			say += " (" + words.Int(p.Count) + ")"
		}
		parts = append(parts, say)
	}
	if len(parts) == 0 {
		parts = append(parts, "In no tank")
	}
	if sup := b.v.Consignment.Supplier; sup != "" {
		parts = append(parts, sup)
	}
	days := int(b.v.Today - holdfast.DayOf(b.v.Lot.OpenedAt, b.zone))
	if b.v.Lot.Opened != "" {
		parts = append(parts, words.Plural(days, "day", "days")+" here")
	}
	return strings.Join(parts, " · ")
}

func (b *lotBuild) links(l *page.Lot) {
	lot := b.v.Lot
	alive := lot.Status != holdfast.Closed
	sale := lot.Status == holdfast.Released || lot.Status == holdfast.Disclosed
	if sale {
		l.Buttons = append(l.Buttons, page.Link{Label: "Sell", URL: l.URL + "/sell", Weight: view.Main})
	}
	if alive {
		look := page.Link{Label: "Look", URL: l.URL + "/look"}
		if !sale {
			look.Weight = view.Main
		}
		l.Buttons = append(l.Buttons, look, page.Link{Label: "Treat", URL: l.URL + "/mix"})
		if desk.CourseAgainst(b.v, "") != "" {
			l.Buttons = append(l.Buttons, page.Link{Label: "Course", URL: l.URL + "/course"})
		}
	}
	if b.s.Pictures != nil {
		l.Buttons = append(l.Buttons, page.Link{Label: "Bench", URL: l.URL + "/bench"})
	}
	l.Buttons = append(l.Buttons, page.Link{Label: "Buyer’s record", URL: l.URL + "/record"})
	l.Links = append(l.Links, page.Link{Label: "What might this be?", URL: "/signs?lot=" + url.QueryEscape(lot.ID)},
		page.Link{Label: "Case file for a vet or laboratory", URL: "/signs/case?lot=" + url.QueryEscape(lot.ID)})
	if len(b.v.Assessed) > 0 {
		l.Links = append(l.Links, page.Link{Label: "How this was reckoned", URL: l.URL + "/reckoned"})
	}
	for _, p := range lot.Places {
		l.Links = append(l.Links, page.Link{Label: "Tank " + p.Tank, URL: "/tanks/" + url.PathEscape(p.Tank)})
	}
	if b.v.Consignment.Known {
		l.Links = append(l.Links, page.Link{Label: "The delivery it came with", URL: "/deliveries/" + url.PathEscape(lot.Consignment)})
	}
	for _, s := range lot.Suspects {
		if in := lot.SuspectedIn[s]; in != "" && in != lot.Parent {
			l.Links = append(l.Links, page.Link{Label: "Lot " + in + ", in which " + words.MidSentence(desk.Called(s)) + " was suspected", URL: lotURL(in)})
		}
	}
	if lot.Parent != "" {
		l.Links = append(l.Links, page.Link{Label: "Lot " + lot.Parent + ", from which it was split", URL: lotURL(lot.Parent)})
	}
}

// lotStanding is the lot's state as a mark with its words.
func lotStanding(v *desk.LotView, gate []desk.GateItem) (view.Mark, string) {
	l := v.Lot
	alive := fmt.Sprintf(" %s alive of %s.", words.Int(l.Alive.N), words.Int(l.Declared))
	if l.Alive.Low != l.Alive.High {
		alive = fmt.Sprintf(" About %s alive (%s to %s) of %s.", words.Int(l.Alive.N), words.Int(l.Alive.Low), words.Int(l.Alive.High), words.Int(l.Declared))
	}
	var suspects, found []string
	for _, s := range l.Suspects {
		suspects = append(suspects, words.MidSentence(desk.SuspectedSays(l, s)))
	}
	for _, a := range v.Assessed {
		if a.Figure.Positive > 0 {
			found = append(found, a.Condition.Name+" found")
		}
	}
	switch {
	case len(suspects) > 0:
		return view.Stop, "Stand still. Suspected: " + strings.Join(suspects, ", ") + "." + alive
	case l.Status == holdfast.Recalled:
		return view.Stop, "Recalled: signs found after its release." + alive
	case l.Status == holdfast.Released:
		return view.Clear, "Released for sale." + alive
	case l.Status == holdfast.Disclosed:
		return view.Half, "For sale to the trade, with the finding disclosed." + alive
	case l.Status == holdfast.Colony:
		return view.Held, "Kept apart as a colony, not for sale." + alive
	case l.Status == holdfast.Closed:
		return view.Done, "Closed." + alive
	case len(found) > 0:
		return view.Found, "Held. " + strings.Join(found, ", ") + "." + alive
	case len(desk.Unmet(gate)) == 0:
		return view.Half, "Held. Ready, waiting for your signature." + alive
	case l.LastLook == 0 && l.Parent != "":
		return view.Unlooked, "Held. Not looked at since it was split off." + alive
	case l.LastLook == 0:
		return view.Unlooked, "Held. Not looked." + alive
	}
	return view.Held, "Held. Nothing found so far." + alive
}

// guessBefore says what the desk takes a lot like this for before anybody has
// looked: the least likely clear of what it can carry, and that it is a guess.
func guessBefore(v *desk.LotView) string {
	least, of := 2.0, ""
	for _, a := range v.Assessed {
		if a.Why == "" && !a.Pending && a.Figure.Chance < least {
			least, of = a.Figure.Chance, a.Condition.Name
		}
	}
	if of == "" {
		return ""
	}
	return "guessed before any look: " + words.Percent(least) + " likely clear of the " + words.MidSentence(of)
}

// awaited reports whether somebody has looked, here or at the lot that it was split
// from, so that a chance is on its way.
func awaited(v *desk.LotView) bool {
	return v.Lot.LastLook > 0 || slices.ContainsFunc(v.Assessed, func(a desk.Assessment) bool {
		return a.Pending && (a.Figure.Looked > 0 || v.Lot.Parent != "")
	})
}

// lotNumbers are the two numbers that mean something: how likely clear of the
// worst, and what a buyer would get.
func lotNumbers(v *desk.LotView) []view.Big {
	w := desk.Worst(v.Assessed)
	if w == nil && v.State.Pending && awaited(v) {
		return []view.Big{{Number: "–", Before: "somebody has looked:", Bold: "the chance is being worked out"}}
	}
	if w == nil {
		return []view.Big{{Number: "–", Before: "nobody has looked:", Bold: "no chance can be stated", Below: guessBefore(v)}}
	}
	of := "of the " + words.MidSentence(w.Condition.Name)
	all := []view.Big{
		{Number: words.Percent(w.Figure.Chance), Before: "likely clear", Bold: of, Below: bandSay(w.Figure.Low, w.Figure.High)},
		{Number: words.OfHundred(w.Figure.BagRisk), Before: "of 100 bags", Bold: "of " + words.Int(v.Shop.BagSize), After: "would carry it", Below: bagBand(*w)},
	}
	if v.Shop.Line == holdfast.LineBag {
		all = append(all, view.Big{Number: words.Percent(w.Figure.BuyersRisk), Before: "that at least one buyer gets it", Bold: "if the whole lot is sold"})
	}
	return all
}

// lotConditions lists every tracked condition, the worst first, those nobody
// looked for last and never as clear; and what would raise each chance.
func lotConditions(v *desk.LotView) ([]view.Condition, []page.Fact) {
	sorted := slices.Clone(v.Assessed)
	unknown := func(a desk.Assessment) bool { return !a.Known() }
	slices.SortStableFunc(sorted, func(a, b desk.Assessment) int {
		switch {
		case unknown(a) != unknown(b):
			if unknown(a) {
				return 1
			}
			return -1
		case a.Figure.Chance < b.Figure.Chance:
			return -1
		case a.Figure.Chance > b.Figure.Chance:
			return 1
		}
		return 0
	})
	var conds []view.Condition
	var more []page.Fact
	for _, a := range sorted {
		c := view.Condition{Name: a.Condition.Name}
		switch {
		case a.NotLooked:
			c.Mark, c.Seen = view.Unlooked, "not looked"
		case a.Pending:
			c.Mark, c.Seen = view.Half, "being worked out"
		case a.Why != "" && a.Answer != nil:
			c.Mark, c.Seen = view.Late, "no answer fits what was seen"
		case a.Why != "":
			c.Mark, c.Seen = view.Late, "entries disagree"
		case a.Figure.Positive > 0:
			c.Mark, c.Chance = view.Found, words.Percent(a.Figure.Chance)
			c.Seen = fmt.Sprintf("seen on %s of %s", words.Int(a.Figure.Positive), words.Int(a.Figure.Looked))
		default:
			c.Mark, c.Chance = view.Held, words.Percent(a.Figure.Chance)
			if desk.Reached(v.Shop, a.Figure) {
				c.Mark = view.Clear
			}
			c.Seen = "none seen on " + words.Int(a.Figure.Looked)
		}
		conds = append(conds, c)
		says := v.MoreSays(a)
		if a.NotLooked && a.Why == "" {
			says = "Nobody has looked for it. " + says
		}
		more = append(more, page.Fact{Mark: c.Mark, Name: a.Condition.Name, Says: says})
	}
	return conds, more
}

func gateOf(url string, v *desk.LotView, gate []desk.GateItem) view.Gate {
	g := view.Gate{Heading: "Release"}
	for _, it := range gate {
		n := view.Need{Mark: view.Held, What: it.Name, Say: it.Says}
		line := strings.HasPrefix(it.Key, "line_")
		if line {
			n.Say, n.Reck = "", it.Says
		}
		if it.Met {
			g.Met = append(g.Met, n)
			continue
		}
		if it.Absolute {
			n.Mark = view.Stop
		}
		for _, a := range v.Assessed {
			if line && it.Key == "line_"+a.Condition.ID && a.NotLooked {
				n.Mark, n.Say, n.Reck = view.Unlooked, it.Says, ""
			}
		}
		if it.Key == "clean_look" {
			n.Link, n.URL = "Look now", url+"/look"
		}
		g.Unmet = append(g.Unmet, n)
	}
	return g
}

// sold lists the sales with who stands behind them.
func (b *lotBuild) sold(ctx context.Context) ([]page.Sold, error) {
	var all []page.Sold
	for _, ev := range b.v.Lot.Events {
		p, ok := ev.Payload.(*holdfast.Sale)
		if !ok {
			continue
		}
		row := page.Sold{When: words.FullDay(ev.OccurredAt.In(b.zone)), Count: words.Int(p.Count)}
		who, err := b.s.Desk.Store.Buyer(ctx, p.Buyer)
		var failed *holdfast.Error
		switch {
		case errors.As(err, &failed) && failed.Kind == holdfast.NotFound:
			row.Buyer = "erased (" + p.Buyer + ")"
		case err != nil:
			return nil, err
		default:
			row.Buyer, row.Contact = who.Name, who.Contact
		}
		if row.Contact == "" {
			row.Contact = "–"
		}
		papers := b.v.Lot.SalePapers(ev)
		row.Papers, row.PapersURL = papersSay(papers, soldPapers), salePapersURL(b.v.Lot.ID, ev.ID)
		if row.Papers == "" {
			row.Papers = "Add papers"
		}
		all = append(all, row)
	}
	return all, nil
}

// journal fills the journal, newest first, and the contradictions.
func (b *lotBuild) journal(ctx context.Context, l *page.Lot) error {
	lot := b.v.Lot
	byID := make(map[holdfast.ID]holdfast.Event, len(lot.All))
	for _, ev := range lot.All {
		byID[ev.ID] = ev
	}
	back := l.URL
	if b.all {
		back += "?journal=all"
	}
	l.JournalTotal = len(lot.All)
	for i := len(lot.All) - 1; i >= 0; i-- {
		if !b.all && len(l.Journal) == journalShown {
			l.JournalAll = l.URL + "?journal=all#journal"
			break
		}
		ev := lot.All[i]
		j := page.Line{When: words.Moment(ev.OccurredAt.In(b.zone)), Says: b.s.named(ctx, ev, tell(ev)), Who: ev.Who}
		if ev.Kind == holdfast.KindTreatment && lot.Undone[ev.ID] == "" {
			j.URL = treatmentURL(lot.ID, ev.ID)
		}
		take, label := ev.ID, "Undo"
		if by := lot.Undone[ev.ID]; by != "" {
			c := byID[by]
			j.Gone = fmt.Sprintf("Taken back by %s on %s", c.Who, words.Moment(c.OccurredAt.In(b.zone)))
			if p, ok := c.Payload.(*holdfast.Correction); ok {
				j.Gone = because(j.Gone, p.Reason)
			}
			take, label = by, "Put it back"
		}
		if ev.Kind != holdfast.KindCorrection {
			var err error
			if j.Undo, err = b.undo(label, take, back); err != nil {
				return err
			}
		}
		l.Journal = append(l.Journal, j)
	}
	for _, c := range lot.Contradictions {
		say := page.Contradiction{Says: c.Says}
		if ev, ok := byID[c.Entry]; ok {
			say.Entry = fmt.Sprintf("%s, %s: %s", words.Moment(ev.OccurredAt.In(b.zone)), ev.Who, tell(ev))
			var err error
			if say.Undo, err = b.undo("Take this entry back", c.Entry, back); err != nil {
				return err
			}
		}
		l.Contradictions = append(l.Contradictions, say)
	}
	return nil
}

func (b *lotBuild) undo(label string, entry holdfast.ID, back string) (*view.StripForm, error) {
	fresh, err := b.s.Desk.NewID()
	if err != nil {
		return nil, err
	}
	return &view.StripForm{Label: label, Action: "/undo", Hidden: []view.Pair{
		{Name: "entry", Value: string(entry)}, {Name: "id", Value: string(fresh)}, {Name: "back", Value: back},
	}}, nil
}

// stopping are the conditions that stop everything while suspected.
func stopping() []known.Condition {
	var out []known.Condition
	for _, c := range known.Builtin().Everything() {
		if c.NotifiableSuspect || c.KillsNoCure {
			out = append(out, c)
		}
	}
	return out
}
