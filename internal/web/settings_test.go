package web_test

import (
	"net/http"
	"reflect"
	"strings"
	"testing"

	"holdfast"
	"holdfast/internal/web"
	"holdfast/internal/web/webtest"
)

// settled are the settings' fields as the page shows them.
func settled(a answer, typed ...string) map[string][]string {
	v := a.sent("main form")
	for _, n := range a.All(`main form input[type="text"]`) {
		v.Set(webtest.Attr(n, "name"), webtest.Attr(n, "value"))
	}
	v.Set("line", webtest.Attr(a.One(`main form input[name="line"][checked]`), "value"))
	for i := 0; i < len(typed); i += 2 {
		v.Set(typed[i], typed[i+1])
	}
	return v
}

func TestSettingsKeptUnchangedAreTheSame(t *testing.T) {
	d := ticking(newDesk(t))
	v := serve(t, web.Config{Desk: d})
	want(t, v.post("/settings", settled(want(t, v.get("/settings"), http.StatusOK))), http.StatusSeeOther)
	got, err := d.Settings(t.Context())
	if err != nil || !reflect.DeepEqual(got, holdfast.DefaultSettings()) {
		t.Errorf("%+v, want the defaults %+v (%v)", got, holdfast.DefaultSettings(), err)
	}
}

func TestSettingsAreChanged(t *testing.T) {
	d := ticking(newDesk(t))
	v := serve(t, web.Config{Desk: d})
	a := v.get("/settings")
	form := settled(a, "name", "Reed & Glass", "zone", "Europe/Berlin", "currency", "gbp", "line", "bag", "clear_line", "97,5", "bag_line", "0.5 %", "bag_size", "12", "days_here", "35", "week_death_share", "2")
	for range 2 {
		want(t, v.post("/settings", form), http.StatusSeeOther)
	}
	s, err := d.Settings(t.Context())
	wanted := holdfast.DefaultSettings()
	wanted.Name, wanted.Zone, wanted.Currency, wanted.Line = "Reed & Glass", "Europe/Berlin", "GBP", holdfast.LineBag
	wanted.ClearLine, wanted.BagLine, wanted.BagSize, wanted.DaysHere, wanted.WeekDeathShare = 0.975, 0.005, 12, 35, 0.02
	if err != nil || !reflect.DeepEqual(s, wanted) {
		t.Errorf("%+v, want %+v (%v)", s, wanted, err)
	}
	// 10 bags of 0.5 % each: at most 5 % by Boole's inequality.
	if say := strings.ReplaceAll(v.get("/settings").body, "\u00a0", " "); !strings.Contains(say, "at least one buyer gets it can be as high as 5 %") {
		t.Error("the page does not say what the line on the bag means for all buyers")
	}
	if n := len(v.get("/lots").All("main")); n != 1 {
		t.Error("the list of lots does not stand a line on the bag")
	}
}

func TestWrongSettingsChangeNothing(t *testing.T) {
	d := ticking(newDesk(t))
	v := serve(t, web.Config{Desk: d})
	a := v.get("/settings")
	for name, bad := range map[string]string{
		"name": "", "zone": "Mars/Base", "currency": "EURO", "clear_line": "100", "bag_line": "0", "bag_size": "2.5", "days_here": "-1",
		"look_within_days": "soon", "look_size": "0", "week_death_share": "", "line": "moon",
	} {
		b := want(t, v.post("/settings", settled(a, name, bad)), http.StatusBadRequest)
		b.One("#" + name + "-err")
		if name != "line" {
			if got := webtest.Attr(b.One("#"+name), "value"); got != bad {
				t.Errorf("%s: came back as %q, typed %q", name, got, bad)
			}
		}
	}
	if s, err := d.Settings(t.Context()); err != nil || !reflect.DeepEqual(s, holdfast.DefaultSettings()) {
		t.Errorf("wrong forms changed the settings to %+v (%v)", s, err)
	}
}
