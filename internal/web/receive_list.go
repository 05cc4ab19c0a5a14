package web

import (
	"errors"
	"fmt"
	"io"
	"maps"
	"net/http"
	"slices"
	"strconv"
	"strings"

	"holdfast/desk"
	"holdfast/intake"
	"holdfast/internal/web/form"
	"holdfast/internal/web/page"
	"holdfast/internal/web/view"
	"holdfast/internal/web/words"
	"holdfast/science/ref"
)

// packingList reads an uploaded list, or reads it again with other meanings.
func (s *Server) packingList(w http.ResponseWriter, r *http.Request) error {
	if err := r.ParseMultipartForm(1 << 20); err != nil && !errors.Is(err, http.ErrNotMultipart) {
		return badForm(err)
	}
	if r.MultipartForm != nil {
		defer r.MultipartForm.RemoveAll()
	}
	f := form.New(r.PostForm)
	supplier := f.Text("supplier", 80, true)
	list := page.ListForm{
		Supplier: view.Field{Name: "supplier", Label: "Supplier", Value: f.Typed("supplier"), Err: f.Err("supplier"), Max: 80},
		File:     view.Field{Name: "file", Label: "Packing list", Hint: "XLSX or CSV, up to 10 MB"}}
	refuse := func(message string) error {
		list.File.Err = message
		return s.receivePage(w, r, http.StatusBadRequest, form.New(nil), make([]desk.ArrivalLine, 3), "", list)
	}
	token := f.Typed("token")
	kept, known := s.lists.get(token)
	if !known {
		name, data, err := uploaded(r)
		if err != nil {
			return refuse(sentence(err))
		}
		kept = keptList{name: name, data: data}
	}
	if !f.OK() {
		return refuse("")
	}
	var m *intake.Mapping
	if known {
		if p, err := s.Desk.ReadPacking(r.Context(), supplier, kept.data, intake.Options{}, nil, desk.PackingMend{}); err == nil {
			m = chosen(f, p)
		}
	}
	mend := mended(f)
	p, err := s.Desk.ReadPacking(r.Context(), supplier, kept.data, intake.Options{}, m, mend)
	var in *ref.InputError
	if errors.As(err, &in) {
		return refuse(sentence(err))
	}
	if err != nil {
		return err
	}
	if known && f.Typed("do") == "use" && len(p.Result.Lines) > 0 {
		return s.useList(w, r, supplier, kept.name, p)
	}
	if !known {
		token = s.lists.put(kept)
	}
	frame, err := s.frame(r)
	if err != nil {
		return err
	}
	return s.page(w, r, http.StatusOK, page.PackingList(view.Page{Frame: frame, Title: "Packing list", At: view.Receive, Width: view.Middle}, listPage(token, supplier, kept.name, p, mend)))
}

// useList remembers the columns and fills the form with the lines.
func (s *Server) useList(w http.ResponseWriter, r *http.Request, supplier, name string, p intake.Preview) error {
	if err := s.Desk.RememberPacking(r.Context(), supplier, p.Mapping); err != nil {
		return err
	}
	lines, unknown := desk.PackingLines(p.Result.Lines)
	values := map[string][]string{"supplier": {supplier}, "note": {desk.PackingWords(p.Result.Lines)}}
	f := form.New(values)
	all := make([]int, len(lines))
	for i := range all {
		all[i] = i
	}
	f.Take(atLines(unknown, all))
	return s.receivePage(w, r, http.StatusOK, f, lines, name, page.ListForm{})
}

// uploaded reads the file of a form, bounded.
func uploaded(r *http.Request) (string, []byte, error) {
	in, head, err := r.FormFile("file")
	if err != nil {
		return "", nil, ref.Inputf("", "Choose the packing list again.", "no file came with the form")
	}
	defer in.Close()
	data, err := io.ReadAll(io.LimitReader(in, intake.MaxBytes+1))
	if err != nil {
		return "", nil, ref.Inputf("", "Choose the packing list again.", "the file did not arrive whole")
	}
	name := strings.ToValidUTF8(head.Filename, "")
	if len([]rune(name)) > 200 {
		name = string([]rune(name)[:200])
	}
	return name, data, nil
}

// chosen is the mapping that the person set on the page.
func chosen(f *form.Form, p intake.Preview) *intake.Mapping {
	m := p.Mapping
	m.Columns = map[string]intake.Column{}
	for _, c := range p.Columns {
		col := c.Column
		col.Field = intake.Field(f.Typed("col_" + c.Letter))
		m.Columns[c.Key] = col
	}
	m.Currency = strings.ToUpper(strings.TrimSpace(f.Typed("currency")))
	m.Decimal = f.Typed("decimal")
	return &m
}

var fieldNames = map[intake.Field]string{
	intake.Ignore: "Not used", intake.Strain: "Sold as (strain)", intake.Species: "Species", intake.Count: "How many", intake.DOA: "Dead on arrival",
	intake.Box: "Box", intake.Bag: "Bag", intake.Bags: "How many bags", intake.PerBag: "Animals in a bag", intake.Price: "Price of one",
	intake.PriceBag: "Price of a bag", intake.Total: "Price of the line", intake.Currency: "Currency", intake.Size: "Size or grade", intake.Sex: "Sex", intake.Notes: "Notes",
}

// mostMends bounds how many wrong cells may be put right on the page; a list
// with more of them is better mended in its file.
const mostMends = 40

// mended reads what was put right on the page instead of in the file. Each
// cell says its name in "cell", its text in "cell_E14".
func mended(f *form.Form) desk.PackingMend {
	m := desk.PackingMend{Cells: map[string]string{}}
	for _, cell := range f.All("cell") {
		if len(m.Cells) < 10*mostMends {
			m.Cells[cell] = f.Typed("cell_" + cell)
		}
	}
	for _, row := range f.All("out") {
		if n := atoi(row, 0); n > 0 && !slices.Contains(m.Out, n) {
			m.Out = append(m.Out, n)
		}
	}
	return m
}

// showMends offers each wrong cell to be put right, and carries along what was.
func showMends(l *page.ListPage, p intake.Preview, mend desk.PackingMend) {
	asked := map[string]bool{}
	rows := map[int]bool{}
	for _, q := range p.Result.Problems {
		if q.Cell == "" || len(l.Mends) == mostMends || asked[q.Cell] {
			l.Problems = append(l.Problems, page.ListProblem{Cell: q.Cell, Message: words.Capital(ended(q.Message)), Hint: q.Hint})
			continue
		}
		asked[q.Cell] = true
		label := q.Cell
		if q.Strain != "" {
			label += ", " + q.Strain
		}
		x := page.ListMend{Cell: q.Cell, Row: strconv.Itoa(q.Row), FirstOfRow: !rows[q.Row],
			Text: view.Field{Name: "cell_" + q.Cell, Label: label, Value: q.Text, Err: words.Capital(ended(q.Message)) + " " + q.Hint, Max: 200}}
		rows[q.Row] = true
		l.Mends = append(l.Mends, x)
	}
	for _, cell := range slices.Sorted(maps.Keys(mend.Cells)) {
		if !asked[cell] {
			l.Kept = append(l.Kept, view.Pair{Name: "cell", Value: cell}, view.Pair{Name: "cell_" + cell, Value: mend.Cells[cell]})
			l.Notes = append(l.Notes, fmt.Sprintf("%s says %q now, by hand.", cell, mend.Cells[cell]))
		}
	}
	for _, row := range mend.Out {
		l.Kept = append(l.Kept, view.Pair{Name: "out", Value: strconv.Itoa(row)})
		l.Notes = append(l.Notes, fmt.Sprintf("Row %d is left out.", row))
	}
}

func listPage(token, supplier, name string, p intake.Preview, mend desk.PackingMend) page.ListPage {
	l := page.ListPage{Token: token, Supplier: supplier, File: name, Read: fmt.Sprintf("Read as %s, %s.", strings.ToUpper(p.Format), words.Plural(len(p.Columns), "column", "columns")), Notes: p.Notes, Lines: len(p.Result.Lines),
		Currency: view.Field{Name: "currency", Label: "Currency, where none is written", Value: p.Mapping.Currency, Max: 3},
		Decimal:  view.Field{Name: "decimal", Label: "Decimal mark", Value: p.Mapping.Decimal}}
	options := []view.Option{{Value: "", Label: fieldNames[intake.Ignore]}}
	for _, x := range intake.Fields() {
		options = append(options, view.Option{Value: string(x), Label: fieldNames[x]})
	}
	for _, c := range p.Columns {
		label := c.Letter
		if c.Header != "" {
			label += ": " + c.Header
		}
		hint := strings.Join(c.Samples, ", ")
		if c.Field != intake.Ignore && c.Confidence < 0.6 {
			hint += " (not sure)"
		}
		l.Columns = append(l.Columns, page.ListColumn{Meaning: view.Field{Name: "col_" + c.Letter, Label: label, Value: string(c.Field), Hint: hint}, Options: options})
	}
	showMends(&l, p, mend)
	for _, q := range p.Result.Warnings {
		l.Warnings = append(l.Warnings, page.ListProblem{Cell: q.Cell, Message: words.Capital(ended(q.Message)), Hint: q.Hint})
	}
	l.Sums = fmt.Sprintf("%s, %s animals, %s dead on arrival", words.Plural(len(p.Result.Lines), "line", "lines"), words.Int(p.Result.Animals), words.Int(p.Result.Dead))
	return l
}
