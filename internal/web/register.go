package web

import (
	"bytes"
	"fmt"
	"net/http"
	"slices"
	"strings"

	"holdfast"
	"holdfast/desk"
	"holdfast/internal/books"
	"holdfast/internal/paper"
	"holdfast/internal/web/page"
	"holdfast/internal/web/view"
	"holdfast/internal/web/words"
)

// registerRows is how many of the newest lines of each list the page shows.
const registerRows = 25

// days reads the register's first and last day; without any, the last twelve
// months.
func (s *Server) days(r *http.Request) (from, to holdfast.Day, problems holdfast.Problems, err error) {
	today, err := s.Desk.Today(r.Context())
	if err != nil {
		return 0, 0, nil, err
	}
	read := func(name string, missing holdfast.Day) holdfast.Day {
		text := strings.TrimSpace(r.URL.Query().Get(name))
		if text == "" {
			return missing
		}
		d, ok := holdfast.ParseDay(text)
		if !ok {
			problems = append(problems, holdfast.Problem{Field: name, Message: "That is not a day.", Hint: "Write it as 2026-11-25."})
			return missing
		}
		return d
	}
	from, to = read("from", today-365), read("to", today)
	if len(problems) == 0 && to < from {
		problems = append(problems, holdfast.Problem{Field: "to", Message: "The last day lies before the first.", Hint: "Swap the two days."})
		from = to
	}
	return from, to, problems, nil
}

func (s *Server) register(w http.ResponseWriter, r *http.Request) error {
	from, to, problems, err := s.days(r)
	if err != nil {
		return err
	}
	reg, err := s.Desk.Register(r.Context(), from, to)
	if err != nil {
		return err
	}
	frame, err := s.frame(r)
	if err != nil {
		return err
	}
	p := page.Register{From: view.Field{Name: "from", Label: "From", Value: from.String()}, To: view.Field{Name: "to", Label: "To", Value: to.String()},
		Workbook: fmt.Sprintf("/register.xlsx?from=%s&to=%s", from, to), FullWorkbook: "/export.xlsx"}
	status := http.StatusOK
	for _, q := range problems {
		status = http.StatusBadRequest
		f := &p.From
		if q.Field == "to" {
			f = &p.To
		}
		f.Err = q.Message + " " + q.Hint
	}
	p.Faults = view.Faults(p.From, p.To)
	p.Sections = registerSections(reg)
	return s.page(w, r, status, page.RegisterPage(view.Page{Frame: frame, Title: "Register", At: view.Register, Width: view.Full}, p))
}

// registerSections turns the register into ledgers, newest lines first.
func registerSections(reg *desk.Register) []page.RegisterSection {
	day := func(d holdfast.Day) string { return words.FullDay(d.Date()) }
	lot := func(id string) view.Cell { return view.Cell{Text: id, URL: "/lots/" + id} }
	count := func(n int) view.Cell { return view.Cell{Text: words.Int(n)} }
	section := func(id, heading, none string, n int, columns []view.Column, row func(i int) []view.Cell) page.RegisterSection {
		s := page.RegisterSection{ID: id, Heading: heading, None: none, Count: words.Int(n), Table: view.Ledger{Caption: heading, Columns: columns, Fold: true, Brief: true}}
		for i := n - 1; i >= max(0, n-registerRows); i-- {
			s.Table.Rows = append(s.Table.Rows, row(i))
		}
		if n > registerRows {
			s.Cut = fmt.Sprintf("The newest %d of %s; the workbook has all.", registerRows, words.Int(n))
		}
		return s
	}
	text := func(s string) view.Cell { return view.Cell{Text: s} }
	return []page.RegisterSection{
		section("movements", "In and out", "Nothing came or went in these days.", len(reg.Movements),
			[]view.Column{{Label: "Day"}, {Label: "In or out"}, {Label: "Lot"}, {Label: "What"}, {Label: "Animals", Num: true}, {Label: "From or to"}, {Label: "How"}, {Label: "Papers"}, {Label: "Who"}},
			func(i int) []view.Cell {
				m := reg.Movements[i]
				way := "out"
				if m.In {
					way = "in"
				}
				return []view.Cell{text(day(m.Day)), text(way), lot(m.Lot), text(m.Strain), count(m.Count), text(m.Other), text(m.How), papersCell(m), text(m.Who)}
			}),
		section("deaths", "Deaths", "None recorded in these days.", len(reg.Deaths),
			[]view.Column{{Label: "Day"}, {Label: "Lot"}, {Label: "Tank"}, {Label: "What"}, {Label: "Dead", Num: true}, {Label: "Alive before", Num: true}, {Label: "Cause"}, {Label: "Who"}},
			func(i int) []view.Cell {
				d := reg.Deaths[i]
				return []view.Cell{text(day(d.Day)), lot(d.Lot), text(d.Tank), text(d.Strain), count(d.Count), count(d.OnHand), text(d.Cause), text(d.Who)}
			}),
		section("treatments", "Treatments", "None given in these days.", len(reg.Treatments),
			[]view.Column{{Label: "Day"}, {Label: "Lot"}, {Label: "Tank"}, {Label: "Active ingredient"}, {Label: "Batch"}, {Label: "Strength"}, {Label: "Conditions"}, {Label: "Prescription"}, {Label: "Disposal"}, {Label: "Who"}},
			func(i int) []view.Cell {
				t := reg.Treatments[i]
				return []view.Cell{text(day(t.Day)), lot(t.Lot), text(t.Tank), text(t.Active + ", " + t.Form), text(t.Batch),
					text(fmt.Sprintf("%s for %s", words.Measure(t.MgL, 2, "mg/l"), words.Measure(t.Hours, 1, "h"))), text(t.Held), text(t.Prescription), text(t.Disposal), text(t.Who)}
			}),
		section("looks", "Looks at animals", "None in these days.", len(reg.Looks),
			[]view.Column{{Label: "Day"}, {Label: "Lot"}, {Label: "Looked at", Num: true}, {Label: "With signs", Num: true}, {Label: "Found"}, {Label: "How"}, {Label: "Who"}},
			func(i int) []view.Cell {
				x := reg.Looks[i]
				return []view.Cell{text(day(x.Day)), lot(x.Lot), count(x.Looked), count(x.Positive), text(strings.Join(x.Found, ", ")), text(x.By), text(x.Who)}
			}),
		section("visits", "Visits about the animals’ health", "None written down in these days.", len(reg.Visits),
			[]view.Column{{Label: "Day"}, {Label: "Who came"}, {Label: "About"}, {Label: "Found"}, {Label: "Ordered or advised"}, {Label: "Samples and laboratory"}, {Label: "Written by"}},
			func(i int) []view.Cell {
				v := reg.Visits[i]
				return []view.Cell{text(day(v.Day)), text(v.Visitor + ", " + roleWords[v.Role]), text(visitedSays(v.Visit)), text(v.Result), text(v.Instructions), text(joined(v.Samples, v.Laboratory)), text(v.Who)}
			}),
		section("measures", "Measures against disease", "None recorded in these days.", len(reg.Measures),
			[]view.Column{{Label: "Day"}, {Label: "Lot"}, {Label: "Tank"}, {Label: "What was done"}, {Label: "Who"}},
			func(i int) []view.Cell {
				m := reg.Measures[i]
				of := text("")
				if m.Lot != "" {
					of = lot(m.Lot)
				}
				return []view.Cell{text(day(m.Day)), of, text(m.Tank), text(m.What), text(m.Who)}
			}),
	}
}

// papersCell are the papers of a movement, and the way to their form where they
// are a delivery's or a sale's.
func papersCell(m desk.Movement) view.Cell {
	c := view.Cell{Text: papersSay(m.Papers, soldPapers)}
	switch {
	case m.Delivery != "":
		c = view.Cell{Text: papersSay(m.Papers, arrivedPapers), URL: deliveryPapersURL(m.Delivery)}
	case m.Sale:
		c.URL = salePapersURL(m.Lot, m.Entry)
	}
	if c.Text == "" && c.URL != "" {
		c.Text = "Add papers"
	}
	return c
}

func (s *Server) registerBook(w http.ResponseWriter, r *http.Request) error {
	from, to, problems, err := s.days(r)
	if err != nil {
		return err
	}
	if len(problems) > 0 {
		return problems
	}
	sheets, err := books.Register(r.Context(), s.Desk, from, to)
	if err != nil {
		return err
	}
	return sendBook(w, fmt.Sprintf("register-%s-%s.xlsx", from, to), sheets)
}

func (s *Server) fullBook(w http.ResponseWriter, r *http.Request) error {
	today, err := s.Desk.Today(r.Context())
	if err != nil {
		return err
	}
	shop, err := books.Shop(r.Context(), s.Desk)
	if err != nil {
		return err
	}
	register, err := books.Register(r.Context(), s.Desk, 0, today)
	if err != nil {
		return err
	}
	return sendBook(w, fmt.Sprintf("holdfast-%s.xlsx", today), slices.Concat(shop, register))
}

// sendBook writes the whole workbook before the first byte goes out, so that a
// fault is a page and not half a file.
func sendBook(w http.ResponseWriter, name string, sheets []paper.Sheet) error {
	var b bytes.Buffer
	if err := paper.WriteXLSX(&b, sheets...); err != nil {
		return err
	}
	attach(w, "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet", name)
	_, _ = w.Write(b.Bytes())
	return nil
}
