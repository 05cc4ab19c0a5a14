package e2e

import (
	"context"
	"slices"
	"strings"
	"testing"

	"holdfast"
)

// place is an address of the site, as routes.go writes it, and where it is
// looked at.
type place struct {
	pattern string
	// full are addresses in the invented shop.
	full func(w *world) []string
	// empty is the address in a shop with nothing in it; "" where there is
	// none, because the page is about something.
	empty string
}

func at(paths ...string) func(*world) []string {
	return func(*world) []string { return paths }
}

// places are all pages of the site. Whoever adds a page to routes.go adds it
// here; every test of this package that looks at pages then looks at it too.
var places = []place{
	{"GET /round", at("/round"), "/round"},
	{"GET /lots", at("/lots", "/lots?q=blue&sort=strain", "/lots?q=no+such+lot"), "/lots"},
	{"GET /lots/{id}", func(w *world) []string {
		var all []string
		for _, lot := range []string{w.held, w.found, w.released, w.suspected, w.unplaced, w.recalled, w.closed} {
			all = append(all, "/lots/"+lot)
		}
		return all
	}, ""},
	{"GET /lots/{id}/look", ofLot("/look"), ""},
	{"GET /lots/{id}/look/sheet", func(w *world) []string { return []string{"/lots/" + w.held + "/look/sheet?n=30&seed=1"} }, ""},
	{"GET /lots/{id}/reckoned", func(w *world) []string {
		return []string{"/lots/" + w.held + "/reckoned", "/lots/" + w.unplaced + "/reckoned"}
	}, ""},
	{"GET /lots/{id}/bench", func(w *world) []string {
		return []string{"/lots/" + w.bench + "/bench", "/lots/" + w.held + "/bench", "/lots/" + w.unplaced + "/bench"}
	}, ""},
	{"GET /lots/{id}/bench/animal/{no}", func(w *world) []string {
		return []string{"/lots/" + w.bench + "/bench/animal/1", "/lots/" + w.bench + "/bench/animal/2"}
	}, ""},
	{"GET /lots/{id}/bench/photo/{sha}", func(w *world) []string { return []string{"/lots/" + w.bench + "/bench/photo/" + w.shot + "?from=1"} }, ""},
	{"GET /lots/{id}/bench/scale", func(w *world) []string {
		return []string{"/lots/" + w.bench + "/bench/scale", "/lots/" + w.bench + "/bench/scale?photo=" + w.shot}
	}, ""},
	{"GET /lots/{id}/bench/stack/{sha}", func(w *world) []string { return []string{"/lots/" + w.bench + "/bench/stack/" + w.shot} }, ""},
	{"GET /lots/{id}/bench/second", func(w *world) []string { return []string{"/lots/" + w.bench + "/bench/second"} }, ""},
	{"GET /lots/{id}/bench/before", func(w *world) []string {
		return []string{"/lots/" + w.bench + "/bench/before", "/lots/" + w.unplaced + "/bench/before"}
	}, ""},
	{"GET /bench", at("/bench"), "/bench"},
	{"GET /lots/{id}/how", func(w *world) []string {
		return []string{"/lots/" + w.held + "/how", "/lots/" + w.found + "/how", "/lots/" + w.unplaced + "/how", "/lots/" + w.closed + "/how"}
	}, ""},
	{"GET /hour", at("/hour"), "/hour"},
	{"GET /looking", at("/looking"), "/looking"},
	{"GET /lots/{id}/record", func(w *world) []string {
		return []string{"/lots/" + w.found + "/record", "/lots/" + w.recalled + "/record", "/lots/" + w.suspected + "/record", "/lots/" + w.released + "/record"}
	}, ""},
	{"GET /lots/{id}/treat", ofLot("/treat"), ""},
	{"GET /lots/{id}/mix", func(w *world) []string {
		return append(ofLot("/mix?strength=50+%25")(w), "/lots/"+w.held+"/mix", "/lots/"+w.held+"/mix?strength=50+%25&who=lot", "/lots/"+w.found+"/mix?strength=50+mg+per+tablet&who=lot&change=30+%25+every+1+d")
	}, ""},
	{"GET /lots/{id}/dip", ofLot("/dip?water=23"), ""},
	{"GET /lots/{id}/treatments/{entry}", func(w *world) []string {
		l, err := w.Lot(context.Background(), w.found)
		if err != nil {
			return nil
		}
		var all []string
		for _, ev := range l.Events {
			if ev.Kind == holdfast.KindTreatment {
				all = append(all, "/lots/"+w.found+"/treatments/"+string(ev.ID))
			}
		}
		return all
	}, ""},
	{"GET /mix", at("/mix", "/mix?strength=5+%25+w/v&volume=12+gal_us&change=30+%25+every+1+d&for=6+d", "/mix?strength=&ingredient=areca&target=one+dose+per+40+l&volume=120+l"), "/mix"},
	{"GET /dip", at("/dip", "/dip?salt=30+g/l&bowl=2+cup_us&water=24&spoon=tbsp_us"), "/dip"},
	{"GET /ingredients", at("/ingredients"), "/ingredients"},
	{"GET /water", at("/water", "/water?do=harden&litres=100&from_gh=0&from_kh=0&gh=8&kh=3",
		"/water?do=pour&a_litres=20&a_temp_c=24&a_ph=7.4&a_kh_dh=4&b_litres=10&b_temp_c=22&b_ph=6.2&b_kh_dh=1",
		"/water?do=nitrate&rise=2&source=5&limit=30&every=7&now=60", "/water?do=chlorine&litres=10&chlorine=100"), "/water"},
	{"GET /acclimate", func(w *world) []string {
		bag := "/acclimate?bag_temp_c=18&bag_ph=6.4&bag_ec_us_cm=350&bag_tan_mg_l_n=3&bag_kh_dh=3&tank_temp_c=23&tank_ph=7.4&tank_ec_us_cm=450&tank_kh_dh=4&count=50&mass=0.2&bag_l=0.5&vessel_l=3&gas_l=1&hours=30"
		return []string{"/acclimate", "/acclimate?delivery=" + w.delivery + "&tank=" + w.tank, bag, bag + "&sheet=1"}
	}, "/acclimate"},
	{"GET /tanks/{id}/mix", func(w *world) []string { return []string{"/tanks/" + w.tank + "/mix?strength=50+%25"} }, ""},
	{"GET /lots/{id}/course", ofLot("/course"), ""},
	{"GET /beliefs/{id}", at("/beliefs/rostrum_worm", "/beliefs/ciliates"), "/beliefs/rostrum_worm"},
	{"GET /lots/{id}/sell", func(w *world) []string {
		return []string{"/lots/" + w.released + "/sell", "/lots/" + w.held + "/sell", "/lots/" + w.recalled + "/sell"}
	}, ""},
	{"GET /receive", at("/receive"), "/receive"},
	{"GET /deliveries/{id}", func(w *world) []string { return []string{"/deliveries/" + w.delivery} }, ""},
	{"GET /deliveries/{id}/papers", func(w *world) []string { return []string{"/deliveries/" + w.delivery + "/papers"} }, ""},
	{"GET /lots/{id}/sales/{entry}/papers", func(w *world) []string {
		l, err := w.Lot(context.Background(), w.recalled)
		if err != nil {
			return nil
		}
		var all []string
		for _, ev := range l.Events {
			if ev.Kind == holdfast.KindSale {
				all = append(all, "/lots/"+l.ID+"/sales/"+string(ev.ID)+"/papers")
			}
		}
		return all
	}, ""},
	{"GET /tanks", at("/tanks"), "/tanks"},
	{"GET /tanks/new", at("/tanks/new"), "/tanks/new"},
	{"GET /tanks/readings", at("/tanks/readings", "/tanks/readings?which=nitrogen"), "/tanks/readings"},
	{"GET /tanks/{id}", func(w *world) []string { return []string{"/tanks/" + w.tank, "/tanks/1", "/tanks/38"} }, ""},
	{"GET /tanks/{id}/edit", func(w *world) []string { return []string{"/tanks/" + w.tank + "/edit"} }, ""},
	{"GET /register", at("/register", "/register?from=2026-01-01&to=2026-03-31"), "/register"},
	{"GET /register/visit", at("/register/visit"), "/register/visit"},
	{"GET /settings", at("/settings"), "/settings"},
	{"GET /who", at("/who"), "/who"},
	{"GET /reference", at("/reference", "/reference?q=worm", "/reference?q=no+such+thing"), "/reference"},
	{"GET /reference/{what}/{id}", func(w *world) []string {
		return []string{"/reference/condition/rostrum_worm", "/reference/condition/" + w.own, "/reference/medicine/sodium_chloride_dip", "/reference/listed-disease/ihhnv"}
	}, "/reference/condition/rostrum_worm"},
	{"GET /reference/new", at("/reference/new"), "/reference/new"},
	{"GET /reference/own/{id}", func(w *world) []string { return []string{"/reference/own/" + w.own} }, ""},
	{"GET /signs", func(w *world) []string {
		return []string{"/signs", "/signs?site=rostrum&colour=white&lot=" + w.held, "/signs?lot=" + w.unplaced, "/signs?deaths=fast&form=flecks", "/signs?mark=dots&dots=8&rows=2&mm=0.2"}
	}, "/signs"},
	{"GET /signs/cases", at("/signs/cases"), "/signs/cases"},
	{"GET /signs/case", func(w *world) []string {
		return []string{"/signs/case?site=rostrum&form=finger&lot=" + w.held, "/signs/case?lot=" + w.found}
	}, "/signs/case"},
	{"GET /ask", func(w *world) []string { return []string{"/ask", "/ask?delivery=" + w.delivery} }, "/ask"},
}

// others are routes that answer with no page of their own: files, a redirect,
// a word for a supervisor. The sign-in page stands apart because it needs a
// password; it has a test of its own here.
var others = []string{"GET /{$}", "GET /photos/{sha}", "GET /photos/{sha}/view", "GET /joined/{name}", "GET /bench/crops.zip", "GET /register.xlsx", "GET /export.xlsx", "GET /beliefs/{id}/file", "GET /healthz", "GET /notices", "GET /a/",
	"GET /sign-in", "/"}

func ofLot(page string) func(*world) []string {
	return func(w *world) []string {
		return []string{"/lots/" + w.held + page, "/lots/" + w.found + page, "/lots/" + w.unplaced + page, "/lots/" + w.closed + page}
	}
}

// A page that is in routes.go and not in the table would be looked at by
// nobody.
func TestEveryPageIsInTheTable(t *testing.T) {
	s := open(t)
	known := map[string]bool{}
	for _, p := range places {
		if known[p.pattern] {
			t.Errorf("%s is in the table twice", p.pattern)
		}
		known[p.pattern] = true
	}
	for _, p := range others {
		known[p] = true
	}
	patterns := s.server.Patterns()
	for _, p := range patterns {
		if !known[p] && !strings.HasPrefix(p, "POST ") {
			t.Errorf("%s is in routes.go and not in the table of pages", p)
		}
	}
	for p := range known {
		if !slices.Contains(patterns, p) {
			t.Errorf("%s is in the table of pages and not in routes.go", p)
		}
	}
}
