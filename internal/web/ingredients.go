package web

import (
	"fmt"
	"net/http"
	"slices"
	"strings"

	"holdfast/desk"
	"holdfast/internal/web/page"
	"holdfast/internal/web/view"
	"holdfast/internal/web/words"
	known "holdfast/reference"
	"holdfast/science/water/dose"
)

// ingredients shows every active ingredient with its ranges, evidence, harms
// and sources.
func (s *Server) ingredients(w http.ResponseWriter, r *http.Request) error {
	fr, err := s.frame(r)
	if err != nil {
		return err
	}
	p := page.IngredientsPage{Cares: []string{
		"Never mix medicines. Between two of them four fifths of the water are changed and carbon runs, or three half-lives pass.",
		"Prescription rules, food-animal rules and welfare law differ by country: read the label, and ask an aquatic veterinarian before anything that is not sold for the purpose.",
	}}
	p.Table = view.Ledger{Caption: "Active ingredients side by side", Fold: true, Columns: []view.Column{{Label: "Ingredient"}, {Label: "Met in practice"}, {Label: "Kills"}, {Label: "Spares"}, {Label: "Harms"}, {Label: "Rests on"}}}
	for _, i := range dose.Ingredients() {
		item := ingredientItem(i)
		if i.Standing == dose.Never {
			p.Never = append(p.Never, item)
			continue
		}
		p.Rest = append(p.Rest, item)
		p.Table.Rows = append(p.Table.Rows, []view.Cell{{Text: i.Name, URL: "#" + i.ID}, {Text: usesWords(i)}, {Text: calledAll(i.Kills)}, {Text: calledAll(i.Spares)}, {Text: harmsWords(i)}, {Text: evidenceWords[i.Evidence]}})
	}
	return s.page(w, r, http.StatusOK, page.Ingredients(view.Page{Frame: fr, Title: "What must not be done", At: view.Tanks}, p))
}

var evidenceWords = map[string]string{"trial": "a trial on shrimp", "analogy": "trials on relatives", "practice": "common practice only"}

var standingWords = map[dose.Standing]string{dose.Usable: "In use, with its cautions", dose.Avoid: "Better not: more risk than gain for most", dose.Never: "Never: kills shrimp"}

var standingMarks = map[dose.Standing]view.Mark{dose.Usable: view.Clear, dose.Avoid: view.Half, dose.Never: view.Stop}

func usesWords(i dose.Ingredient) string {
	if len(i.Uses) == 0 {
		return "no range is known"
	}
	var out []string
	for _, u := range i.Uses {
		out = append(out, fmt.Sprintf("%s: %s to %s, %s to %s", u.Form, dose.MgLText(u.LowMgL), dose.MgLText(u.HighMgL), spanWords(u.HoursLow), spanWords(u.HoursHigh)))
	}
	return strings.Join(out, "; ")
}

func calledAll(ids []string) string {
	var out []string
	for _, id := range ids {
		out = append(out, words.MidSentence(desk.Called(id)))
	}
	if len(out) == 0 {
		return "–"
	}
	return strings.Join(out, ", ")
}

func harmsWords(i dose.Ingredient) string {
	var out []string
	for _, h := range i.Harms {
		out = append(out, companyWords[h.Whom])
	}
	if len(out) == 0 {
		return "–"
	}
	return strings.Join(out, ", ")
}

func ingredientItem(i dose.Ingredient) page.IngredientItem {
	item := page.IngredientItem{ID: i.ID, Name: i.Name, Active: i.Active, Mark: standingMarks[i.Standing], Standing: standingWords[i.Standing]}
	for _, h := range i.Harms {
		mark := view.Half
		if h.Level == dose.Refuse {
			mark = view.Stop
		}
		item.Facts = append(item.Facts, page.Fact{Mark: mark, Name: words.Capital(companyWords[h.Whom]) + ".", Says: h.Say + " (" + originOf(h.From) + ")"})
	}
	if slices.Contains(i.NotWith, "*") && i.Standing != dose.Never {
		item.Facts = append(item.Facts, page.Fact{Mark: view.Stop, Name: "Not with any other medicine.", Says: ""})
	}
	claim := func(head, say, from string) {
		item.Claims = append(item.Claims, page.Claim{Head: head, Say: say, From: known.Claim{From: from}.Origin()})
	}
	for _, u := range i.Uses {
		claim("As a "+u.Form, fmt.Sprintf("%s to %s for %s to %s; %s to begin with.", dose.MgLText(u.LowMgL), dose.MgLText(u.HighMgL), spanWords(u.HoursLow), spanWords(u.HoursHigh), dose.MgLText(u.UsualMgL)), u.From)
	}
	if sol := i.Solubility; sol != nil {
		say := fmt.Sprintf("A litre of water takes up %s, perhaps %s.", dose.MgLText(sol.LowMgL), dose.MgLText(sol.HighMgL))
		if i.Suspension {
			say += " It is used as a cloud of grains."
		}
		claim("Dissolves", say, sol.From)
	}
	if h := i.HalfLife; h != nil {
		claim("Fades", fmt.Sprintf("Half of it in %s days, seen from %s to %s.", words.Number(h.ValueD, 1), words.Number(h.LowD, 1), words.Number(h.HighD, 1)), h.From)
	}
	for _, n := range i.Notes {
		claim(noteWords[n.About], n.Say, n.From)
	}
	switch {
	case i.Standing == dose.Never || i.Use("tools") != nil:
	case i.Use("bath") == nil && i.Use("dip") != nil:
		item.MixURL = "/dip"
	default:
		item.MixURL = "/mix?ingredient=" + i.ID
	}
	return item
}
