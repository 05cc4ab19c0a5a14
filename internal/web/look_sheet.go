package web

import (
	"fmt"
	"math/rand/v2"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"holdfast/desk"
	"holdfast/internal/web/form"
	"holdfast/internal/web/page"
	"holdfast/internal/web/view"
	"holdfast/internal/web/words"
	"holdfast/science/freedom"
)

// mostRows bounds a sheet: what nobody would print.
const mostRows = 500

// lookSheet answers GET /lots/{id}/look/sheet: the same address is the same
// sheet, also after a restart, because the address holds the seed.
func (s *Server) lookSheet(w http.ResponseWriter, r *http.Request) error {
	v, err := s.Desk.View(r.Context(), r.PathValue("id"))
	if err != nil {
		return err
	}
	q := r.URL.Query()
	seed, err := strconv.ParseUint(q.Get("seed"), 36, 64)
	if err != nil || q.Get("do") != "" {
		return s.freshSheet(w, r, v)
	}
	frame, err := s.frame(r)
	if err != nil {
		return err
	}
	alive := max(1, v.Lot.Alive.N)
	f := form.New(q)
	sheet := page.Sheet{Action: lotURL(v.Lot.ID) + "/look/sheet", Lot: lotName(v.Lot), N: min(v.Shop.LookSize, alive)}
	sheet.From = "Tank " + strings.Join(v.Lot.TankIDs(), ", ")
	if len(v.Lot.TankIDs()) == 0 {
		sheet.From = ""
	}
	if n := f.Count("n", 1, min(alive, mostRows), false); n != nil {
		sheet.N = *n
	}
	sheet.N = min(sheet.N, mostRows)
	way := f.OneOf("way", []string{"net", "count"}, false)
	if way == "" {
		way = "net"
	}
	inNet := 5
	if n := f.Count("net", 1, 100, false); n != nil {
		inNet = *n
	}
	could := min(alive, 2*sheet.N)
	if n := f.Count("could", sheet.N, alive, false); n != nil {
		could = *n
	}
	field := func(name, label, hint string, n int) view.Field {
		x := view.Field{Name: name, Label: label, Hint: hint, Value: strconv.Itoa(n), Err: f.Err(name)}
		if x.Err != "" {
			x.Value = f.Typed(name)
		}
		return x
	}
	sheet.Number = field("n", "How many to look at", fmt.Sprintf("Of %s alive.", words.Int(alive)), sheet.N)
	sheet.Net = field("net", "How many a net brings", "About; for the net only.", inNet)
	sheet.Could = field("could", "How many can be caught at all", "If some always hide.", could)
	sheet.Way = view.Field{Name: "way", Label: "How are they taken?", Value: way, Err: f.Err("way")}
	sheet.Ways = []view.Option{
		{Value: "net", Label: "With a net, out of the tank", Below: "Places in random order, and which one in the net to keep."},
		{Value: "count", Label: "As they are counted over", Below: "When all are moved or counted anyway: those whose turn it is. The fairest choice there is."},
	}
	sheet.Faults = view.Faults(sheet.Number, sheet.Net, sheet.Could)
	status := http.StatusOK
	if !f.OK() {
		status = http.StatusBadRequest
	}
	sheet.LookURL = fmt.Sprintf("%s/look?n=%d", lotURL(v.Lot.ID), sheet.N)
	if err := fillSheet(&sheet, rand.New(rand.NewPCG(seed, 7)), way, alive, inNet); err != nil {
		return err
	}
	if sheet.Bias, err = v.BiasSays(sheet.N, could); err != nil {
		return err
	}
	return s.page(w, r, status, page.SheetPage(view.Page{Frame: frame, Title: "Sheet: " + v.Lot.Strain, At: view.Lots, Width: view.Middle}, sheet))
}

// freshSheet draws a seed and leads to the sheet of it.
func (s *Server) freshSheet(w http.ResponseWriter, r *http.Request, v *desk.LotView) error {
	var b [8]byte
	if _, err := s.Desk.Random.Read(b[:]); err != nil {
		return err
	}
	x := uint64(0)
	for _, c := range b {
		x = x<<8 | uint64(c)
	}
	q := url.Values{"seed": {strconv.FormatUint(x, 36)}}
	for _, name := range []string{"n", "way", "net", "could"} {
		if t := r.URL.Query().Get(name); t != "" && len(t) < 20 {
			q.Set(name, t)
		}
	}
	http.Redirect(w, r, lotURL(v.Lot.ID)+"/look/sheet?"+q.Encode(), http.StatusSeeOther)
	return nil
}

// fillSheet writes which animals to take.
func fillSheet(sheet *page.Sheet, rng *rand.Rand, way string, alive, inNet int) error {
	if way == "count" {
		chosen, err := freedom.Choose(rng, alive, sheet.N)
		if err != nil {
			return err
		}
		sheet.Where = "Take animal"
		for i, x := range chosen {
			sheet.Rows = append(sheet.Rows, page.SheetRow{No: strconv.Itoa(i + 1), Where: "number " + words.Int(x)})
		}
		sheet.How = fmt.Sprintf("Count all %s over from one vessel to the other, one at a time and as they come. Look at those whose number stands here; the others go on. Nothing about an animal decides whether it is looked at.", words.Int(alive))
		sheet.Fair = "Every animal, slow or quick, has the same chance, and no animal is taken twice."
		return nil
	}
	catches, err := freedom.PlanCatches(rng, freedom.Spots{Across: 3, Deep: 2, Levels: 2}, sheet.N, inNet)
	if err != nil {
		return err
	}
	across, deep, level := []string{"left", "middle", "right"}, []string{"front", "back"}, []string{"high", "low"}
	sheet.Where = "Catch it, keep the … from the handle"
	for i, c := range catches {
		sheet.Rows = append(sheet.Rows, page.SheetRow{No: strconv.Itoa(i + 1), Where: fmt.Sprintf("%s %s, %s; the %s", deep[c.Back-1], across[c.Across-1], level[c.Level-1], ordinal(c.Keep))})
	}
	sheet.How = "Dip the net where the line says and keep one animal: count from the handle, and round again when there are fewer. Empty net: go on and come back to that line last. Keep those looked at in a cup until the end, so that none is taken twice."
	sheet.Fair = "A net still misses what hides in the moss. If you cannot reach those, tick “as caught” and write how many could be caught."
	return nil
}

func ordinal(n int) string {
	suffix := "th"
	switch {
	case n%100 >= 11 && n%100 <= 13:
	case n%10 == 1:
		suffix = "st"
	case n%10 == 2:
		suffix = "nd"
	case n%10 == 3:
		suffix = "rd"
	}
	return strconv.Itoa(n) + suffix
}
