package web

import (
	"archive/zip"
	"bytes"
	"crypto/rand"
	"fmt"
	"io"
	"maps"
	"mime/multipart"
	"net/http"
	"net/http/httptest"
	"net/url"
	"runtime"
	"strings"
	"testing"
	"time"

	"holdfast"
	"holdfast/desk"
	"holdfast/internal/store/sqlite"
	"holdfast/internal/web/webtest"
)

// newServer returns the pages of an empty desk.
func newServer(t *testing.T) *Server {
	t.Helper()
	ev := desk.NewMemo(desk.Static{})
	store, err := sqlite.Open(t.Context(), t.TempDir(), desk.Summary{Evidence: ev}, sqlite.Options{})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { store.Close() })
	s, err := New(Config{Desk: &desk.Desk{Store: store, Evidence: ev, Site: "shop", Now: time.Now, Random: rand.Reader}})
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// post sends a form to a path and returns the answer.
func post(t *testing.T, s *Server, path string, v url.Values) *httptest.ResponseRecorder {
	t.Helper()
	r := httptest.NewRequest("POST", "http://localhost"+path, strings.NewReader(v.Encode()))
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	w := httptest.NewRecorder()
	s.ServeHTTP(w, r)
	return w
}

func upload(t *testing.T, s *Server, supplier, name string, data []byte) *httptest.ResponseRecorder {
	t.Helper()
	var b bytes.Buffer
	m := multipart.NewWriter(&b)
	_ = m.WriteField("supplier", supplier)
	part, err := m.CreateFormFile("file", name)
	if err != nil {
		t.Fatal(err)
	}
	_, _ = part.Write(data)
	_ = m.Close()
	r := httptest.NewRequest("POST", "http://localhost/receive/list", &b)
	r.Header.Set("Content-Type", m.FormDataContentType())
	w := httptest.NewRecorder()
	s.ServeHTTP(w, r)
	return w
}

func entries(t *testing.T, s *Server) int64 {
	t.Helper()
	n, _, err := s.Desk.Store.Head(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	return n
}

func arrival(change func(url.Values)) url.Values {
	v := url.Values{"supplier": {"Invented Farm"}, "n": {"2"}, "do": {"receive"}, "boxes": {"1"},
		"strain_0": {"Blue velvet"}, "declared_0": {"100"}, "doa_0": {"3"}, "price_0": {"0,45"}}
	if change != nil {
		change(v)
	}
	return v
}

func TestReceiveByHand(t *testing.T) {
	s := newServer(t)
	w := post(t, s, "/receive", arrival(func(v url.Values) { v.Set("ph", "6.5"); v.Set("temp_c", "22"); v.Set("tan_mg_l_n", "4") }))
	if w.Code != http.StatusSeeOther {
		t.Fatalf("status %d: %s", w.Code, w.Body)
	}
	get := httptest.NewRequest("GET", "http://localhost"+w.Header().Get("Location"), nil)
	page := httptest.NewRecorder()
	s.ServeHTTP(page, get)
	for _, want := range []string{"97 alive. 100 on the list, 3 dead on arrival.", "Look at", "Un-ionized ammonia"} {
		if !strings.Contains(page.Body.String(), want) {
			t.Errorf("the delivery's page does not say %q", want)
		}
	}
	rows, _, err := s.Desk.Store.Lots(t.Context(), desk.LotQuery{})
	if err != nil || len(rows) != 1 || rows[0].Price == nil || *rows[0].Price != (holdfast.Money{Minor: 45, Currency: "EUR"}) {
		t.Errorf("rows %+v (%v)", rows, err)
	}
}

// A delivery that was entered by mistake is taken back in one press, with its
// lots, and put back in another.
func TestReceiveIsTakenBackWhole(t *testing.T) {
	s := newServer(t)
	w := post(t, s, "/receive", arrival(nil))
	to := w.Header().Get("Location")
	lots := func() int {
		t.Helper()
		rows, _, err := s.Desk.Store.Lots(t.Context(), desk.LotQuery{})
		if err != nil {
			t.Fatal(err)
		}
		return len(rows)
	}
	before := lots()
	for _, want := range []int{0, before} {
		page := get(t, s, to)
		if page.Code != http.StatusOK {
			t.Fatalf("%s: status %d", to, page.Code)
		}
		form := url.Values{}
		for _, n := range webtest.Parse(t, page.Body).All("#strips form input") {
			form.Add(webtest.Attr(n, "name"), webtest.Attr(n, "value"))
		}
		w = post(t, s, "/undo", form)
		if to = w.Header().Get("Location"); w.Code != http.StatusSeeOther || !strings.HasPrefix(to, "/receive") {
			t.Fatalf("status %d, leads to %q", w.Code, to)
		}
		if n := lots(); n != want {
			t.Errorf("%d lots, want %d", n, want)
		}
	}
	if before == 0 {
		t.Error("nothing was received")
	}
}

// The water of the tank is measured with the bag's, and stands at the tank.
func TestReceiveKeepsReadingsOfTheTank(t *testing.T) {
	s := newServer(t)
	if _, err := s.Desk.SetTank(t.Context(), desk.Actor{Who: "Mara"}, desk.TankForm{ID: "7", Use: "quarantine", Shape: holdfast.Shape{Form: "known_fill", KnownFillL: 50}}); err != nil {
		t.Fatal(err)
	}
	w := post(t, s, "/receive", arrival(func(v url.Values) { v.Set("into_ph", "6.9") }))
	if w.Code != http.StatusBadRequest || !strings.Contains(w.Body.String(), "Choose which tank was measured.") {
		t.Errorf("readings of no tank: status %d", w.Code)
	}
	w = post(t, s, "/receive", arrival(func(v url.Values) { v.Set("into", "nowhere"); v.Set("into_ph", "6.9") }))
	if w.Code != http.StatusBadRequest || entries(t, s) != 1 {
		t.Errorf("a tank that is not there: status %d, %d entries", w.Code, entries(t, s))
	}
	w = post(t, s, "/receive", arrival(func(v url.Values) { v.Set("into", "7"); v.Set("into_ph", "6,9"); v.Set("into_gh_dh", "8") }))
	if w.Code != http.StatusSeeOther {
		t.Fatalf("status %d: %s", w.Code, w.Body)
	}
	tank, err := s.Desk.Tank(t.Context(), "7")
	if err != nil || len(tank.Measured) != 1 {
		t.Fatalf("the tank was measured %d times, want once (%v)", len(tank.Measured), err)
	}
	if m := tank.Measured[0].Payload.(*holdfast.WaterMeasured); m.PH == nil || *m.PH != 6.9 || m.GH == nil || *m.GH != 8 {
		t.Errorf("the tank's reading is %+v", m)
	}
}

func TestReceiveRefusesAtTheFieldAndWritesNothing(t *testing.T) {
	for name, change := range map[string]func(url.Values){
		"no supplier":     func(v url.Values) { v.Set("supplier", "") },
		"negative":        func(v url.Values) { v.Set("declared_0", "-5") },
		"huge":            func(v url.Values) { v.Set("declared_0", "99999999999999999999") },
		"not a number":    func(v url.Values) { v.Set("declared_0", "NaN") },
		"more dead":       func(v url.Values) { v.Set("doa_0", "101") },
		"wrong unit":      func(v url.Values) { v.Set("temp_c", "72 °F") },
		"pH 17":           func(v url.Values) { v.Set("ph", "17") },
		"unknown species": func(v url.Values) { v.Set("strain_0", "zzz") },
		"bad origin":      func(v url.Values) { v.Set("origin", "moon") },
		"broken text":     func(v url.Values) { v.Set("strain_0", "blue\xff\xfevelvet") },
		"nothing listed": func(v url.Values) {
			v.Set("strain_0", "")
			v.Set("declared_0", "")
			v.Set("doa_0", "")
			v.Set("price_0", "")
		},
		"too many lines":    func(v url.Values) { v.Set("n", "1000000") },
		"negative price":    func(v url.Values) { v.Set("price_0", "-1") },
		"a very long text":  func(v url.Values) { v.Set("note", strings.Repeat("x", 5000)) },
		"count as a phrase": func(v url.Values) { v.Set("declared_0", "a hundred") },
	} {
		t.Run(name, func(t *testing.T) {
			s := newServer(t)
			before := entries(t, s)
			w := post(t, s, "/receive", arrival(change))
			if w.Code != http.StatusBadRequest {
				t.Errorf("status %d, want 400", w.Code)
			}
			if !strings.Contains(w.Body.String(), "not right yet") {
				t.Errorf("the page does not list what is wrong")
			}
			if n := entries(t, s); n != before {
				t.Errorf("%d entries were written", n-before)
			}
		})
	}
}

func TestPackingListIsReadMappedAndReceived(t *testing.T) {
	s := newServer(t)
	list := "Variety;Pcs;Unit EUR;Box\nBlue velvet;200;0,40;1\nCrystal red;60;2,10;1\n"
	w := upload(t, s, "Invented Farm", "list.csv", []byte(list))
	body := w.Body.String()
	if w.Code != http.StatusOK || !strings.Contains(body, "2 lines, 260 animals") {
		t.Fatalf("status %d: %.2000s", w.Code, body)
	}
	_, rest, _ := strings.Cut(body, `name="token" value="`)
	token, _, _ := strings.Cut(rest, `"`)
	again := post(t, s, "/receive/list", url.Values{"token": {token}, "supplier": {"Invented Farm"}, "do": {"again"}, "col_A": {"strain"}, "col_B": {"notes"}})
	if again.Code != http.StatusOK || !strings.Contains(again.Body.String(), "to put right") {
		t.Errorf("without a count column: status %d", again.Code)
	}
	use := post(t, s, "/receive/list", url.Values{"token": {token}, "supplier": {"Invented Farm"}, "do": {"use"}, "currency": {"EUR"}, "decimal": {","},
		"col_A": {"strain"}, "col_B": {"count"}, "col_C": {"price"}, "col_D": {"box"}})
	if use.Code != http.StatusOK || !strings.Contains(use.Body.String(), `value="Crystal red"`) {
		t.Errorf("the form is not filled: status %d", use.Code)
	}
	if n := entries(t, s); n != 0 {
		t.Errorf("%d entries before anything was received", n)
	}
}

func TestPackingListHostile(t *testing.T) {
	s := newServer(t)
	for name, data := range map[string][]byte{
		"empty":      {},
		"binary":     bytes.Repeat([]byte{0, 1, 2, 250}, 1000),
		"half a zip": []byte("PK\x03\x04 not a workbook"),
		"10 MB text": bytes.Repeat([]byte("lorem ipsum dolor "), 600_000),
	} {
		w := upload(t, s, "Invented Farm", "list.xlsx", data)
		// What can be read as text at all is shown with its problems; nothing of
		// it can go on.
		if w.Code != http.StatusBadRequest && !strings.Contains(w.Body.String(), "to put right") {
			t.Errorf("%s: status %d and no problem shown", name, w.Code)
		}
		if strings.Contains(w.Body.String(), "Go on:") {
			t.Errorf("%s: may go on", name)
		}
	}
	if n := entries(t, s); n != 0 {
		t.Errorf("%d entries were written", n)
	}
}

// A workbook of a few hundred kilobytes that unpacks to hundreds of megabytes
// is refused at the field, and quickly: nothing of it is unpacked beyond a bound.
func TestPackingListThatIsABomb(t *testing.T) {
	s := newServer(t)
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	for name, text := range map[string]string{
		"[Content_Types].xml":        `<?xml version="1.0"?><Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types"><Default Extension="xml" ContentType="application/xml"/><Override PartName="/xl/workbook.xml" ContentType="application/vnd.openxmlformats-officedocument.spreadsheetml.sheet.main+xml"/></Types>`,
		"_rels/.rels":                `<?xml version="1.0"?><Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="r1" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/officeDocument" Target="xl/workbook.xml"/></Relationships>`,
		"xl/workbook.xml":            `<?xml version="1.0"?><workbook xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main" xmlns:r="http://schemas.openxmlformats.org/officeDocument/2006/relationships"><sheets><sheet name="A" sheetId="1" r:id="r1"/></sheets></workbook>`,
		"xl/_rels/workbook.xml.rels": `<?xml version="1.0"?><Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="r1" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/worksheet" Target="worksheets/sheet1.xml"/></Relationships>`,
	} {
		part, err := z.Create(name)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := io.WriteString(part, text); err != nil {
			t.Fatal(err)
		}
	}
	part, err := z.Create("xl/worksheets/sheet1.xml")
	if err != nil {
		t.Fatal(err)
	}
	if _, err := io.WriteString(part, `<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><sheetData>`); err != nil {
		t.Fatal(err)
	}
	rows := strings.Repeat("<row><c><v>1</v></c></row>", 40_000)
	for range 200 { // about 200 MB
		if _, err := io.WriteString(part, rows); err != nil {
			t.Fatal(err)
		}
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	if b.Len() > 5<<20 {
		t.Fatalf("the bomb has %d bytes, more than one would notice", b.Len())
	}
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	w := upload(t, s, "Invented Farm", "list.xlsx", b.Bytes())
	runtime.ReadMemStats(&after)
	if w.Code != http.StatusBadRequest || !strings.Contains(w.Body.String(), `aria-invalid="true"`) {
		t.Errorf("status %d: %.300s", w.Code, w.Body)
	}
	if used := (after.TotalAlloc - before.TotalAlloc) >> 20; used > 150 {
		t.Errorf("reading it took %d MB of memory", used)
	}
	if n := entries(t, s); n != 0 {
		t.Errorf("%d entries were written", n)
	}
}

// A wrong cell is put right on the page, or its row left out; both stay known
// while the columns are settled, and prices keep the currency of the list.
func TestPackingListMendedOnThePage(t *testing.T) {
	s := newServer(t)
	list := "Variety;Pcs;Unit USD\nBlue velvet;lots;0,40\nCrystal red;60;2,10\nFoam box;some;1,00\n"
	w := upload(t, s, "Invented Farm", "list.csv", []byte(list))
	body := w.Body.String()
	for _, wants := range []string{`name="cell_B2"`, `name="cell_B4"`, `value="lots"`, "Leave row 4 out", "B2, Blue velvet"} {
		if !strings.Contains(body, wants) {
			t.Errorf("no %s on the page: %.3000s", wants, body)
		}
	}
	_, rest, _ := strings.Cut(body, `name="token" value="`)
	token, _, _ := strings.Cut(rest, `"`)
	v := func(more url.Values) url.Values {
		all := url.Values{"token": {token}, "supplier": {"Invented Farm"}, "decimal": {","}, "col_A": {"strain"}, "col_B": {"count"}, "col_C": {"price"}}
		maps.Copy(all, more)
		return all
	}
	again := post(t, s, "/receive/list", v(url.Values{"do": {"again"}, "cell": {"B2", "B4"}, "cell_B2": {"200"}, "cell_B4": {"some"}, "out": {"4"}}))
	if body = again.Body.String(); !strings.Contains(body, "2 lines, 260 animals") || !strings.Contains(body, "Row 4 is left out.") || !strings.Contains(body, `<input type="hidden" name="cell_B2" value="200">`) {
		t.Fatalf("mended: %.3000s", body)
	}
	use := post(t, s, "/receive/list", v(url.Values{"do": {"use"}, "cell": {"B2"}, "cell_B2": {"200"}, "out": {"4"}}))
	if !strings.Contains(use.Body.String(), `name="currency_0" value="USD"`) {
		t.Errorf("the currency is not carried along: %.3000s", use.Body)
	}
	for _, bad := range []url.Values{{"cell": {"ZZZ9"}}, {"cell": {"B1"}, "cell_B1": {"x"}}, {"out": {"99"}}, {"out": {"1"}}} {
		if w := post(t, s, "/receive/list", v(bad)); w.Code != http.StatusBadRequest {
			t.Errorf("%v: status %d", bad, w.Code)
		}
	}
	a := url.Values{"supplier": {"Invented Farm"}, "n": {"1"}, "do": {"receive"}, "strain_0": {"Blue velvet"}, "species_0": {"neocaridina"}, "declared_0": {"100"}, "price_0": {"0.45"}, "currency_0": {"USD"}}
	if w := post(t, s, "/receive", a); w.Code != http.StatusSeeOther {
		t.Fatalf("status %d: %.3000s", w.Code, w.Body)
	}
	rows, _, err := s.Desk.Store.Lots(t.Context(), desk.LotQuery{Sort: desk.ByOldest})
	if err != nil || len(rows) != 1 {
		t.Fatal(len(rows), err)
	}
	l, err := s.Desk.Lot(t.Context(), rows[0].ID)
	if err != nil {
		t.Fatal(err)
	}
	if l.Price == nil || l.Price.Currency != "USD" {
		t.Errorf("the price is %v, want dollars", l.Price)
	}
}

// One press gives every strain the next free tank of quarantine, and leaves
// what was chosen by hand.
func TestEveryStrainGetsAFreeTank(t *testing.T) {
	s := newServer(t)
	for i, use := range []string{"sale", "quarantine", "quarantine", "quarantine"} {
		if _, err := s.Desk.SetTank(t.Context(), desk.Actor{Who: "Ida"}, desk.TankForm{ID: fmt.Sprint(i), Use: use, Place: i, Shape: holdfast.Shape{Form: "known_fill", KnownFillL: 50}}); err != nil {
			t.Fatal(err)
		}
	}
	w := post(t, s, "/receive", url.Values{"n": {"4"}, "do": {"tanks"}, "strain_0": {"A"}, "strain_1": {"B"}, "tank_1": {"1"}, "strain_3": {"C"}})
	doc := webtest.Parse(t, w.Body)
	for i, tank := range []string{"2", "1", "", "3"} {
		if got := webtest.Attr(doc.One(fmt.Sprintf("#tank_%d option[selected]", i)), "value"); got != tank {
			t.Errorf("strain %d goes into tank %q, want %q", i, got, tank)
		}
	}
	if n := entries(t, s); n != 4 {
		t.Errorf("%d entries, want the four tanks only", n)
	}
}
