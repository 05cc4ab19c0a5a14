package e2e

import (
	"fmt"
	"net/http/httptest"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"holdfast"
	"holdfast/internal/door"
	"holdfast/internal/web"
	"holdfast/internal/web/webtest"
)

// Every page in its full, empty and error state, at both sizes in light and
// dark: axe-core finds no serious fault and nothing scrolls sideways.
func TestEveryPageForEverybody(t *testing.T) {
	b := webtest.New(t)
	t.Run("full", func(t *testing.T) {
		w := newWorld(t)
		b := b.For(t)
		for _, p := range places {
			for _, path := range p.full(w) {
				shown(t, b, w.url, path)
				b.AsItStands(path)
				b.Targets(path)
				b.Look(webtest.Small, webtest.Light)
				b.NoSideScroll(path + "-small")
			}
		}
		mapping(t, b, w.url)
		b.AsItStands("packing list")
		b.Quiet("full")
	})
	t.Run("empty", func(t *testing.T) {
		s := open(t)
		b := b.For(t)
		for _, p := range places {
			if p.empty != "" {
				shown(t, b, s.url, p.empty)
				b.AsItStands("empty " + p.empty)
			}
		}
		b.Quiet("empty")
	})
	t.Run("error", func(t *testing.T) { everyFormWrong(t, b.For(t)) })
	t.Run("problem", func(t *testing.T) { problemPages(t, b.For(t)) })
	t.Run("sign-in", func(t *testing.T) { signIn(t, b.For(t)) })
}

// shown opens a page and fails if it is another one.
func shown(t *testing.T, b *webtest.Browser, url, path string) {
	t.Helper()
	b.Go(url + path)
	if h := b.Text("main h1"); h == "" || h == "Not found" || b.Path() != path {
		t.Errorf("%s shows %s, headed %q", path, b.Path(), h)
	}
}

// mapping opens the page on which columns get their meaning, for a list with
// faults.
func mapping(t *testing.T, b *webtest.Browser, url string) {
	t.Helper()
	file := filepath.Join(t.TempDir(), "list.csv")
	if err := os.WriteFile(file, []byte(packingList+"Blue velvet;many;0,40;2\n;20;;2\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	b.Go(url + "/receive")
	b.Type("#upload [name=supplier]", "Invented Farm")
	b.Upload("#upload [name=file]", file)
	b.Press("Read the list")
	if n := count(b, "#mapping select"); n == 0 {
		t.Fatalf("no columns to give a meaning: %s", b.Text("main"))
	}
}

// everyFormWrong fills every form of every page with what cannot be, sends it,
// and looks at the answer.
func everyFormWrong(t *testing.T, b *webtest.Browser) {
	w := newWorld(t)
	seen := map[string]bool{}
	answered := 0
	for _, p := range places {
		for _, path := range p.full(w) {
			b.Go(w.url + path)
			for i, key := range webtest.Eval[[]string](b, `[...document.querySelectorAll("main form")].map((f) => f.method !== "post" ? "" :
				new URL(f.action).pathname.split("/").filter((p) => !/\d/.test(p)).join("/") + " " + [...new Set([...f.elements].map((e) => e.name))].join(","))`) {
				if key == "" || seen[key] {
					continue
				}
				seen[key] = true
				b.Go(w.url + path)
				// The button is pressed by script, so that a form in a folded part
				// is sent too; wrong numbers, a text too long, nothing chosen.
				sent := webtest.Eval[bool](b, fmt.Sprintf(`((f) => {
					let n = 0;
					for (const e of f.elements) {
						if (e.matches("input[type=hidden],input[type=file],input[type=radio],input[type=checkbox],button,select")) continue;
						e.value = e.tagName === "TEXTAREA" ? "x".repeat(6000) : "-1e999 gallons"; n++;
					}
					const press = f.querySelector("button[type=submit],button:not([type])");
					if (n === 0 || !press) return false;
					f.noValidate = true; f.requestSubmit(press); return true;
				})(document.querySelectorAll("main form")[%d])`, i))
				if !sent {
					continue
				}
				b.Settle()
				what := "wrong " + key
				if b.Text("main h1") == "" {
					t.Errorf("%s: no page came back", what)
				}
				b.AsItStands(what)
				answered++
				for _, c := range b.Complaints() {
					if !strings.Contains(c, "40") && !strings.Contains(c, "422") { // a refused form is a failed load to the console
						t.Errorf("%s: console: %s", what, c)
					}
				}
			}
		}
	}
	if answered < 20 {
		t.Errorf("only %d forms were answered", answered)
	}
	t.Logf("%d forms sent with what cannot be", answered)
}

// problemPages looks at the pages for what went wrong.
func problemPages(t *testing.T, b *webtest.Browser) {
	w := newWorld(t)
	post := func(path string, values ...string) {
		t.Helper()
		b.Go(w.url + "/who")
		webtest.Eval[bool](b, fmt.Sprintf(`((path, values) => {
			const f = document.createElement("form");
			f.method = "post"; f.action = path;
			for (let i = 0; i < values.length; i += 2) {
				const e = document.createElement("input");
				e.name = values[i]; e.value = values[i+1]; f.append(e);
			}
			document.body.append(f); f.submit(); window.posting = true; return true;
		})(%q, %s)`, path, quoted(values)))
		for range 100 { // until the next document stands
			if webtest.Eval[bool](b, `!window.posting && document.readyState === "complete"`) {
				return
			}
			b.Settle()
		}
		t.Errorf("%s: no answer", path)
	}
	fresh := func() string {
		id, err := w.NewID()
		if err != nil {
			t.Fatal(err)
		}
		return string(id)
	}
	for heading, open := range map[string]func(){
		"Not found":            func() { b.Go(w.url + "/nowhere") },
		"That cannot be right": func() { post("/undo", "entry", "zzz") },
		"Somebody was there first": func() { // one number on two different forms
			id, entries := fresh(), newest(t, w.shop, 2)
			post("/undo", "id", id, "entry", entries[0])
			post("/undo", "id", id, "entry", entries[1])
		},
		"Too much at once": func() { post("/who", "name", strings.Repeat("x", 300<<10)) },
	} {
		open()
		if h := b.Text("main h1"); h != heading {
			t.Errorf("%s is headed %q, want %q", b.Path(), h, heading)
		}
		b.AsItStands(heading)
	}
	// A job that is not on the round any more, and a gate that refuses.
	post("/round/tick", "id", fresh(), "task", "dead/nothing/today", "do", "none")
	contains(t, b, "#strips", "Nothing was recorded.")
	b.AsItStands("conflict on the round")
	post("/lots/"+w.suspected+"/release", "id", fresh(), "override", "Because I want to sell them today.")
	contains(t, b, "main", "hold everything")
	b.AsItStands("refused at the gate")
	b.Complaints()
}

// newest are the ids of the newest entries.
func newest(t *testing.T, s *shop, n int) []string {
	t.Helper()
	head, _, err := s.Store.Head(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	var ids []string
	if err := s.Store.Each(t.Context(), head-int64(n), func(e holdfast.Entry) error { ids = append(ids, string(e.ID)); return nil }); err != nil {
		t.Fatal(err)
	}
	return ids
}

func quoted(values []string) string {
	all := make([]string, len(values))
	for i, v := range values {
		all[i] = fmt.Sprintf("%q", v)
	}
	return "[" + strings.Join(all, ",") + "]"
}

// signIn looks at the door: asked, refused, and a page shut in the meantime.
func signIn(t *testing.T, b *webtest.Browser) {
	s := open(t)
	dir := t.TempDir()
	if err := door.Set(dir, "a long enough password"); err != nil {
		t.Fatal(err)
	}
	d, err := door.Open(dir)
	if err != nil {
		t.Fatal(err)
	}
	server, err := web.New(web.Config{Desk: s.Desk, Door: d})
	if err != nil {
		t.Fatal(err)
	}
	ts := httptest.NewServer(server)
	defer ts.Close()
	b.Go(ts.URL + "/lots")
	if !strings.HasPrefix(b.Path(), "/sign-in") {
		t.Fatalf("nobody is asked to sign in: %s", b.Path())
	}
	b.AsItStands("sign-in")
	b.Type("[name=password]", "wrong")
	b.Send("main button[type=submit]")
	b.AsItStands("sign-in refused")
	b.Type("[name=password]", "a long enough password")
	b.Send("main button[type=submit]")
	if b.Path() != "/lots" {
		t.Errorf("signed in, and shown is %s", b.Path())
	}
	b.AsItStands("signed in")
	b.Complaints()
}
