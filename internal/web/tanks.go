package web

import (
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strings"

	"holdfast"
	"holdfast/desk"
	"holdfast/internal/web/page"
	"holdfast/internal/web/view"
	"holdfast/internal/web/words"
)

func tankURL(id string) string { return "/tanks/" + url.PathEscape(id) }

// tankCalled is a tank's name in a sentence: "Tank 14", or a name of its own.
func tankCalled(name string) string {
	if strings.HasPrefix(strings.ToLower(name), "tank") {
		return name
	}
	return "Tank " + name
}

func (s *Server) tanks(w http.ResponseWriter, r *http.Request) error {
	f, err := s.frame(r)
	if err != nil {
		return err
	}
	room, err := s.Desk.Room(r.Context())
	if err != nil {
		return err
	}
	t := roomPage(room)
	return s.page(w, r, http.StatusOK, page.Tanks(view.Page{Frame: f, Title: "Tanks", At: view.Tanks, Width: view.Full}, t))
}

var zoneCare = map[desk.Zone]string{
	desk.Clean: "First on the walk.", desk.Watched: "After the clear ones.",
	desk.Carrying: "Last. Own net, cup and towel.", desk.Standstill: "Sell nothing, move nothing, pour nothing away.",
}

// roomPage lays out the room in the order to walk: shared water each for
// itself, single tanks of one state together, empty single ones at the end.
func roomPage(room *desk.Room) page.TanksPage {
	t := page.TanksPage{None: len(room.Systems) == 0}
	free := page.TankSystem{Mark: view.NoMark, Name: "Free", Below: "For the next box. Wet glass, wood and gravel can carry what was in it last."}
	tanks, shared, single := 0, 0, -1
	for _, sys := range room.Systems {
		tanks += len(sys.Tanks)
		for _, o := range sys.Tanks {
			if len(o.Alarms) > 0 {
				t.Alarms = append(t.Alarms, page.Alarmed{Name: tankCalled(o.Name), URL: tankURL(o.ID), Says: failed(o.Alarms) + " failed and is not mended."})
			}
		}
		switch {
		case len(sys.Tanks) > 1:
			shared++
			one := page.TankSystem{Mark: zoneMarks[sys.Zone], Name: sys.ID, Shared: true, Panes: panes(sys),
				Below: fmt.Sprintf("%s. %d tanks, one water: if one has it, all do. %s", sys.Zone, len(sys.Tanks), zoneCare[sys.Zone])}
			if !slices.ContainsFunc(sys.Tanks, func(o desk.Occupied) bool { return len(o.Lots) > 0 }) {
				one.Mark, one.Below = view.NoMark, fmt.Sprintf("Free. %d tanks, one water: if one has it, all do.", len(sys.Tanks))
			}
			t.Systems = append(t.Systems, one)
			single = -1
		case len(sys.Tanks[0].Lots) == 0:
			free.Panes = append(free.Panes, panes(sys)...)
		default:
			if single < 0 || t.Systems[single].Mark != zoneMarks[sys.Zone] {
				single = len(t.Systems)
				t.Systems = append(t.Systems, page.TankSystem{Mark: zoneMarks[sys.Zone], Name: sys.Zone.String(), Below: "Each on its own water. " + zoneCare[sys.Zone]})
			}
			t.Systems[single].Panes = append(t.Systems[single].Panes, panes(sys)...)
		}
	}
	if len(free.Panes) > 0 {
		t.Systems = append(t.Systems, free)
	}
	if !t.None {
		t.Below = fmt.Sprintf("%s, %s, in the order to walk. Water goes down this page, never up.",
			words.Plural(tanks, "tank", "tanks"), words.Plural(shared, "shared water", "shared waters"))
	}
	return t
}

func panes(sys desk.System) []view.Pane {
	var out []view.Pane
	for _, o := range sys.Tanks {
		p := view.Pane{URL: tankURL(o.ID), No: o.Name, VolumeL: o.Litres, Fill: fillOf(o.Shape), Mark: view.Clear, Free: len(o.Lots) == 0}
		litres := words.Measure(o.Litres, 0, "L")
		if p.Free {
			p.Word, p.Line = useWords[o.Use], litres
		} else {
			p.Mark, p.Word = worstOf(o.Lots)
			p.Lives = o.Lots[0].Strain
			if n := len(o.Lots) - 1; n > 0 {
				p.Lives += fmt.Sprintf(" and %d more", n)
			}
			p.Line = words.Int(aliveIn(o)) + " alive, " + litres
		}
		if len(o.Alarms) > 0 {
			p.Mark, p.Word, p.Free = view.Late, failed(o.Alarms)+" failed", false
		}
		out = append(out, p)
	}
	return out
}

// worstOf is the state of the lot that decides how the tank is handled.
func worstOf(lots []holdfast.LotRow) (view.Mark, string) {
	rank := []view.Mark{view.Clear, view.Half, view.Held, view.Unlooked, view.Found, view.Late, view.Stop}
	words := map[view.Mark]string{view.Clear: "released", view.Half: "colony", view.Held: "held", view.Unlooked: "not looked",
		view.Found: "found", view.Late: "recalled", view.Stop: "stand still"}
	at := 0
	for _, l := range lots {
		mark, _ := lotNow{}.state(l)
		for i, m := range rank {
			if m == mark {
				at = max(at, i)
			}
		}
	}
	return rank[at], words[rank[at]]
}

// aliveIn is how many animals stand in the tank, as far as the places say.
func aliveIn(o desk.Occupied) int {
	n := 0
	for _, l := range o.Lots {
		for _, p := range l.Places {
			if p.Tank == o.ID {
				n += p.Count
			}
		}
	}
	return n
}

// fillOf is how high the water stands in the drawn glass.
func fillOf(s holdfast.Shape) float64 {
	if s.HeightCM > 0 && s.FillCM > 0 {
		return min(1, s.FillCM/s.HeightCM)
	}
	return 0.85
}

var useWords = map[string]string{"quarantine": "quarantine", "hospital": "hospital", "sale": "for sale", "other": "other use"}

var alarmWords = map[string]string{"air": "air", "heater": "the heater", "power": "power", "other": "something else"}

func failed(alarms []string) string {
	var all []string
	for _, a := range alarms {
		all = append(all, alarmWords[a])
	}
	say := strings.Join(all, " and ")
	return strings.ToUpper(say[:1]) + say[1:]
}
