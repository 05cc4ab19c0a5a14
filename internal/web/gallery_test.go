package web_test

import (
	"context"
	"io"
	"net/http"
	"net/http/httptest"
	"os"
	"strings"
	"testing"
	"time"

	"github.com/a-h/templ"

	"holdfast/internal/web/assets"
	"holdfast/internal/web/chart"
	"holdfast/internal/web/chart/sample"
	"holdfast/internal/web/view"
	"holdfast/internal/web/webtest"
	"holdfast/internal/web/words"
)

// galleryServer shows every component as pages need them, under the product's
// own content policy, for the browser tests below. It is not in the product.
func galleryServer(t *testing.T) *httptest.Server {
	t.Helper()
	set, err := assets.Load()
	if err != nil {
		t.Fatal(err)
	}
	mux := http.NewServeMux()
	mux.HandleFunc("GET "+assets.Prefix, func(w http.ResponseWriter, r *http.Request) {
		if !set.Serve(w, r) {
			http.NotFound(w, r)
		}
	})
	frame := view.Frame{Assets: set, Now: time.Date(2026, 11, 25, 14, 10, 0, 0, time.UTC), Who: "Mara"}
	for name, build := range galleries() {
		mux.HandleFunc("GET /"+name, func(w http.ResponseWriter, r *http.Request) {
			w.Header().Set("Content-Security-Policy", "default-src 'none'; style-src 'self'; script-src 'self'; font-src 'self'; img-src 'self'; connect-src 'self'; form-action 'self'")
			w.Header().Set("Content-Type", "text/html; charset=utf-8")
			f := frame
			if name == "parts" {
				f.Strips = []view.Strip{
					view.UndoStrip("6 moults pulled in tank 14.", "a", "b", "/round"),
					{Mark: view.Stop, Alarm: true, Bold: "Everything is held.", Rest: "Sell nothing, move nothing, pour nothing away. Call the authority, then your vet. Tanks 14, 7 and 21 touched this water."},
				}
			}
			p := view.Page{Frame: f, Title: "Gallery", At: view.Lots}
			if err := build(p).Render(r.Context(), w); err != nil {
				t.Error(err)
			}
		})
	}
	ticked := false
	ticks := func(w http.ResponseWriter, r *http.Request) {
		p := view.Page{Frame: frame, Title: "Ticks", At: view.Round}
		job := view.Job{Form: view.Form{Action: "/ticks", ID: "j1", Swap: true}, What: "Pull every moult"}
		if ticked {
			p.Strips = []view.Strip{view.UndoStrip("Moults pulled.", "a", "b", "/ticks")}
			job.Done = "Mara, 14:10"
		}
		if err := in(view.Layout(p), view.Top("", "Ticks", nil), view.JobRow(job)).Render(r.Context(), w); err != nil {
			t.Error(err)
		}
	}
	mux.HandleFunc("GET /ticks", ticks)
	mux.HandleFunc("POST /ticks", func(w http.ResponseWriter, r *http.Request) {
		ticked = r.FormValue("do") == "tick"
		http.Redirect(w, r, "/ticks?did=a", http.StatusSeeOther)
	})
	s := httptest.NewServer(mux)
	t.Cleanup(s.Close)
	return s
}

// in renders a component with children.
func in(parent templ.Component, children ...templ.Component) templ.Component {
	return templ.ComponentFunc(func(ctx context.Context, w io.Writer) error {
		return parent.Render(templ.WithChildren(ctx, templ.Join(children...)), w)
	})
}

func say(s string) templ.Component {
	return templ.ComponentFunc(func(_ context.Context, w io.Writer) error {
		_, err := io.WriteString(w, templ.EscapeString(s))
		return err
	})
}

func galleries() map[string]func(view.Page) templ.Component {
	return map[string]func(view.Page) templ.Component{
		"parts":   parts,
		"fields":  fields,
		"charts":  charts,
		"round":   roundGallery,
		"lots":    lotsGallery,
		"tanks":   tanksGallery,
		"problem": problemGallery,
		"signin": func(p view.Page) templ.Component {
			p.Shut, p.At, p.Width = true, view.Nowhere, view.Narrow
			return view.SignIn(p, view.Field{Name: "password", Label: "Password", Err: "That is not the password of this desk."}, "/lots")
		},
	}
}

func problemGallery(p view.Page) templ.Component {
	p.At, p.Width = view.Nowhere, view.Middle
	return view.ProblemPage(p, view.Problem{Status: 404, Heading: "There is no such page.", Wrong: "Nothing stands at /lots/nowhere.", Kept: "Nothing was changed.", Next: "See all lots", NextURL: "/lots"})
}

func parts(p view.Page) templ.Component {
	var marks []templ.Component
	for m := view.Clear; m <= view.NoSignal; m++ {
		marks = append(marks, view.State(m, ""), say(" "))
	}
	return in(view.Layout(p),
		in(view.Top("Tank 14 · Ninefold Pond Farm · 37 days here", "Blue velvet 1910", view.State(view.Found, "Held. Rostrum worm found. 187 alive of 200.")),
			view.Numbers(
				view.Big{Number: words.Percent(.27), Before: "likely clear", Bold: "of the rostrum worm", Below: words.PercentRange(.24, .31)},
				view.Big{Number: "34", Before: "of 100", Bold: "bags of ten", After: "would carry it", Below: "on 25 Jan: 3 of 100"},
			)),
		view.Conditions([]view.Condition{
			{Mark: view.Found, Name: "Rostrum worm", Chance: words.Percent(.27)},
			{Mark: view.Clear, Name: "Segmented worm", Chance: words.Percent(.97), Seen: "none on 40"},
			{Mark: view.Unlooked, Name: "Gill ciliates", Seen: "not looked"},
		}),
		in(view.Sec("marks", "State marks"), templ.Join(marks...)),
		in(view.Care(), say("Gloves and eye protection. Try it on five animals first and watch them for an hour.")),
		in(view.CareStop(), say("Copper kills shrimp in traces. Do not use this tank.")),
		in(view.Sec("", "Release"),
			in(view.GateList(view.Gate{Heading: "Release",
				Unmet: []view.Need{
					{Mark: view.Held, What: "At least 95 % likely clear of the rostrum worm", Say: "Not yet.", Reck: "Now 27 %. This course gets to 85 % on 25 Jan.", Link: "Other exits", URL: "/lots/x#exits"},
					{Mark: view.Unlooked, What: "Gill ciliates: not looked", Say: "Its gills were never seen. 30 animals, right and left."},
					{Mark: view.Held, What: "14 days since the last dose", Say: "Bath 4 ends 5 Dec; met 19 Dec."},
				},
				Met: []view.Need{{What: "28 days here"}, {What: "Deaths below the limit", Say: "1 in 7 days"}},
			}), view.ShutButton("Held. Opens when 3 are met", view.Held))),
		in(view.Sec("", "Journal"),
			view.Table(view.Ledger{Caption: "Journal", Fold: true,
				Columns: []view.Column{{Label: "When"}, {Label: "What"}, {Label: "Alive", Num: true}, {Label: "Who", Num: true}},
				Rows: [][]view.Cell{
					{{Text: "25 Nov 08:05"}, {Text: "Pulled 6 moults."}, {Text: "187"}, {Text: "Jo"}},
					{{Text: "21 Nov 09:10"}, {Text: "Bath 3 ended: all conditions held.", Below: "Corrects the entry of 08:50, which said tank 7."}, {Text: "188", Reck: true}, {Text: "Mara"}},
					{{Text: "20 Oct 15:40", URL: "/lots/x"}, {Text: "Looked at 40: worms on 3.", Needs: true}, {Text: "–"}, {Text: "Mara"}},
				}}),
			view.Table(view.Ledger{Caption: "Money", Columns: []view.Column{{Label: "What"}, {Label: "Amount", Num: true}},
				Rows: [][]view.Cell{{{Text: "Landed, per living animal"}, {Text: words.Money(231, "EUR")}}, {{Text: "Each further day"}, {Text: words.Money(260, "EUR"), Reck: true}}},
				Sum:  []view.Cell{{Text: "Together"}, {Text: words.Money(123456789, "EUR")}}}),
			view.Pages(view.Pager{From: 51, To: 100, Total: 1240, What: "entries", Prev: "/a", Next: "/b"})),
		in(view.Empty(view.Bag, "No lots yet.", "A lot begins when you open a box. Have the bag, a thermometer, a pH and an ammonia test by you. It takes about four minutes."), view.Go("Open a box", "/receive", view.Main)),
		in(view.Empty(view.Glass, "No tanks yet.", "Measure the first one."), view.Go("Add a tank", "/tanks", view.Plain)),
		in(view.Empty(view.Net, "Nothing more today.", "21 of 21 done, the last at 14:52 by Jo."), view.Go("See tomorrow", "/round", view.Plain)),
		in(view.Empty(view.Shrimp, "Nobody has looked yet.", "Pick 25 by lot."), view.Go("Look", "/lots", view.Plain)),
	)
}

func fields(p view.Page) templ.Component {
	ph := view.Field{Name: "ph", Label: "Tank pH", Value: "74", Err: "pH 74 cannot be. Did you mean 7.4?"}
	alive := view.Field{Name: "alive", Label: "Alive", Value: "", Hint: "Counted, or leave empty", Err: "Say how many are alive."}
	return in(view.Layout(p),
		view.Top("Consignment from Ninefold Pond Farm, 25 Nov", "Open a box", nil),
		view.FaultList(view.Faults(ph, alive)),
		in(view.Send(view.Form{Action: "/receive", ID: "receive", Entry: "0193", Guard: true, Upload: true}),
			in(div("fields"),
				view.Text(view.Field{Name: "strain", Label: "Strain", Value: "Blue velvet", List: []string{"Blue velvet", "Amano"}, Half: true}),
				view.Number(view.Field{Name: "ordered", Label: "Ordered", Value: "200"}),
				view.Number(alive),
				view.Number(view.Field{Name: "temp", Label: "Bag temperature", Value: "18.5", Unit: "°C"}),
				view.Number(ph),
				view.Number(view.Field{Name: "nh", Label: "Ammonia test", Value: "3.2", Unit: "mg/l", Hint: "as N"}),
				view.Date(view.Field{Name: "day", Label: "Came on", Value: "2026-11-25"}),
				view.DateTime(view.Field{Name: "at", Label: "Opened at", Value: "2026-11-25T14:10", Half: true}),
				view.Select(view.Field{Name: "unit", Label: "Kept in", Value: "b"}, []view.Option{{Value: "a", Label: "Tank 16"}, {Value: "b", Label: "Tank 18"}})),
			view.Area(view.Field{Name: "note", Label: "Note", Hint: "What would help the next person?"}),
			view.File(view.Field{Name: "list", Label: "Packing list", Hint: "XLSX or CSV, 10 MB at most"}, ".xlsx,.csv", false),
			view.Choose(view.Field{Name: "tank", Label: "Where to put them", Value: "16"}, []view.Option{
				{Value: "16", Label: "Tank 16", Below: "54 L, own filter, empty since 2 Nov and dry 9 days", Right: "alone"},
				{Value: "18", Label: "Tank 18", Below: "44 L, shares water with 17, empty", Right: "2 tanks"},
				{Value: "14", Label: "Tank 14", No: "Same strain, but carrying. Lots are not mixed.", Right: "no"},
			}),
			view.Ticks(view.Field{Name: "cond", Label: "Conditions that held"}, []view.Option{{Value: "c", Label: "Carbon was out"}, {Value: "l", Label: "Light was off", Below: "for the whole bath"}}, map[string]bool{"c": true}),
			view.Count(view.Field{Name: "dead", Label: "Dead"}),
			view.Count(view.Field{Name: "moults", Label: "Moults pulled", Value: "4"}),
			view.Sides(12, []view.Side{{Name: "left", Label: "Left", Seen: true}, {Name: "right", Label: "Right", Seen: true}, {Name: "belly", Label: "Belly"}, {Name: "head", Label: "Head", Seen: true}}),
			view.Says("finding", "What is on it?", []view.Say{{Value: "worm", Label: "Flatworm", Key: "1", Draw: `<path d="M10 30c-3-8 0-14 8-14s10 8 6 14zM14 16l-3-8M18 16V6M22 16l4-8"/>`}, {Value: "eggs", Label: "Row of eggs", Key: "2", Draw: `<circle cx="8" cy="17" r="4"/><circle cx="17" cy="17" r="4"/><circle cx="26" cy="17" r="4"/>`}, {Value: "none", Label: "Nothing on the sides seen", Key: "3", Chosen: true, Draw: `<path d="M6 20c8-10 18-8 22 0-8 6-16 6-22 0z"/>`}}),
			in(div("row"), view.Button("Keep it", view.Main), view.ButtonValue("Next animal", view.Plain, "do", "next", "n"), view.ButtonValue("Sign and release below the line", view.Marked, "do", "over", ""))),
	)
}

func div(class string) templ.Component {
	return templ.ComponentFunc(func(ctx context.Context, w io.Writer) error {
		if _, err := io.WriteString(w, `<div class="`+class+`">`); err != nil {
			return err
		}
		if err := templ.GetChildren(ctx).Render(templ.ClearChildren(ctx), w); err != nil {
			return err
		}
		_, err := io.WriteString(w, `</div>`)
		return err
	})
}

func charts(p view.Page) templ.Component {
	all := []templ.Component{view.Top("", "Charts", nil)}
	for _, n := range sample.Evidence() {
		l := view.Ledger{Caption: "Chance of " + n.Name, Columns: []view.Column{{Label: "Day"}, {Label: "Chance", Num: true}, {Label: "What"}}}
		for _, r := range n.Evidence.Rows() {
			l.Rows = append(l.Rows, []view.Cell{{Text: words.ShortDay(r.Day)}, {Text: r.Chance, Reck: true}, {Text: r.What}})
		}
		all = append(all, in(view.Sec(n.Name, n.Evidence.Subject), view.Figure(n.Evidence.Wide(), n.Evidence.Tall(), "", &l)))
	}
	return in(view.Layout(p), all...)
}

func roundGallery(p view.Page) templ.Component {
	p.Width = view.Middle
	job := func(id string) view.Form { return view.Form{Action: "/round", ID: id, Entry: id, Swap: true} }
	w, big := sample.Walk(), sample.BigWalk()
	return in(view.Layout(p),
		view.Top("", "Today’s round", view.Needs("2 late.")),
		view.Figure(w.Wide(), w.Tall(), "", nil),
		view.Figure(big.Wide(), big.Tall(), "A room of 150.", nil),
		in(view.Zone(view.Clear, "Clear"), in(div("tank"), view.TankHead("Tank 1", "Amano 0910", "52 alive"),
			view.JobRow(view.Job{Form: job("j1"), What: "Pull every moult", Done: "Jo, 13:58", Undo: &view.StripForm{Label: "Undo", Action: "/undo"}}))),
		view.Halt("Stop. This net stays here.", "From here each tank has its own net and bucket."),
		in(view.Zone(view.Held, "On hold, nothing found"), in(div("tank"), view.TankHead("Tank 6", "Sakura cherry 0211", "88 alive"),
			view.JobRow(view.Job{Form: job("j2"), What: "Top up 1.5 L, RO water only", Below: "To the tape mark", Late: "Late by 20 hours."}),
			view.JobRow(view.Job{Form: job("j3"), What: "Moults pulled", Below: "7 yesterday was usual", Count: &view.Field{Name: "n", ID: "n3", Label: "Moults pulled", Value: "2"}}),
			view.JobRow(view.Job{Form: job("j4"), What: "Dead", Below: "not counted yet", Count: &view.Field{Name: "n", ID: "n4", Label: "Dead"}}))),
		in(view.Zone(view.Found, "On hold, parasite found"), in(div("tank"), view.TankHead("Tank 14", "Blue velvet 1910", "187 alive"),
			in(view.JobRow(view.Job{Form: job("j5"), What: "Look at the 5 on trial", Below: "One on its side: move all five to clean, matched water"}),
				in(view.More("Note or skip"), view.Text(view.Field{Name: "note", ID: "note5", Label: "Note"}), view.ButtonValue("Skip it", view.Plain, "do", "skip", ""))))),
	)
}

func lotsGallery(p view.Page) templ.Component {
	rows := func(head string, all ...view.LotRow) view.LotGroup { return view.LotGroup{Heading: head, Rows: all} }
	return in(view.Layout(p),
		in(view.Top("", "Lots", say("€2,855 held in 10 lots.")), view.Find("/lots", "q", "Find a lot, tank or supplier", "", nil), view.Go("Open a box", "/receive", view.Main)),
		view.Sieves("Which lots", []view.Sieve{{Label: "Not released", URL: "/lots", Count: 10, Current: true}, {Label: "Late", URL: "/lots?late", Count: 2, Mark: view.Late, Marked: true}, {Label: "Found", URL: "/lots?found", Count: 3, Mark: view.Found, Marked: true}, {Label: "Not looked at", URL: "/lots?unlooked", Count: 2, Mark: view.Unlooked, Marked: true}, {Label: "Released", URL: "/lots?released", Count: 24, Mark: view.Clear, Marked: true}}),
		view.LotTable(0.95, []view.LotGroup{
			rows("Near the line",
				view.LotRow{URL: "/lots/1", Mark: view.Half, Name: "Amano 0910", State: "Ready", Where: "Tank 31 · Hollow Reed Exports · 52 alive", Strip: chart.Strip{Chance: .97, Low: .94, High: .99, Line: .95}, Condition: "rostrum worm", Next: "Waiting for your signature.", When: "now", Money: "€188"},
				view.LotRow{URL: "/lots/2", Mark: view.Held, Name: "Chili rasbora 0911", State: "Held", Where: "Tank 30 · Hollow Reed Exports · 64 alive", Strip: chart.Strip{Chance: .9, Low: .8, High: .955, Line: .95}, Condition: "white spot", Next: "Look at 12 more on Fri 27 Nov.", When: "27 Nov", Money: "€141"}),
			rows("On a course",
				view.LotRow{URL: "/lots/3", Mark: view.Late, Name: "Sakura cherry 0211", State: "Late", Where: "Tank 6 · Quellmoor Zucht · 88 alive", Strip: chart.Strip{Chance: .72, Low: .6, High: .84, Line: .95}, Condition: "rostrum worm", Next: "Pull moults, late by 20 hours. Bath 3 on Fri 27 Nov.", NextLate: true, When: "14 Dec", Money: "€203"},
				view.LotRow{URL: "/lots/4", Mark: view.Found, Name: "Blue velvet 1910", State: "Found", Where: "Tank 14 · Ninefold Pond Farm · 187 alive", Strip: chart.Strip{Chance: .27, Low: .24, High: .31, Line: .95, Found: true}, Condition: "rostrum worm", Next: "Bath 4 on 1 Dec. Best forecast 85 % on 25 Jan.", When: "no date", Money: "€412"},
				view.LotRow{URL: "/lots/5", Mark: view.Unlooked, Name: "Taiwan bee mix 2411 of the unusually long name", State: "Not looked", Where: "Tank 23 · Hollow Reed Exports · 38 alive", Strip: chart.Strip{Chance: .71, Low: .5, High: .87, Line: .95, Guess: true}, Condition: "rostrum worm", Next: "First look, late by 1 day: photograph 25.", NextLate: true, When: "not yet", Money: "€532"}),
		}),
		view.Pages(view.Pager{From: 1, To: 50, Total: 140, What: "lots", Next: "/lots?page=2"}),
	)
}

func tanksGallery(p view.Page) templ.Component {
	pane := func(no string, m view.Mark, w, lives, line string, v, fill float64) view.Pane {
		return view.Pane{URL: "/tanks/" + no, No: no, Mark: m, Word: w, Lives: lives, Line: line, VolumeL: v, Fill: fill}
	}
	return in(view.Layout(p),
		in(view.Top("", "The room", say("14 of 40 tanks, in the order to walk. Water goes down this page, never up.")), view.Go("Add a tank", "/tanks/new", view.Plain)),
		in(div("sys"), view.SystemHead(view.Clear, "Rack A, one sump", "Net and bucket: grey. 4 tanks, 1 water"), view.System([]view.Pane{
			pane("1", view.Clear, "clear", "Amano", "52, 54 L", 54, .9), pane("2", view.Clear, "clear", "Yellow neon", "22, 54 L", 54, .8), pane("3", view.Clear, "clear", "Green jade", "9, 20 L", 20, .85), pane("4", view.Clear, "clear", "Red cherry", "140, 96 L", 96, .95)}, true, view.Clear)),
		in(div("sys"), view.SystemHead(view.Held, "Rack B, one sump", "If one has it, both do"), view.System([]view.Pane{pane("22", view.Held, "held", "Crystal red 1811", "61, 60 L", 60, .8), pane("23", view.Late, "late", "Taiwan bee 2411", "38, 60 L", 60, .7)}, true, view.Held)),
		in(div("sys"), view.SystemHead(view.Found, "Rack C, one sump", "Last. Own net, cup, towel"), view.System([]view.Pane{pane("7", view.Found, "found", "Orange rili 2511", "198, 98 L", 98, .9), pane("14", view.Found, "found", "Blue velvet 1910", "187, 300 L", 300, .6)}, true, view.Found)),
		in(div("sys"), view.SystemHead(view.NoMark, "Free", "For the next box"), view.System([]view.Pane{{URL: "/tanks/16", No: "16", Free: true, Word: "dry 13 days", Line: "96 L", VolumeL: 96}, {URL: "/tanks/17", No: "17", Free: true, Word: "wet since 19 Nov: carried Blue jelly, not before 2 Dec", Line: "54 L", VolumeL: 54}}, false, view.Clear)),
	)
}

// What the script adds: counts, keys, and forms sent in the background.
func TestScript(t *testing.T) {
	s := galleryServer(t)
	b := webtest.New(t)
	b.Go(s.URL + "/fields")
	value := func(id string) string { return webtest.Eval[string](b, `document.getElementById("`+id+`").value`) }
	for _, step := range []struct{ press, want string }{{"Dead: none", "0"}, {"Dead: one more", "1"}, {"Dead: one more", "2"}, {"Dead: one less", "1"}} {
		b.Press(step.press)
		if got := value("dead"); got != step.want {
			t.Errorf("after %q the count is %q, want %q", step.press, got, step.want)
		}
	}
	checked := func() bool { return webtest.Eval[bool](b, `document.querySelector("[data-key='1']").checked`) }
	b.Key("1")
	if !checked() {
		t.Error("the key 1 did not tap the first finding")
	}
	b.Type("#note", "1")
	if !checked() || value("note") != "1" {
		t.Error("a 1 typed into a field pressed a key")
	}

	b.Go(s.URL + "/lots")
	if n := b.Asked(); n != 1 {
		t.Errorf("leaving typed and unsent input asked %d times, want once", n)
	}
	b.Key("/")
	if got := webtest.Eval[string](b, `document.activeElement.name || ""`); got != "q" {
		t.Errorf("the slash led to %q", got)
	}

	b.Go(s.URL + "/ticks")
	webtest.Eval[bool](b, `window.same = true`)
	b.Press("Pull every moult")
	if got := b.Text(".job.done .what"); !strings.Contains(got, "Pull every moult") {
		t.Errorf("the tick was not sent: %q", got)
	}
	if got := b.Text("#strips"); !strings.Contains(got, "Recorded") {
		t.Errorf("the strip says %q", got)
	}
	if !webtest.Eval[bool](b, `window.same === true`) {
		t.Error("the whole page was loaded again")
	}
	b.Quiet("script")
}

func TestGallery(t *testing.T) {
	s := galleryServer(t)
	b := webtest.New(t)
	for name := range galleries() {
		shots := os.Getenv("HOLDFAST_SHOTS")
		b.Everywhere(s.URL+"/"+name, shots, "gallery-"+name, nil)
		if shots != "" {
			for _, size := range []webtest.Size{webtest.Phone, webtest.Laptop} {
				b.Look(size, webtest.Light)
				b.Go(s.URL + "/" + name)
				b.Shot(shots, "gallery-"+name+"-"+size.Name+"-whole", true)
			}
		}
	}
}
