package form_test

import (
	"math"
	"net/url"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"holdfast"
	"holdfast/internal/web/form"
)

func of(s string) *form.Form { return form.New(url.Values{"x": {s}}) }

func TestNumber(t *testing.T) {
	ph := form.Range{Low: 0, High: 14}
	cold := form.Range{Low: -5, High: 45, Unit: "°C"}
	for _, c := range []struct {
		typed string
		r     form.Range
		want  float64 // NaN: refused
		says  string
	}{
		{"7.4", ph, 7.4, ""}, {" 7,4 ", ph, 7.4, ""}, {"7", ph, 7, ""}, {".5", ph, .5, ""}, {"14", ph, 14, ""}, {"+7", ph, 7, ""},
		{"18.5 °C", cold, 18.5, ""}, {"18.5°c", cold, 18.5, ""}, {"\u22123", cold, -3, ""},
		{"1 200", form.Range{High: 5000}, 1200, ""}, {"1\u00a0200", form.Range{High: 5000}, 1200, ""},
		{"74", ph, math.NaN(), "Did you mean 7.4?"}, {"-1", ph, math.NaN(), "between 0 and 14"}, {"1e1", ph, math.NaN(), "not a number"},
		{"NaN", ph, math.NaN(), "not a number"}, {"Inf", ph, math.NaN(), "not a number"}, {"0x7", ph, math.NaN(), "not a number"},
		{"1,200.5", form.Range{High: 5000}, math.NaN(), "not a number"}, {"7.4.1", ph, math.NaN(), "not a number"}, {"seven", ph, math.NaN(), "not a number"},
		{"18.5 F", cold, math.NaN(), "Write it with digits in °C"}, {strings.Repeat("9", 500), ph, math.NaN(), "not a number"}, {"\xff\xfe", ph, math.NaN(), "not a number"},
		{strings.Repeat("x", 10<<20), ph, math.NaN(), "not a number"},
	} {
		f := of(c.typed)
		x := f.Number("x", c.r)
		switch {
		case math.IsNaN(c.want):
			if x != nil || !strings.Contains(f.Err("x"), c.says) {
				t.Errorf("%.40q: %v, says %q, want %q", c.typed, x, f.Err("x"), c.says)
			}
			if len(f.Err("x")) > 300 || !utf8.ValidString(f.Err("x")) {
				t.Errorf("%.40q: the fault is not fit to show: %.300q", c.typed, f.Err("x"))
			}
		case x == nil || *x != c.want || !f.OK():
			t.Errorf("%q: %v, want %v; says %q", c.typed, x, c.want, f.Err("x"))
		}
		if len(c.typed) < 32<<10 && f.Typed("x") != c.typed {
			t.Errorf("%.40q: what was typed is lost", c.typed)
		}
	}
}

func TestEmptyIsNotZero(t *testing.T) {
	f := of("  ")
	if f.Number("x", form.Range{High: 10}) != nil || f.Count("x", 0, 10, false) != nil || !f.OK() {
		t.Error("an empty field is a number or a fault")
	}
	if f.Number("x", form.Range{High: 10, Needed: true}) != nil || f.Err("x") == "" {
		t.Error("an empty field that is needed is no fault")
	}
}

func TestCount(t *testing.T) {
	if n := of("12").Count("x", 0, 20, true); n == nil || *n != 12 {
		t.Errorf("12 is %v", n)
	}
	for _, bad := range []string{"1.5", "-1", "21", "x"} {
		f := of(bad)
		if n := f.Count("x", 0, 20, true); n != nil || f.OK() {
			t.Errorf("%q counts as %v", bad, n)
		}
	}
}

func TestText(t *testing.T) {
	if s := of(" Blue\r\nvelvet ").Text("x", 40, true); s != "Blue\nvelvet" {
		t.Errorf("%q", s)
	}
	for _, bad := range []string{"", "  ", strings.Repeat("é", 41), "a\x00b", "\xff", "a\x1b[31m"} {
		f := of(bad)
		if s := f.Text("x", 40, true); s != "" || f.OK() {
			t.Errorf("%q kept as %q", bad, s)
		}
	}
}

func TestChoices(t *testing.T) {
	options := []string{"a", "b", "c"}
	f := form.New(url.Values{"x": {"c", "a", "a"}, "y": {"z"}})
	if got := f.Some("x", options); strings.Join(got, "") != "ac" || !f.OK() {
		t.Errorf("%v %v", got, f.Faults())
	}
	if f.OneOf("y", options, true) != "" || f.Err("y") == "" {
		t.Error("z is a choice")
	}
	f.Some("y", options)
	if len(f.Faults()) != 1 {
		t.Errorf("the first fault of a field does not stand alone: %v", f.Faults())
	}
}

func TestMoment(t *testing.T) {
	berlin := time.FixedZone("CET", 3600)
	now := time.Date(2026, 11, 25, 14, 0, 0, 0, berlin)
	early := now.AddDate(-1, 0, 0)
	if got := of("2026-11-25T13:30").Moment("x", berlin, early, now); !got.Equal(now.Add(-30 * time.Minute)) {
		t.Errorf("%v", got)
	}
	for bad, says := range map[string]string{"2026-11-26": "future", "2020-01-01": "too long ago", "25.11.2026": "not a day", "2026-13-01": "not a day", "99999-01-01": "not a day"} {
		f := of(bad)
		if got := f.Moment("x", berlin, early, now); !got.IsZero() || !strings.Contains(f.Err("x"), says) {
			t.Errorf("%q: %v, %q", bad, got, f.Err("x"))
		}
	}
}

func TestFaultsOfUseCases(t *testing.T) {
	f := of("1")
	f.Take(holdfast.Problems{{Field: "x", Message: "it is too many", Hint: "Count again."}, {Field: "x", Message: "second"}})
	if got := f.Err("x"); got != "It is too many. Count again." {
		t.Errorf("%q", got)
	}
}

func FuzzNumber(f *testing.F) {
	for _, s := range []string{"7.4", "7,4", "-", "+", ".", ",", "1 2", "٣", "1e9", "\u2212", "9°C", "°C", strings.Repeat("1", 60)} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, typed string) {
		g := of(typed)
		x := g.Number("x", form.Range{Low: -5, High: 45, Unit: "°C"})
		if x != nil && (math.IsNaN(*x) || *x < -5 || *x > 45) {
			t.Fatalf("%q read as %v", typed, *x)
		}
		if (x == nil) == (g.OK() && strings.TrimSpace(typed) != "") {
			t.Fatalf("%q: %v and fault %q", typed, x, g.Err("x"))
		}
		if !utf8.ValidString(g.Err("x")) {
			t.Fatalf("%q: the fault is not text", typed)
		}
	})
}
