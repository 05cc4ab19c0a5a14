package intake

import (
	"archive/zip"
	"bytes"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"

	"holdfast/science/ref"
)

// part is one file of a workbook made by hand.
type part struct{ name, text string }

const (
	relsPart  = `<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships"><Relationship Id="rId1" Type="http://schemas.openxmlformats.org/officeDocument/2006/relationships/worksheet" Target="worksheets/sheet1.xml"/></Relationships>`
	bookPart  = `<workbook xmlns:r="http://schemas.openxmlformats.org/officeDocument/2006/relationships"><sheets><sheet name="List" sheetId="1" r:id="rId1"/></sheets></workbook>`
	sheetHead = `<worksheet><sheetData>`
	sheetTail = `</sheetData></worksheet>`
)

// workbook zips a workbook with one sheet; more parts may follow.
func workbook(t testing.TB, sheet string, more ...part) []byte {
	t.Helper()
	var buf bytes.Buffer
	z := zip.NewWriter(&buf)
	parts := append([]part{{"xl/workbook.xml", bookPart}, {"xl/_rels/workbook.xml.rels", relsPart}, {"xl/worksheets/sheet1.xml", sheet}}, more...)
	for _, p := range parts {
		w, err := z.Create(p.name)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := io.WriteString(w, p.text); err != nil {
			t.Fatal(err)
		}
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	return buf.Bytes()
}

// inputError fails the test unless err is for people and names a field.
func inputError(t *testing.T, err error) *ref.InputError {
	t.Helper()
	var in *ref.InputError
	if !errors.As(err, &in) || in.Message == "" || in.Hint == "" || in.Field == "" {
		t.Fatalf("error %#v is no complete input error", err)
	}
	return in
}

// TestBombs reads workbooks that unpack to hundreds of megabytes and wants
// both the refusal and that little was allocated on the way.
func TestBombs(t *testing.T) {
	size := 400 << 20
	if testing.Short() {
		size = 80 << 20
	}
	for name, data := range map[string][]byte{
		"sheet":   bomb(t, "xl/worksheets/sheet1.xml", sheetHead, `<row><c><v>1</v></c></row>`, size),
		"strings": bomb(t, "xl/sharedStrings.xml", `<sst>`, `<si><t>a</t></si>`, size),
		"styles":  bomb(t, "xl/styles.xml", `<styleSheet><cellXfs>`, `<xf numFmtId="14"/>`, size),
		"depth":   bomb(t, "xl/worksheets/sheet1.xml", ``, `<a>`, size),
	} {
		t.Run(name, func(t *testing.T) {
			if len(data) > MaxBytes {
				t.Fatalf("the bomb itself has %d bytes", len(data))
			}
			in := inputError(t, allocated(t, data, 16<<20))
			if !strings.Contains(in.Message, "unpacks to more than") {
				t.Errorf("message %q", in.Message)
			}
		})
	}
}

// TestBombWithFalseSize lies about the size in the archive's directory.
func TestBombWithFalseSize(t *testing.T) {
	data := bomb(t, "xl/worksheets/sheet1.xml", sheetHead, `<row><c><v></v></c></row>`, 80<<20)
	r, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		t.Fatal(err)
	}
	var buf bytes.Buffer
	z := zip.NewWriter(&buf)
	for _, f := range r.File {
		h := f.FileHeader
		if f.UncompressedSize64 > 1<<20 {
			h.UncompressedSize64 = 1000
		}
		raw, err := f.OpenRaw()
		if err != nil {
			t.Fatal(err)
		}
		w, err := z.CreateRaw(&h)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := io.Copy(w, raw); err != nil {
			t.Fatal(err)
		}
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	inputError(t, allocated(t, buf.Bytes(), 16<<20))
}

// TestJustBelowTheLimits costs most of what may be: parts just below the
// limit, with nothing useful in them.
func TestJustBelowTheLimits(t *testing.T) {
	if testing.Short() {
		t.Skip("unpacks 32 MB four times")
	}
	size := maxPart - 1000
	for name, data := range map[string][]byte{
		"empty cells":   bomb(t, "xl/worksheets/sheet1.xml", sheetHead, `<row><c/><c/><c/><c/></row>`, size),
		"filled cells":  bomb(t, "xl/worksheets/sheet1.xml", sheetHead, `<row><c t="inlineStr"><is><t>a</t></is></c></row>`, size),
		"empty strings": bomb(t, "xl/sharedStrings.xml", `<sst>`, `<si/>`, size),
		"one string":    bomb(t, "xl/sharedStrings.xml", `<sst><si><t>`, `aaaaaaaaaaaaaaaa`, size),
		"depth":         bomb(t, "xl/worksheets/sheet1.xml", ``, `<a>`, size),
		"merges":        bomb(t, "xl/worksheets/sheet1.xml", sheetHead+`<row r="1"><c><v>1</v></c></row></sheetData><mergeCells>`, `<mergeCell ref="A1:XFD1048576"/>`, size),
	} {
		t.Run(name, func(t *testing.T) {
			before := live()
			table, err := Read(data, Options{})
			if err != nil {
				inputError(t, err)
			}
			if grown := int64(live()) - int64(before); grown > 64<<20 {
				t.Errorf("%d MB are kept", grown>>20)
			}
			runtime.KeepAlive(table)
		})
	}
}

func live() uint64 {
	runtime.GC()
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	return m.HeapAlloc
}

// bomb makes a workbook of which one part repeats a text up to size bytes.
func bomb(t *testing.T, name, head, repeat string, size int) []byte {
	t.Helper()
	var buf bytes.Buffer
	z := zip.NewWriter(&buf)
	for _, p := range []part{{"xl/workbook.xml", bookPart}, {"xl/_rels/workbook.xml.rels", relsPart}, {"xl/worksheets/sheet1.xml", sheetHead + `<row><c><v>1</v></c></row>` + sheetTail}} {
		if p.name == name {
			continue
		}
		w, _ := z.Create(p.name)
		_, _ = io.WriteString(w, p.text)
	}
	w, err := z.Create(name)
	if err != nil {
		t.Fatal(err)
	}
	_, _ = io.WriteString(w, head)
	block := strings.Repeat(repeat, 1<<16/len(repeat))
	for n := len(head); n+len(block) <= size; n += len(block) {
		if _, err := io.WriteString(w, block); err != nil {
			t.Fatal(err)
		}
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	return buf.Bytes()
}

// allocated reads data and fails when more than limit bytes were allocated.
func allocated(t *testing.T, data []byte, limit uint64) error {
	t.Helper()
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	_, err := Read(data, Options{})
	runtime.ReadMemStats(&after)
	if got := after.TotalAlloc - before.TotalAlloc; got > limit {
		t.Errorf("%d MB were allocated", got>>20)
	}
	return err
}

func TestLimits(t *testing.T) {
	rows := func(n int) string { return "Strain,Qty\n" + strings.Repeat("Blue,1\n", n) }
	sheetRows := func(n int) []byte {
		return workbook(t, sheetHead+strings.Repeat(`<row><c t="inlineStr"><is><t>Blue</t></is></c><c><v>5</v></c></row>`, n)+sheetTail)
	}
	wide := func(n int) string { return strings.Repeat("a,", n-1) + "a\n" }
	long := func(n int) string { return "Strain,Qty\n" + strings.Repeat("ü", n) + ",5\n" }
	far := func(ref string) []byte {
		return workbook(t, sheetHead+`<row><c r="`+ref+`"><v>5</v></c></row>`+sheetTail)
	}
	for _, c := range []struct {
		name  string
		data  []byte
		field string // of the error; "" when it is read
	}{
		{"5,000 rows", []byte(rows(MaxRows - 1)), ""},
		{"5,001 rows", []byte(rows(MaxRows)), "file"},
		{"5,000 rows of a sheet", sheetRows(MaxRows), ""},
		{"5,001 rows of a sheet", sheetRows(MaxRows + 1), "file"},
		{"100 columns", []byte(wide(MaxColumns)), ""},
		{"101 columns", []byte(wide(MaxColumns + 1)), "CW1"},
		{"column 100 of a sheet", far("CV1"), ""},
		{"column 101 of a sheet", far("CW1"), "CW1"},
		{"2,000 letters", []byte(long(MaxCell)), ""},
		{"2,001 letters", []byte(long(MaxCell + 1)), "A2"},
		{"2,001 letters in a sheet", workbook(t, sheetHead+`<row><c t="inlineStr"><is><t>`+strings.Repeat("ü", MaxCell+1)+`</t></is></c></row>`+sheetTail), "A1"},
		{"10 MB of text", bytes.Repeat([]byte("a"), MaxBytes), "A1"},
		{"more than 10 MB", bytes.Repeat([]byte("a"), MaxBytes+1), "file"},
		{"nothing", nil, "file"},
		{"blanks", []byte(" \n \n"), "file"},
		{"binary", []byte("a\x00\x01\x02b\x00\xffc,d\n"), "file"},
		{"a PDF", []byte("%PDF-1.7"), "file"},
		{"an old workbook", []byte("\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1 and so on"), "file"},
		{"a web page", []byte("\n<HTML><table>"), "file"},
		{"half a zip", workbook(t, sheetHead+sheetTail)[:100], "file"},
		{"an empty workbook", workbook(t, sheetHead+sheetTail), "file"},
		{"broken XML", workbook(t, sheetHead+`<row><c><v>5</w></row>`), "file"},
		{"a bad reference", workbook(t, sheetHead+`<row><c r="5A"><v>5</v></c></row>`), "file"},
		{"rows backwards", workbook(t, sheetHead+`<row r="5"><c><v>5</v></c></row><row r="4"><c><v>5</v></c></row>`+sheetTail), "file"},
		{"an open quotation mark", []byte("Strain,Qty\n\"Blue,5\nRed,6\nGreen,7\n"), "A2"},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := Read(c.data, Options{})
			if c.field == "" {
				if err != nil {
					t.Fatal(err)
				}
				return
			}
			if err == nil {
				t.Fatal("it was read")
			}
			if in := inputError(t, err); in.Field != c.field {
				t.Errorf("error at %q (%v), want %q", in.Field, in, c.field)
			}
		})
	}
}

func TestForeignArchives(t *testing.T) {
	zipped := func(names ...string) []byte {
		var buf bytes.Buffer
		z := zip.NewWriter(&buf)
		for _, n := range names {
			w, _ := z.Create(n)
			_, _ = io.WriteString(w, "<a/>")
		}
		_ = z.Close()
		return buf.Bytes()
	}
	for want, data := range map[string][]byte{
		"OpenDocument":  zipped("mimetype", "content.xml", "META-INF/manifest.xml"),
		"binary":        zipped("xl/workbook.bin"),
		"text document": zipped("word/document.xml"),
		"archive":       zipped("photo.jpg"),
	} {
		_, err := Read(data, Options{})
		if in := inputError(t, err); !strings.Contains(in.Message, want) {
			t.Errorf("%q does not say %q", in.Message, want)
		}
	}
}

// TestRowNumbers wants the numbers that a spreadsheet program shows.
func TestRowNumbers(t *testing.T) {
	table, err := Read([]byte("\n\nStrain,Qty\r\n\"Blue\nwith moss\",5\n\n,,\nRed,6\n"), Options{})
	if err != nil {
		t.Fatal(err)
	}
	var got []int
	for _, r := range table.Rows {
		got = append(got, r.Number)
	}
	if fmt.Sprint(got) != "[3 4 7]" {
		t.Errorf("rows %v, want [3 4 7]", got)
	}
}

func TestOptions(t *testing.T) {
	data := []byte("Some, title\nStrain;Qty\nBl\xe4u;5\n")
	table, err := Read(data, Options{Separator: ';', Encoding: "windows-1252", HeaderRow: 2})
	if err != nil {
		t.Fatal(err)
	}
	if r := Apply(table, Guess(table)); len(r.Lines) != 1 || r.Lines[0].Strain != "Bläu" {
		t.Errorf("lines %+v, problems %v", r.Lines, r.Problems)
	}
	for name, opt := range map[string]Options{
		"separator": {Separator: 'x'}, "encoding": {Encoding: "ebcdic"}, "header row": {HeaderRow: 9},
	} {
		if _, err := Read(data, opt); err == nil || inputError(t, err).Field != name {
			t.Errorf("wrong %s: %v", name, err)
		}
	}
	book, err := os.ReadFile("testdata/lists/two_sheets_merged.xlsx")
	if err != nil {
		t.Fatal(err)
	}
	if table, err = Read(book, Options{Sheet: "Lists"}); err != nil || table.Sheet != "Lists" || len(table.body()) != 30 {
		t.Errorf("sheet Lists: %v", err)
	}
	if _, err := Read(book, Options{Sheet: "None"}); err == nil || inputError(t, err).Field != "sheet" {
		t.Errorf("a sheet that is not there: %v", err)
	}
	if table, err = Read([]byte("Strain,Qty\nBlue,5\n"), Options{HeaderRow: -1}); err != nil || table.HeaderRow != 0 || len(table.body()) != 2 {
		t.Errorf("no header: %v", err)
	}
}

func TestRichTextAndEscapes(t *testing.T) {
	shared := `<sst><si><t>Strain</t></si><si><r><t>Blue </t></r><r><t xml:space="preserve">Velvet</t></r></si><si><t>レッド</t><rPh><t>れっど</t></rPh></si><si><t>a_x000A_b_x005F_x</t></si></sst>`
	sheet := sheetHead + `<row r="1"><c r="A1" t="s"><v>0</v></c><c r="B1" t="str"><f>"Q"&amp;"ty"</f><v>Qty</v></c></row>` +
		`<row r="2"><c r="A2" t="s"><v>1</v></c><c r="B2"><v>5</v></c></row><row r="3"><c r="A3" t="s"><v>2</v></c><c r="B3"><v>0.30000000000000004</v></c></row>` +
		`<row r="4"><c r="A4" t="s"><v>3</v></c><c r="B4"><v>1E2</v></c></row><row r="5"><c r="A5" t="s"><v>99</v></c></row>` + sheetTail
	table, err := Read(workbook(t, sheet, part{"xl/sharedStrings.xml", shared}), Options{})
	if err != nil {
		t.Fatal(err)
	}
	want := [][]string{{"Strain", "Qty"}, {"Blue Velvet", "5"}, {"レッド", "0.3"}, {"a\nb_x", "100"}}
	for i, w := range want {
		for j, text := range w {
			if got := table.Rows[i].at(j).Text; got != text {
				t.Errorf("%s is %q, want %q", Ref(j, i+1), got, text)
			}
		}
	}
	if len(table.Rows) != len(want) {
		t.Errorf("%d rows", len(table.Rows))
	}
}

// The formats are examples of ECMA-376 part 1, 18.8.31, and what spreadsheet
// programs write for currencies.
func TestReadFormat(t *testing.T) {
	for _, c := range []struct {
		id   int
		code string
		want format
	}{
		{0, "", format{}}, {1, "", format{}}, {14, "", format{date: true}}, {22, "", format{date: true}}, {10, "", format{percent: true}},
		{164, `yyyy\-mm\-dd`, format{date: true}}, {164, `[h]:mm`, format{date: true}}, {164, `0.0%`, format{percent: true}},
		{164, `#,##0.00\ [$€-407]`, format{currency: "EUR"}}, {164, `[$$-409]#,##0.00`, format{currency: "USD"}},
		{164, `[$$-C09]#,##0.00`, format{currency: "AUD"}}, {164, `[$¥-411]#,##0`, format{currency: "JPY"}}, {164, `[$¥-804]#,##0.00`, format{currency: "CNY"}},
		{164, `"$"#,##0.00`, format{currency: signs["$"]}}, {164, `#,##0.00 "zł"`, format{currency: "PLN"}}, {164, `[$USD] #,##0.00`, format{currency: "USD"}},
		{164, `[Red]#,##0.00;[Blue]-#,##0`, format{}}, {164, `0.00 "kg"`, format{}}, {164, `"`, format{}}, {164, `[`, format{}}, {164, `\`, format{}},
	} {
		if got := readFormat(c.id, c.code); got != c.want {
			t.Errorf("format %d %q is %+v, want %+v", c.id, c.code, got, c.want)
		}
	}
}

func TestRef(t *testing.T) {
	for text, want := range map[string][2]int{"A1": {0, 1}, "Z9": {25, 9}, "AA10": {26, 10}, "CV5000": {99, 5000}, "XFD1048576": {16383, 1048576}, "c7": {2, 7}} {
		col, row, ok := parseRef(text)
		if !ok || col != want[0] || row != want[1] || Ref(col, row) != strings.ToUpper(text) {
			t.Errorf("%s is column %d, row %d (%t) and back %s", text, col, row, ok, Ref(col, row))
		}
	}
	for _, text := range []string{"", "A", "1", "A0", "A-1", "A+1", "XFE1", "A1048577", "AAAAA1", "A1B", "$A$1", "A 1"} {
		if _, _, ok := parseRef(text); ok {
			t.Errorf("%q was read as a cell", text)
		}
	}
}

func FuzzCSV(f *testing.F) {
	addLists(f, "testdata/lists/*.csv")
	for _, s := range []string{"", "a", "sep=,\n", "\"", "\"\"\"\n", ",,,\n,,\n", "\xff\xfea\x00", "Strain,Qty\n\"a\nb\",1\n", "\xfe\xff", "Total\nTotal\n"} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		if !bytes.HasPrefix(data, []byte("PK")) {
			exercise(t, data)
		}
	})
}

// FuzzXLSX fuzzes the parts of a workbook rather than its compression: the
// sheet, the texts and the styles.
func FuzzXLSX(f *testing.F) {
	f.Add(sheetHead+`<row r="1"><c r="A1" t="s"><v>0</v></c></row>`+sheetTail+`<mergeCells><mergeCell ref="A1:B9"/></mergeCells>`, `<sst><si><t>Strain</t></si></sst>`, `<styleSheet><numFmts><numFmt numFmtId="164" formatCode="[$€-407]0"/></numFmts><cellXfs><xf numFmtId="164"/></cellXfs></styleSheet>`)
	books, _ := filepath.Glob("testdata/lists/*.xlsx")
	for _, book := range books {
		z, err := zip.OpenReader(book)
		if err != nil {
			f.Fatal(err)
		}
		text := func(name string) string {
			file, err := z.Open(name)
			if err != nil {
				return ""
			}
			data, _ := io.ReadAll(file)
			return string(data)
		}
		f.Add(text("xl/worksheets/sheet1.xml"), text("xl/sharedStrings.xml"), text("xl/styles.xml"))
		z.Close()
	}
	f.Fuzz(func(t *testing.T, sheet, shared, styles string) {
		exercise(t, workbook(t, sheet, part{"xl/sharedStrings.xml", shared}, part{"xl/styles.xml", styles}))
	})
}

// FuzzArchive fuzzes the bytes of a whole workbook.
func FuzzArchive(f *testing.F) {
	addLists(f, "testdata/lists/*.xlsx")
	f.Fuzz(func(t *testing.T, data []byte) { exercise(t, data) })
}

func addLists(f *testing.F, pattern string) {
	files, _ := filepath.Glob(pattern)
	if len(files) == 0 {
		f.Fatal("no lists")
	}
	for _, file := range files {
		data, err := os.ReadFile(file)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(data)
	}
}

// exercise reads data, looks at it and checks what must hold for any list.
func exercise(t *testing.T, data []byte) {
	table, err := Read(data, Options{})
	if err != nil {
		inputError(t, err)
		return
	}
	p := Look(table, nil)
	r := p.Result
	if len(r.Problems) > 0 && len(r.Lines) > 0 {
		t.Fatal("lines in spite of problems")
	}
	if len(r.Problems) == 0 && len(r.Lines) == 0 {
		t.Fatal("neither lines nor problems")
	}
	for _, x := range append(r.Problems, r.Warnings...) {
		if x.Message == "" || x.Hint == "" {
			t.Fatalf("incomplete problem %+v", x)
		}
		if _, _, ok := parseRef(x.Cell); x.Cell != "" && !ok {
			t.Fatalf("problem at %q", x.Cell)
		}
	}
	for _, l := range r.Lines {
		if l.Strain == "" || l.Count < 1 || l.Count > MaxCount || l.DOA < 0 || l.DOA > l.Count || l.PriceMinor < 0 || l.TotalMinor < 0 || l.TotalMinor > MaxMinor || l.Priced != (l.Currency != "") {
			t.Fatalf("line %+v", l)
		}
	}
	if len(r.Lines)+len(r.Skipped) > len(table.Rows) {
		t.Fatal("more lines than rows")
	}
	again := Look(table, &p.Mapping)
	if fmt.Sprint(again.Result) != fmt.Sprint(r) {
		t.Fatalf("the remembered mapping gives another result:\n%+v\n%+v", again.Result, r)
	}
}
