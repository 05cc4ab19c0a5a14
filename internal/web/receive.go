package web

import (
	"context"
	"errors"
	"fmt"
	"math"
	"net/http"
	"strconv"
	"strings"

	"holdfast"
	"holdfast/desk"
	"holdfast/internal/web/form"
	"holdfast/internal/web/page"
	"holdfast/internal/web/view"
	"holdfast/internal/web/words"
	"holdfast/money"
	"holdfast/reference"
)

// mostLines bounds the strains typed or read into one delivery form.
const mostLines = 2000

// receive shows where a box is opened.
func (s *Server) receive(w http.ResponseWriter, r *http.Request) error {
	return s.receivePage(w, r, http.StatusOK, form.New(nil), make([]desk.ArrivalLine, 3), "", page.ListForm{})
}

// receivePage shows the page with whatever was typed or read so far.
func (s *Server) receivePage(w http.ResponseWriter, r *http.Request, status int, f *form.Form, lines []desk.ArrivalLine, file string, list page.ListForm) error {
	frame, err := s.frame(r)
	if err != nil {
		return err
	}
	ctx := r.Context()
	suppliers, err := s.Desk.Store.Suppliers(ctx)
	if err != nil {
		return err
	}
	shop, err := s.Desk.Settings(ctx)
	if err != nil {
		return err
	}
	tanks, err := s.tankOptions(ctx)
	if err != nil {
		return err
	}
	entry, err := s.formID(f)
	if err != nil {
		return err
	}
	newest, err := s.newest(r)
	if err != nil {
		return err
	}
	p := page.ReceiveForm{Entry: string(entry), File: file}
	field := func(name, label string) view.Field {
		return view.Field{Name: name, Label: label, Value: f.Typed(name), Err: f.Err(name)}
	}
	supplier := field("supplier", "Supplier")
	supplier.ID, supplier.List, supplier.Required, supplier.Max, supplier.Half = "supplier-hand", suppliers, true, 80, true
	p.Who = []view.Field{supplier}
	p.Origin = field("origin", "Where raised, as declared")
	p.Origin.Half = true
	p.Words = []view.Field{field("declaration", "What else was declared"), field("note", "Note")}
	p.Words[0].Half, p.Words[1].Half = true, true
	unit := func(name, label, unit string) view.Field { x := field(name, label); x.Unit = unit; return x }
	p.Money = []view.Field{field("boxes", "Boxes"), unit("hours", "On the way", "h"), unit("freight", "Freight", shop.Currency), unit("fees", "Fees and duty", shop.Currency)}
	p.Papers = paperFields(f, arrivedPapers)
	for _, b := range bagReadings {
		p.Bag = append(p.Bag, unit(b.name, b.label, b.unit))
	}
	p.Into = field("into", "Tank")
	p.Into.Half = true
	for _, b := range tankReadings {
		p.TankWater = append(p.TankWater, unit(b.name, b.label, b.unit))
	}
	p.IntoOptions = append([]view.Option{{Value: "", Label: "None measured"}}, tanks[1:]...)
	for i, l := range lines {
		line := receiveLine(f, i, l, shop.Currency, tanks)
		line.First = firstOfLine(shop, line)
		if head, _, ok := strings.Cut(line.First, ":"); ok && i > 0 { // why so many is said once
			line.First = head + "."
		}
		if line.Strain.Value != "" && line.Tank.Value == "" {
			p.Tankless++
		}
		p.Lines = append(p.Lines, line)
	}
	p.Send = "Receive"
	p.Faults = receiveFaults(p, f)
	if list.Supplier.Name == "" {
		list.Supplier = view.Field{Name: "supplier", Label: "Supplier", List: suppliers, Hint: "What its columns mean is remembered for the next list.", Max: 80}
		list.File = view.Field{Name: "file", Label: "Packing list", Hint: "XLSX or CSV, up to 10 MB"}
	} else {
		list.Supplier.List = suppliers
	}
	list.Supplier.Half, list.File.Half = true, true
	return s.page(w, r, status, page.Receive(view.Page{Frame: frame, Title: "Receive", At: view.Receive, Width: view.Middle}, list, p, newest))
}

// receiveFaults lists the wrong fields; those that stand at no field come as
// they are.
func receiveFaults(p page.ReceiveForm, f *form.Form) []view.Fault {
	fields := append(append(append([]view.Field{}, p.Who...), p.Origin), p.Money...)
	fields = append(append(append(append(append(fields, p.Words...), p.Papers...), p.Bag...), p.Into), p.TankWater...)
	for _, l := range p.Lines {
		fields = append(fields, l.Strain, l.Species, l.Declared, l.DOA, l.Counted, l.Price, l.Box, l.Tank)
	}
	faults := view.Faults(fields...)
	for _, q := range f.Faults() {
		if q.Field == "lines" || q.Field == "n" {
			faults = append(faults, view.Fault{ID: "receive", Label: "Strains", Message: q.Message + " " + q.Hint})
		}
	}
	return faults
}

// firstOfLine says how many of a strain to look at first, once its number is
// known; of an empty first line, what it would be for a hundred.
func firstOfLine(shop holdfast.ShopSet, l page.ReceiveLine) string {
	n := atoi(l.Counted.Value, 0)
	if n == 0 {
		n = atoi(l.Declared.Value, 0) - atoi(l.DOA.Value, 0)
	}
	switch {
	case n >= 1 && n <= holdfast.MaxAnimals:
		return desk.FirstLookAt(shop, n)
	case l.Declared.Name == "declared_0" && l.Declared.Value == "" && l.Counted.Value == "":
		return "As an example, a lot of 100. " + desk.FirstLookAt(shop, 100)
	}
	return ""
}

func receiveLine(f *form.Form, i int, l desk.ArrivalLine, currency string, tanks []view.Option) page.ReceiveLine {
	field := func(name, label, value string) view.Field {
		key := fmt.Sprintf("%s_%d", name, i)
		x := view.Field{Name: key, Label: label, Value: value, Err: f.Err(key)}
		if typed := f.Typed(key); typed != "" {
			x.Value = typed
		}
		return x
	}
	count := func(n int) string {
		if n == 0 {
			return ""
		}
		return strconv.Itoa(n)
	}
	price := ""
	currency = currencyOf(f, i, currency)
	if l.Price != nil {
		currency = l.Price.Currency
		price, _ = money.Decimal(l.Price.Minor, currency)
	}
	counted := ""
	if l.Counted != nil {
		counted = strconv.Itoa(*l.Counted)
	}
	out := page.ReceiveLine{
		Strain: field("strain", "Sold as", l.Strain), Species: field("species", "Species", l.Species), Box: field("box", "Box", l.Box),
		Declared: field("declared", "On the list", count(l.Declared)), DOA: field("doa", "Dead on arrival", count(l.DOA)),
		Counted: field("counted", "Counted alive", counted), Price: field("price", "Price each", price), Tank: field("tank", "Into tank", l.Tank),
		SpeciesOptions: speciesOptions(), TankOptions: tanks,
	}
	out.Price.Unit = currency
	out.Currency = view.Pair{Name: fmt.Sprintf("currency_%d", i), Value: currency}
	known := ""
	for _, o := range out.SpeciesOptions[1:] {
		if o.Value == out.Species.Value {
			known = o.Label
		}
	}
	if out.Box.Value != "" {
		known = joinNonEmpty(known, "box "+out.Box.Value)
	}
	if out.Price.Value != "" {
		known = joinNonEmpty(known, out.Price.Value+" "+currency)
	}
	out.Below = known
	out.Species.Half, out.Tank.Half = true, true
	return out
}

// currencyOf is the currency of a line's price: the list's, carried along in
// the form, or else the shop's.
func currencyOf(f *form.Form, i int, shop string) string {
	if c := f.Typed(fmt.Sprintf("currency_%d", i)); c != "" {
		if _, ok := money.Exponent(c); ok {
			return c
		}
	}
	return shop
}

func joinNonEmpty(a, b string) string {
	if a == "" {
		return b
	}
	return a + ", " + b
}

func speciesOptions() []view.Option {
	all := []view.Option{{Value: "", Label: "By the name it is sold under"}}
	for _, k := range reference.Species() {
		all = append(all, view.Option{Value: k.ID, Label: k.Name})
	}
	return all
}

// tankOptions lists tanks for animals: none at first, free ones, then those
// in which others stand, which it says.
func (s *Server) tankOptions(ctx context.Context) ([]view.Option, error) {
	room, err := s.Desk.Room(ctx)
	if err != nil {
		return nil, err
	}
	all := []view.Option{{Value: "", Label: "Not yet in a tank"}}
	seen := map[string]bool{}
	for _, t := range room.Free {
		seen[t.ID] = true
		all = append(all, view.Option{Value: t.ID, Label: fmt.Sprintf("%s, free, %s", t.Name, words.Measure(t.Litres, 0, "L"))})
	}
	for _, sys := range room.Systems {
		for _, t := range sys.Tanks {
			if !seen[t.ID] && !t.Closed {
				label := fmt.Sprintf("%s, %s in it", t.Name, words.Plural(len(t.Lots), "lot", "lots"))
				if len(t.Lots) == 0 {
					label = fmt.Sprintf("%s, empty, on the water of %s", t.Name, sys.ID)
				}
				all = append(all, view.Option{Value: t.ID, Label: label})
			}
		}
	}
	return all, nil
}

func (s *Server) newest(r *http.Request) ([]page.Arrived, error) {
	zone, err := s.Desk.Zone(r.Context())
	if err != nil {
		return nil, err
	}
	rows, _, err := s.Desk.Store.Consignments(r.Context(), 0, 10)
	if err != nil {
		return nil, err
	}
	var out []page.Arrived
	for _, c := range rows {
		out = append(out, page.Arrived{URL: "/deliveries/" + c.ID, ID: c.ID, Supplier: c.Supplier, Day: words.FullDay(c.At.In(zone)), Lots: words.Int(len(c.Lots))})
	}
	return out, nil
}

// receiveSave receives a delivery, or adds a line to the form.
func (s *Server) receiveSave(w http.ResponseWriter, r *http.Request) error {
	if err := r.ParseForm(); err != nil {
		return badForm(err)
	}
	f := form.New(r.PostForm)
	n := 0
	if c := f.Count("n", 0, mostLines, true); c != nil {
		n = *c
	}
	file := f.Text("file", 200, false)
	switch f.Typed("do") {
	case "more":
		return s.receivePage(w, r, http.StatusOK, f, make([]desk.ArrivalLine, min(n+1, mostLines)), file, page.ListForm{})
	case "stay":
		return s.receivePage(w, r, http.StatusOK, f, make([]desk.ArrivalLine, n), file, page.ListForm{})
	case "tanks":
		if err := s.giveTanks(r, n); err != nil {
			return err
		}
		return s.receivePage(w, r, http.StatusOK, f, make([]desk.ArrivalLine, n), file, page.ListForm{})
	}
	shop, err := s.Desk.Settings(r.Context())
	if err != nil {
		return err
	}
	a, kept := readArrival(f, n, shop.Currency)
	a.File = file
	again := func() error {
		return s.receivePage(w, r, http.StatusBadRequest, f, make([]desk.ArrivalLine, n), file, page.ListForm{})
	}
	if !f.OK() {
		return again()
	}
	by, err := s.actor(r)
	if err != nil {
		return err
	}
	id, _, err := s.Desk.Receive(r.Context(), by, a)
	var problems holdfast.Problems
	if errors.As(err, &problems) {
		f.Take(atLines(problems, kept))
		return again()
	}
	if err != nil {
		return err
	}
	c, err := s.Desk.Consignment(r.Context(), id)
	if err != nil {
		return err
	}
	for _, ev := range c.All {
		if ev.Kind == holdfast.KindConsignmentReceived && c.Undone[ev.ID] == "" {
			return s.recordedTogether(w, r, "/deliveries/"+id, "", ev.ID)
		}
	}
	http.Redirect(w, r, "/deliveries/"+id, http.StatusSeeOther)
	return nil
}

// giveTanks writes the next free tank at every strain of the form that has
// none: quarantine tanks in the order of the walk, never one for sale.
func (s *Server) giveTanks(r *http.Request, n int) error {
	room, err := s.Desk.Room(r.Context())
	if err != nil {
		return err
	}
	v, taken := r.PostForm, map[string]bool{}
	for i := range n {
		taken[v.Get(fmt.Sprintf("tank_%d", i))] = true
	}
	var free []string
	for _, t := range room.Free {
		if t.Use == "quarantine" && !taken[t.ID] {
			free = append(free, t.ID)
		}
	}
	for i := range n {
		if len(free) == 0 {
			return nil
		}
		at := fmt.Sprintf("tank_%d", i)
		if v.Get(at) == "" && strings.TrimSpace(v.Get(fmt.Sprintf("strain_%d", i))) != "" {
			v.Set(at, free[0])
			free = free[1:]
		}
	}
	return nil
}

// readArrival reads the form; kept maps the arrival's lines to those of the
// form, of which empty ones are left out.
func readArrival(f *form.Form, n int, currency string) (a desk.Arrival, kept []int) {
	a = desk.Arrival{Supplier: f.Text("supplier", 80, true), Declaration: f.Text("declaration", 2000, false), Note: f.Text("note", 2000, false),
		Origin:         f.OneOf("origin", []string{"farmed_indoor", "farmed_outdoor", "traded", "wild"}, false),
		HoursInTransit: f.Number("hours", form.Range{Low: 0, High: 500, Unit: "h"}),
		Freight:        amount(f, "freight", currency), Fees: amount(f, "fees", currency), Papers: readPapers(f, arrivedPapers)}
	if c := f.Count("boxes", 0, 10000, false); c != nil {
		a.Boxes = *c
	}
	bag := holdfast.BagReading{Water: readWater(f, bagReadings)}
	if !bag.Empty() {
		a.Bags = []holdfast.BagReading{bag}
	}
	into := desk.TankReading{Tank: f.Typed("into"), Water: readWater(f, tankReadings)}
	switch {
	case into.Tank == "" && !into.Water.Empty():
		f.Fault("into", "Readings of a tank, and no tank.", "Choose which tank was measured.")
	case into.Tank != "" && into.Water.Empty() && f.OK():
		f.Fault("into", "A tank, and nothing measured in it.", "Write a reading, or choose none.")
	case into.Tank != "":
		a.Tanks = []desk.TankReading{into}
	}
	for i := range n {
		at := func(name string) string { return fmt.Sprintf("%s_%d", name, i) }
		empty := true
		for _, name := range []string{"strain", "declared", "doa", "counted", "price", "box"} {
			empty = empty && strings.TrimSpace(f.Typed(at(name))) == ""
		}
		if empty {
			continue
		}
		l := desk.ArrivalLine{Strain: f.Text(at("strain"), 80, true), Species: f.Typed(at("species")), Box: f.Text(at("box"), 40, false),
			Counted: f.Count(at("counted"), 0, holdfast.MaxAnimals, false), Price: amount(f, at("price"), currencyOf(f, i, currency)), Tank: f.Typed(at("tank"))}
		if c := f.Count(at("declared"), 1, holdfast.MaxAnimals, true); c != nil {
			l.Declared = *c
		}
		if c := f.Count(at("doa"), 0, holdfast.MaxAnimals, false); c != nil {
			l.DOA = *c
		}
		a.Lines, kept = append(a.Lines, l), append(kept, i)
	}
	return a, kept
}

// atLines turns "lines[2].strain" into the form's own "strain_4".
func atLines(problems holdfast.Problems, kept []int) holdfast.Problems {
	var out holdfast.Problems
	for _, q := range problems {
		var i int
		var name string
		if strings.HasPrefix(q.Field, "tanks[") {
			q.Field = "into"
		}
		if _, err := fmt.Sscanf(strings.NewReplacer("[", " ", "].", " ").Replace(q.Field), "lines %d %s", &i, &name); err == nil && i < len(kept) {
			q.Field = fmt.Sprintf("%s_%d", name, kept[i])
		}
		out = append(out, q)
	}
	return out
}

// amount reads money in the currency's main unit.
func amount(f *form.Form, name, currency string) *holdfast.Money {
	x := f.Number(name, form.Range{Low: 0, High: 1e9, Unit: currency})
	if x == nil {
		return nil
	}
	return &holdfast.Money{Minor: int64(math.Round(*x * float64(money.Units(currency)))), Currency: currency}
}
