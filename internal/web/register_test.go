package web

import (
	"net/http"
	"strings"
	"testing"
)

func TestRegisterPageAndWorkbook(t *testing.T) {
	s := newServer(t)
	if w := get(t, s, "/register"); w.Code != http.StatusOK || !strings.Contains(w.Body.String(), "Nothing came or went in these days.") {
		t.Errorf("empty register: status %d", w.Code)
	}
	lot := lotOf(t, s)
	if w := get(t, s, "/register"); !strings.Contains(w.Body.String(), "/lots/"+lot) {
		t.Errorf("the delivery is not in the register")
	}
	for _, q := range []string{"?from=yesterday", "?from=2026-13-40", "?from=2026-11-25&to=2020-01-01"} {
		if w := get(t, s, "/register"+q); w.Code != http.StatusBadRequest {
			t.Errorf("%s: status %d, want 400", q, w.Code)
		}
	}
	for _, path := range []string{"/register.xlsx", "/export.xlsx"} {
		w := get(t, s, path)
		if w.Code != http.StatusOK || !strings.HasPrefix(w.Body.String(), "PK") {
			t.Errorf("%s: status %d, not a workbook", path, w.Code)
		}
	}
}

func TestReferencePagesAreWired(t *testing.T) {
	s := newServer(t)
	for path, want := range map[string]int{"/reference": 200, "/reference/condition/rostrum_worm": 200, "/signs": 200, "/reference/condition/unicorn": 404} {
		if w := get(t, s, path); w.Code != want {
			t.Errorf("%s: status %d, want %d", path, w.Code, want)
		}
	}
}
