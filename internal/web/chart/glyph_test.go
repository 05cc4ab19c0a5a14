package chart

import (
	"encoding/json"
	"net/http"
	"net/http/httptest"
	"strings"
	"testing"

	"holdfast/internal/web/assets"
	"holdfast/internal/web/webtest"
)

// The widths that labels are placed by are those the browser sets type with.
func TestGlyphWidths(t *testing.T) {
	set, err := assets.Load()
	if err != nil {
		t.Fatal(err)
	}
	s := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if !set.Serve(w, r) {
			w.Header().Set("Content-Type", "text/html; charset=utf-8")
			_, _ = w.Write([]byte(`<!doctype html><link rel="stylesheet" href="` + set.URL("desk.css") + `"><p>x`))
		}
	}))
	defer s.Close()
	b := webtest.New(t)
	b.Go(s.URL)

	var chars []string
	for c := ' '; c <= '~'; c++ {
		chars = append(chars, string(c))
	}
	for _, c := range moreGlyphs {
		chars = append(chars, string(c))
	}
	list, err := json.Marshal(chars)
	if err != nil {
		t.Fatal(err)
	}
	for _, cut := range []struct {
		name, font string
		widths     []uint16
	}{
		{"sans", "normal 400 1000px Desk", sansWidths[:]},
		{"sans bold", "normal 700 1000px Desk", sansBoldWidths[:]},
		{"serif", "italic 400 1000px Reckon", serifWidths[:]},
		{"serif bold", "italic 600 1000px Reckon", serifBoldWidths[:]},
	} {
		got := webtest.Eval[[]float64](b, `document.fonts.load(`+quote(cut.font)+`).then(() => `+string(list)+`.map((c) => {
			const e = document.createElement("span");
			e.style.font = `+quote(cut.font)+`;
			e.style.fontVariantNumeric = "tabular-nums lining-nums";
			e.style.whiteSpace = "pre";
			e.style.position = "absolute";
			e.textContent = c;
			document.body.append(e);
			const w = e.getBoundingClientRect().width;
			e.remove();
			return w;
		}))`)
		if len(got) != len(cut.widths) {
			t.Fatalf("%s: measured %d characters, the table has %d", cut.name, len(got), len(cut.widths))
		}
		for i, w := range got {
			if d := w - float64(cut.widths[i]); d > 2 || d < -2 {
				if strings.ContainsAny(chars[i], "≥≤µ½") {
					continue // not in the embedded subset: set in whatever the machine has
				}
				t.Errorf("%s %q: %v, table says %d", cut.name, chars[i], w, cut.widths[i])
			}
		}
	}
}

func quote(s string) string {
	b, err := json.Marshal(s)
	if err != nil {
		panic(err) // a string always has a JSON form
	}
	return string(b)
}
