package web

import (
	"net/http"
	"slices"
	"time"

	"holdfast"
	"holdfast/desk"
	"holdfast/internal/web/form"
	"holdfast/internal/web/page"
	"holdfast/internal/web/view"
	"holdfast/internal/web/words"
)

// watersOf are the sets of readings that one walk takes.
var watersOf = []struct {
	name, label string
	readings    []reading
}{
	{"daily", "Temperature, pH, conductivity", someReadings("temp_c", "ph", "ec_us_cm")},
	{"nitrogen", "Ammonia, nitrite, nitrate", someReadings("tan_mg_l_n", "no2_mg_l", "no3_mg_l")},
	{"hardness", "Hardness and oxygen", someReadings("gh_dh", "kh_dh", "o2_mg_l")},
}

// watersCalled are the readings with their units, so short that three stand side
// by side on a phone.
var watersCalled = map[string]string{"temp_c": "Temperature, °C", "ph": "pH", "ec_us_cm": "µS/cm at 25 °C", "gh_dh": "GH, °dH", "kh_dh": "KH, °dH",
	"tan_mg_l_n": "Ammonia, mg/l N", "no2_mg_l": "Nitrite, mg/l", "no3_mg_l": "Nitrate, mg/l", "o2_mg_l": "Oxygen, mg/l"}

// waters answers GET /tanks/readings: one line for each tank, in the order of
// the walk.
func (s *Server) waters(w http.ResponseWriter, r *http.Request) error {
	return s.watersShown(w, r, http.StatusOK, form.New(r.URL.Query()))
}

func (s *Server) watersShown(w http.ResponseWriter, r *http.Request, status int, f *form.Form) error {
	fr, err := s.frame(r)
	if err != nil {
		return err
	}
	room, err := s.Desk.Room(r.Context())
	if err != nil {
		return err
	}
	entry, err := s.formID(f)
	if err != nil {
		return err
	}
	at := watersAt(f)
	set := watersOf[at]
	p := page.Waters{Form: view.Form{Action: "/tanks/readings", ID: "readings", Entry: string(entry), Guard: true, Hidden: []view.Pair{{Name: "which", Value: set.name}}},
		At: view.Field{Name: "at", Label: "When, if not just now", Value: f.Typed("at"), Err: f.Err("at")}}
	for i, x := range watersOf {
		p.Which = append(p.Which, view.Sieve{Label: x.label, Count: -1, Current: i == at, URL: "/tanks/readings?which=" + x.name})
	}
	fields := []view.Field{p.At}
	for _, sys := range room.Systems {
		for _, o := range sys.Tanks {
			line := page.WaterLine{Name: tankCalled(o.Name), Before: before(o, set.readings, fr.Now)}
			for _, k := range set.readings {
				name := k.name + "_" + o.ID
				line.Fields = append(line.Fields, view.Field{Name: name, Label: watersCalled[k.name], Value: f.Typed(name), Err: f.Err(name)})
			}
			fields = append(fields, line.Fields...)
			p.Lines = append(p.Lines, line)
		}
	}
	p.Faults = view.Faults(fields...)
	for _, q := range f.Faults() {
		if q.Field == "readings" {
			p.Faults = append(p.Faults, view.Fault{ID: "readings", Label: "Readings", Message: words.Capital(q.Message) + ". " + q.Hint})
		}
	}
	return s.page(w, r, status, page.WatersPage(view.Page{Frame: fr, Title: "Readings", At: view.Tanks, Width: view.Middle}, p))
}

// watersAt is which set of readings is asked for.
func watersAt(f *form.Form) int {
	for i, x := range watersOf {
		if x.name == f.Typed("which") {
			return i
		}
	}
	return 0
}

// before says what was last measured of these kinds, so that a slip shows.
func before(o desk.Occupied, kinds []reading, now time.Time) string {
	if o.Last == nil {
		return ""
	}
	only := holdfast.Water{}
	for _, k := range kinds {
		*k.at(&only) = *k.at(o.Last)
	}
	if only.Empty() {
		return ""
	}
	return "Last " + tellWater(only) + ", " + words.ShortDay(o.LastAt.In(now.Location()))
}

// watersSave records every line in which something stands, all or nothing.
func (s *Server) watersSave(w http.ResponseWriter, r *http.Request) error {
	by, err := s.author(r)
	if err != nil {
		return err
	}
	zone, err := s.Desk.Zone(r.Context())
	if err != nil {
		return err
	}
	tanks, err := s.Desk.Store.Tanks(r.Context())
	if err != nil {
		return err
	}
	f := form.New(r.PostForm)
	now := s.Desk.Now()
	by.At = f.Moment("at", zone, now.Add(-20*365*24*time.Hour), now)
	kinds := watersOf[watersAt(f)].readings
	var all []desk.TankReading
	for _, t := range tanks {
		own := slices.Clone(kinds)
		for i := range own {
			own[i].name += "_" + t.ID
		}
		all = append(all, desk.TankReading{Tank: t.ID, Water: readWater(f, own)})
	}
	if f.OK() {
		id, err := s.Desk.MeasureMany(r.Context(), by, all)
		if err == nil {
			return s.recordedTogether(w, r, "/tanks", "", id)
		}
		if _, _, err := refusal(f, err); err != nil {
			return err
		}
	}
	return s.watersShown(w, r, http.StatusBadRequest, f)
}
