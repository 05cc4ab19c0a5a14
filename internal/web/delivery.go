package web

import (
	"fmt"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"holdfast"
	"holdfast/desk"
	"holdfast/internal/web/page"
	"holdfast/internal/web/view"
	"holdfast/internal/web/words"
	"holdfast/science/water"
)

// delivery shows one delivery, and how many to look at first.
func (s *Server) delivery(w http.ResponseWriter, r *http.Request) error {
	ctx := r.Context()
	c, err := s.Desk.Consignment(ctx, r.PathValue("id"))
	if err != nil {
		return err
	}
	frame, err := s.frame(r)
	if err != nil {
		return err
	}
	d := page.Delivery{ID: c.ID, Supplier: c.Supplier, Day: words.FullDay(c.At.In(frame.Now.Location())), Note: c.Note}
	if c.Origin != "" {
		d.Origin = "Declared: " + strings.ReplaceAll(c.Origin, "_", " ") + "."
	}
	for _, x := range paperWords(c.Papers, arrivedPapers) {
		d.Papers = append(d.Papers, [2]string{words.Capital(x[0]), x[1]})
	}
	d.PapersURL = deliveryPapersURL(c.ID)
	d.AskURL = "/ask?delivery=" + url.QueryEscape(c.ID)
	for _, x := range desk.Declarations(c) {
		d.Declared = append(d.Declared, [2]string{x.Ask, ended(x.Answer) + " (" + backedWords[x.Backed] + ")"})
	}
	tankOf, species, why := "", "", false
	for _, id := range c.Lots {
		v, err := s.Desk.View(ctx, id)
		if err != nil {
			return err
		}
		line := page.DeliveryLot{URL: "/lots/" + id, ID: id, Strain: v.Lot.Strain,
			Counts: fmt.Sprintf("%s alive. %s on the list, %s dead on arrival.", words.Int(v.Lot.Alive.N), words.Int(v.Lot.Declared), words.Int(v.Lot.DOA))}
		if tanks := v.Lot.TankIDs(); len(tanks) > 0 {
			if tankOf == "" {
				tankOf, species = tanks[0], v.Lot.Species
			}
			line.Tanks = tankCalled(strings.Join(tanks, ", "))
		} else if v.Lot.Alive.N > 0 {
			line.PlaceURL = "/lots/" + id + "#place"
		}
		if len(v.Assessed) > 0 && v.Lot.LastLook == 0 {
			line.First = v.FirstLook()
			if head, _, ok := strings.Cut(line.First, ":"); ok && why { // why so many is said once
				line.First = head + "."
			}
			why = true
		}
		d.Lots = append(d.Lots, line)
	}
	d.Out = waysOut(c, tankOf, species)
	for _, b := range c.Bags {
		rows, says := bagRows(b)
		d.Bags, d.Ammonia = append(d.Bags, rows...), append(d.Ammonia, says...)
	}
	return s.page(w, r, http.StatusOK, page.DeliveryPage(view.Page{Frame: frame, Title: "Delivery " + c.ID, At: view.Receive, Width: view.Middle}, d))
}

// waysOut leads from each bag that was read to its way out, into the first tank
// that the delivery stands in.
func waysOut(c *holdfast.Consignment, tank, species string) []page.Link {
	var out []page.Link
	for i := range max(1, min(len(c.Bags), 6)) {
		q := url.Values{"delivery": {c.ID}, "bag": {strconv.Itoa(i)}}
		if tank != "" {
			q.Set("tank", tank)
			q.Set("species", species)
		}
		label := "Out of the bag"
		if len(c.Bags) > 1 {
			label = fmt.Sprintf("Out of bag %d", i+1)
		}
		out = append(out, page.Link{Label: label, URL: "/acclimate?" + q.Encode()})
	}
	return out
}

// bagRows lists what was measured, and what it means for ammonia when
// everything that needs was measured.
func bagRows(b holdfast.BagReading) (rows [][]string, says []string) {
	for _, x := range bagReadings {
		if v := *x.at(&b.Water); v != nil {
			rows = append(rows, []string{x.label, strings.TrimSpace(words.Number(*v, x.decimals) + " " + x.unit)})
		}
	}
	if b.PH == nil || b.TempC == nil || b.TAN == nil {
		return rows, []string{"Ammonia is worked out only when temperature, pH and total ammonia were all measured."}
	}
	var alk *float64
	if b.KH != nil {
		x := *b.KH * meqPerDH
		alk = &x
	}
	rise, err := water.AmmoniaWhenAired(*b.PH, *b.TempC, *b.TAN, alk)
	if err != nil {
		return rows, []string{sentence(err)}
	}
	says = append(says, fmt.Sprintf("Un-ionized ammonia in the bag now: %s mg/l as nitrogen. Keepers hold it below 0.02 (common practice).", words.Number(rise.Now.UnionizedMgLN, 4)))
	if rise.Aired == nil {
		return rows, append(says, "How far it rises when the bag is aired cannot be said: "+rise.Reason+". Move the animals to clean, matched water before airing the bag.")
	}
	return rows, append(says, fmt.Sprintf("Once aired, the pH settles near %s and it rises to %s mg/l: move the animals to clean, matched water before airing the bag.", words.Number(*rise.AiredPH, 1), words.Number(rise.Aired.UnionizedMgLN, 3)))
}

// meqPerDH turns German degrees of carbonate hardness into meq/l: 10 mg CaO a
// degree, 28.039 mg a milliequivalent.
const meqPerDH = 10 / 28.039
