package web

import (
	"fmt"
	"math"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"
	"time"

	"holdfast"
	"holdfast/desk"
	"holdfast/internal/web/chart"
	"holdfast/internal/web/page"
	"holdfast/internal/web/view"
	"holdfast/internal/web/words"
)

// lotsAPage is how many lots one page lists.
const lotsAPage = 50

// lotSieve is one way to choose lots by their state.
type lotSieve struct {
	key, label string
	// statuses that pass; empty means every state.
	statuses []holdfast.Status
	mark     view.Mark
}

var lotSieves = []lotSieve{
	{"here", "Here now", []holdfast.Status{holdfast.Held, holdfast.Released, holdfast.Recalled, holdfast.Disclosed, holdfast.Colony}, view.NoMark},
	{"held", "Held", []holdfast.Status{holdfast.Held}, view.Held},
	{"released", "Released", []holdfast.Status{holdfast.Released}, view.Clear},
	{"recalled", "Recalled", []holdfast.Status{holdfast.Recalled}, view.Late},
	{"other", "Other ways", []holdfast.Status{holdfast.Disclosed, holdfast.Colony}, view.Half},
	{"closed", "Closed", []holdfast.Status{holdfast.Closed}, view.Done},
	{"all", "All", nil, view.NoMark},
}

var lotSorts = []struct {
	key   desk.LotSort
	label string
}{
	{desk.ByChance, "Held first, by chance"}, {desk.ByOldest, "Oldest"}, {desk.ByNewest, "Newest"},
	{desk.ByAlive, "Most animals"}, {desk.ByStrain, "Strain"}, {desk.BySupplier, "Supplier"},
}

// lotsAsked is what an address of the list asks for.
type lotsAsked struct {
	text  string
	state lotSieve
	sort  desk.LotSort
	page  int
}

// askedLots reads an address; what it does not know falls back to the default,
// so that an old bookmark still leads to a list.
func askedLots(q url.Values) lotsAsked {
	a := lotsAsked{text: strings.TrimSpace(strings.ToValidUTF8(q.Get("q"), "")), state: lotSieves[0], sort: desk.ByChance, page: 1}
	if r := []rune(a.text); len(r) > 80 {
		a.text = string(r[:80])
	}
	for _, s := range lotSieves {
		if s.key == q.Get("state") {
			a.state = s
		}
	}
	for _, s := range lotSorts {
		if string(s.key) == q.Get("sort") {
			a.sort = s.key
		}
	}
	if n, err := strconv.Atoi(q.Get("page")); err == nil && n > 1 && n < 1_000_000 {
		a.page = n
	}
	return a
}

// pairs are what differs from the default, without the page.
func (a lotsAsked) pairs() []view.Pair {
	var out []view.Pair
	if a.state.key != lotSieves[0].key {
		out = append(out, view.Pair{Name: "state", Value: a.state.key})
	}
	if a.sort != desk.ByChance {
		out = append(out, view.Pair{Name: "sort", Value: string(a.sort)})
	}
	return out
}

// url is the address that asks for it.
func (a lotsAsked) url() string {
	q := url.Values{}
	for _, p := range a.pairs() {
		q.Set(p.Name, p.Value)
	}
	if a.text != "" {
		q.Set("q", a.text)
	}
	if a.page > 1 {
		q.Set("page", strconv.Itoa(a.page))
	}
	if len(q) == 0 {
		return "/lots"
	}
	return "/lots?" + q.Encode()
}

// at is the same question, of another state, in another order or on another
// page.
func (a lotsAsked) at(change func(*lotsAsked)) string {
	a.page = 1
	change(&a)
	return a.url()
}

func (s *Server) lots(w http.ResponseWriter, r *http.Request) error {
	ctx := r.Context()
	f, err := s.frame(r)
	if err != nil {
		return err
	}
	shop, err := s.Desk.Settings(ctx)
	if err != nil {
		return err
	}
	counts, err := s.Desk.Store.LotCounts(ctx)
	if err != nil {
		return err
	}
	asked := askedLots(r.URL.Query())
	rows, total, err := s.askLots(r, &asked)
	if err != nil {
		return err
	}
	l := page.LotsPage{Query: asked.text, Keep: asked.pairs(), Line: chanceLine(shop), None: counted(counts, nil) == 0,
		All: asked.at(func(a *lotsAsked) { a.text, a.state = "", lotSieves[len(lotSieves)-1] })}
	for _, sv := range lotSieves {
		l.States = append(l.States, view.Sieve{Label: sv.label, Count: counted(counts, sv.statuses), Mark: sv.mark, Marked: sv.mark != view.NoMark,
			Current: sv.key == asked.state.key, URL: asked.at(func(a *lotsAsked) { a.state = sv })})
	}
	for _, so := range lotSorts {
		l.Sorts = append(l.Sorts, view.Sieve{Label: so.label, Count: -1, Current: so.key == asked.sort, URL: asked.at(func(a *lotsAsked) { a.sort = so.key })})
	}
	n := lotNow{shop: shop, zone: f.Now.Location(), today: holdfast.DayOf(holdfast.MicrosOf(f.Now), f.Now.Location())}
	for _, row := range rows {
		l.Rows = append(l.Rows, n.row(row))
	}
	first := (asked.page - 1) * lotsAPage
	l.Pager = view.Pager{From: first + 1, To: first + len(rows), Total: total, What: "lots"}
	if asked.page > 1 {
		l.Pager.Prev = asked.at(func(a *lotsAsked) { a.page = asked.page - 1 })
	}
	if first+len(rows) < total {
		l.Pager.Next = asked.at(func(a *lotsAsked) { a.page = asked.page + 1 })
	}
	if !l.None {
		l.Below = fmt.Sprintf("%s here now. %s", words.Plural(counted(counts, lotSieves[0].statuses), "lot", "lots"), found(asked, total))
	}
	return s.page(w, r, http.StatusOK, page.Lots(view.Page{Frame: f, Title: "Lots", At: view.Lots, Width: view.Full}, l))
}

// askLots asks the store, and once more for the last page when the one asked
// for lies behind it.
func (s *Server) askLots(r *http.Request, asked *lotsAsked) ([]holdfast.LotRow, int, error) {
	for {
		rows, total, err := s.Desk.Store.Lots(r.Context(), desk.LotQuery{Text: asked.text, Statuses: asked.state.statuses, Sort: asked.sort,
			Offset: (asked.page - 1) * lotsAPage, Limit: lotsAPage})
		if err != nil || len(rows) > 0 || asked.page == 1 {
			return rows, total, err
		}
		asked.page = max(1, (total+lotsAPage-1)/lotsAPage)
	}
}

func found(a lotsAsked, total int) string {
	if a.text == "" {
		return ""
	}
	return fmt.Sprintf("%s for “%s”.", words.Plural(total, "match", "matches"), a.text)
}

// counted adds up the lots in the given states; no states means all.
func counted(counts map[holdfast.Status]int, statuses []holdfast.Status) int {
	n := 0
	for status, of := range counts {
		if len(statuses) == 0 || slices.Contains(statuses, status) {
			n += of
		}
	}
	return n
}

// chanceLine is the release line as a chance, whatever it is drawn on.
func chanceLine(shop holdfast.ShopSet) float64 {
	if shop.Line == holdfast.LineBag {
		return 1 - shop.BagLine
	}
	return shop.ClearLine
}

// lotNow says how a lot stands today from its row alone, without its journal.
type lotNow struct {
	shop  holdfast.ShopSet
	zone  *time.Location
	today holdfast.Day
}

func (n lotNow) row(l holdfast.LotRow) view.LotRow {
	mark, state := n.state(l)
	r := view.LotRow{URL: "/lots/" + url.PathEscape(l.ID), Mark: mark, Name: l.Strain + " " + l.ID, State: state, Where: where(l)}
	r.Strip, r.Condition = n.strip(l)
	r.Next, r.NextLate = n.next(l)
	r.When = n.when(l)
	if l.Price == nil {
		r.Money = "no price"
	} else {
		r.Money = words.Money(l.Price.Minor*int64(l.Alive), l.Price.Currency)
	}
	return r
}

func where(l holdfast.LotRow) string {
	var tanks []string
	for _, p := range l.Places {
		tanks = append(tanks, p.Tank)
	}
	in := "in no tank"
	switch len(tanks) {
	case 0:
	case 1:
		in = "tank " + tanks[0]
	default:
		in = "tanks " + strings.Join(tanks, ", ")
	}
	return strings.Join([]string{in, l.Supplier, words.Int(l.Alive) + " alive"}, " · ")
}

func (n lotNow) state(l holdfast.LotRow) (view.Mark, string) {
	if len(l.Suspects) > 0 && l.Status != holdfast.Closed {
		return view.Stop, "Stand still"
	}
	switch l.Status {
	case holdfast.Released:
		return view.Clear, "Released"
	case holdfast.Recalled:
		return view.Late, "Recalled"
	case holdfast.Disclosed:
		return view.Found, "For sale, finding disclosed"
	case holdfast.Colony:
		return view.Half, "Colony of its own"
	case holdfast.Closed:
		return view.Done, "Closed"
	}
	switch {
	case len(l.SignOf) > 0:
		return view.Found, "Held, signs found"
	case l.LastLook == 0:
		return view.Unlooked, "Held, not looked"
	}
	return view.Held, "Held"
}

// strip draws the figure that keeps the lot farthest from the line.
func (n lotNow) strip(l holdfast.LotRow) (chart.Strip, string) {
	s := chart.Strip{Chance: math.NaN(), Line: chanceLine(n.shop)}
	i := slices.IndexFunc(l.Figures, func(f holdfast.Figure) bool { return f.Condition == l.Worst })
	switch {
	case i >= 0 && l.Worst != "":
	case l.Status == holdfast.Closed:
		return s, "closed"
	case l.Evidence != "" && l.LastLook > 0 && len(desk.Tracked(l.Species)) > 0:
		return s, "being worked out"
	default:
		return s, "not looked"
	}
	f := l.Figures[i]
	s.Chance, s.Low, s.High = f.Chance, f.Low, f.High
	s.Found = slices.Contains(l.SignOf, l.Worst)
	named := strings.ToLower(desk.Called(l.Worst))
	if n.shop.Line == holdfast.LineBag {
		s.Chance, s.Low, s.High = 1-f.BagRisk, 0, 0
		named = fmt.Sprintf("bag of %d, %s", n.shop.BagSize, named)
	}
	switch {
	case l.Status == holdfast.Closed:
	case l.FigureAsOf != 0 && l.FigureAsOf < n.today:
		named += ", as of " + words.ShortDay(l.FigureAsOf.Date())
	case l.FigureOld:
		named += ", before the last entries"
	}
	return s, named
}

// lacking names the first thing the animals can carry that nobody looked for,
// and short the first that has not reached the line.
func (n lotNow) lacking(l holdfast.LotRow) (unlooked, short string) {
	for _, c := range desk.Tracked(l.Species) {
		i := slices.IndexFunc(l.Figures, func(f holdfast.Figure) bool { return f.Condition == c.ID })
		switch {
		case i < 0 && l.Evidence != "" && l.FigureAsOf == 0 && l.LastLook > 0: // being worked out
		case i < 0 && unlooked == "":
			unlooked = c.Name
		case i >= 0 && short == "" && !desk.Reached(n.shop, l.Figures[i]):
			short = c.Name
		}
	}
	return unlooked, short
}

// next is the one thing to do next and whether it calls somebody.
func (n lotNow) next(l holdfast.LotRow) (string, bool) {
	if l.Status == holdfast.Closed {
		return "Nothing. It is closed.", false
	}
	if len(l.Suspects) > 0 {
		return "Hold everything. Call the authority or an aquatic vet.", true
	}
	switch l.Status {
	case holdfast.Released:
		return "For sale.", false
	case holdfast.Recalled:
		return "Keep it off sale and tell the buyers.", true
	case holdfast.Disclosed:
		return "Sell to the trade only, with the finding in writing.", false
	case holdfast.Colony:
		return "Keep it apart. Not for sale.", false
	}
	unlooked, short := n.lacking(l)
	from := n.earliest(l)
	switch {
	case l.Alive == 0:
		return "Count again: none are left on paper.", true
	case len(l.Places) == 0:
		return "Put it into a tank.", true
	case l.LastLook == 0:
		return "First look.", n.today > holdfast.DayOf(l.OpenedAt, n.zone)
	case l.LastSign > l.LastDose:
		return "Signs found: decide on a treatment or another way.", false
	case unlooked != "":
		return "Look for the " + strings.ToLower(unlooked) + " too.", false
	case short != "":
		return "Look at more for the " + strings.ToLower(short) + ".", false
	case n.today < from:
		return "Wait until " + words.ShortDay(from.Date()) + ", then look once more.", false
	case n.today-holdfast.DayOf(l.LastLook, n.zone) > holdfast.Day(n.shop.LookWithinDays):
		return "Look once more before releasing.", false
	}
	return "Read the release conditions.", false
}

// earliest is the first day on which waiting alone lets the lot go; what must
// be looked at comes on top.
func (n lotNow) earliest(l holdfast.LotRow) holdfast.Day {
	from := holdfast.DayOf(l.OpenedAt, n.zone) + holdfast.Day(n.shop.DaysHere)
	if last := max(l.LastSign, l.LastDose); last > 0 {
		from = max(from, holdfast.DayOf(last, n.zone)+holdfast.Day(n.shop.DaysSinceSign))
	}
	return from
}

func (n lotNow) when(l holdfast.LotRow) string {
	switch {
	case l.Status == holdfast.Released:
		return "released"
	case l.Status != holdfast.Held && l.Status != holdfast.Recalled:
		return "–"
	case len(l.Suspects) > 0:
		return "not while suspected"
	}
	from := max(n.today, n.earliest(l))
	if from == n.today { // the waiting is over; what the animals may carry need not be
		if unlooked, short := n.lacking(l); unlooked != "" || short != "" {
			return "once the line is reached"
		}
		return "from today at the earliest"
	}
	return "from " + words.ShortDay(from.Date()) + " at the earliest"
}
