package intake

import (
	"slices"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"holdfast/science/ref"
)

// Hard limits. A list beyond one of them is refused whole, never cut.
const (
	MaxBytes   = 10 << 20 // of the file as given
	MaxRows    = 5000     // rows that hold anything
	MaxColumns = 100
	MaxCell    = 2000 // characters in one cell
)

// CellKind says what a cell holds, as far as the file itself tells.
type CellKind string

// The kinds of cells. A text file has only Text.
const (
	Text    CellKind = "text"
	Number  CellKind = "number"
	Date    CellKind = "date"
	Bool    CellKind = "bool"
	Fault   CellKind = "fault"   // a spreadsheet error such as #N/A
	Formula CellKind = "formula" // a formula without a stored result
)

// Cell is one cell of a list.
type Cell struct {
	// Text is the content without surrounding blanks. A number of a
	// spreadsheet is written with a point and without grouping.
	Text string   `json:"text"`
	Kind CellKind `json:"kind"`
	// Currency is the ISO 4217 code or the sign that the number format of a
	// spreadsheet cell shows beside the number, if any.
	Currency string `json:"currency,omitempty"`
	// MergedFrom is the reference of the cell whose value this one repeats
	// because both are merged.
	MergedFrom string `json:"merged_from,omitempty"`
}

func (c Cell) blank() bool { return c.Text == "" }

// Row is a row that holds at least one cell.
type Row struct {
	// Number counts from 1 as the spreadsheet program shows it.
	Number int    `json:"number"`
	Cells  []Cell `json:"cells"`
	Hidden bool   `json:"hidden,omitempty"`
}

func (r Row) at(col int) Cell {
	if col < 0 || col >= len(r.Cells) {
		return Cell{}
	}
	return r.Cells[col]
}

// filled returns the columns that hold something of their own: cells that
// repeat a merged neighbour of the same row do not count.
func (r Row) filled() []int {
	var cols []int
	for i, c := range r.Cells {
		if !c.blank() && !r.repeats(i) {
			cols = append(cols, i)
		}
	}
	return cols
}

// repeats says whether the cell repeats another cell of the same row.
func (r Row) repeats(col int) bool {
	from := r.at(col).MergedFrom
	if from == "" {
		return false
	}
	c, row, ok := parseRef(from)
	return ok && row == r.Number && c != col
}

// SheetInfo describes one sheet of a workbook and whether it was taken.
type SheetInfo struct {
	Name   string `json:"name"`
	Rows   int    `json:"rows"`
	Hidden bool   `json:"hidden,omitempty"`
	Taken  bool   `json:"taken"`
	// Why says in words why it was taken or left out.
	Why string `json:"why"`
}

// Table is a list as read, before any of its columns has a meaning.
type Table struct {
	Format    string      `json:"format"`              // "xlsx" or "csv"
	Encoding  string      `json:"encoding,omitempty"`  // of a text file
	Separator string      `json:"separator,omitempty"` // of a text file
	Sheet     string      `json:"sheet,omitempty"`     // of a workbook
	Sheets    []SheetInfo `json:"sheets,omitempty"`
	// HeaderRow is the number of the row with the column names, 0 for none.
	// HeaderRows is how many rows they take: 0, 1 or 2.
	HeaderRow  int   `json:"header_row"`
	HeaderRows int   `json:"header_rows"`
	Rows       []Row `json:"rows"`
	// Notes say what was decided while reading, in plain sentences.
	Notes []string `json:"notes,omitempty"`

	names []string // header of each column, "" where none
	first int      // index in Rows of the first row after the header
}

// Options overrule what Read would decide by itself. The zero value decides
// everything.
type Options struct {
	// Sheet is the name of the sheet to take.
	Sheet string
	// Encoding of a text file: one of Encodings.
	Encoding string
	// Separator of a text file: comma, semicolon, tab or bar.
	Separator rune
	// HeaderRow is the number of the row with the column names, -1 for none.
	HeaderRow int
}

// Read reads a workbook (XLSX) or a text file (CSV and its kin). What the file
// is follows from its content, not from a name. Errors are *ref.InputError
// with Field "file", or the reference of the offending cell.
func Read(data []byte, opt Options) (*Table, error) {
	if len(data) > MaxBytes {
		return nil, ref.Inputf("file", "Keep only the packing list in the file, without pictures.",
			"the file has %s bytes, more than the %d MB that are read", group(len(data)), MaxBytes>>20)
	}
	kind, err := sniff(data)
	if err != nil {
		return nil, err
	}
	if kind == "xlsx" {
		return readXLSX(data, opt)
	}
	return readCSV(data, opt)
}

// Set replaces the text of one cell, given as for instance "C7": for a person
// who mends a row on the page instead of in the file.
func (t *Table) Set(reference, text string) error {
	col, row, ok := parseRef(reference)
	if !ok || col >= len(t.names) {
		return ref.Inputf(reference, "Name a cell of the list as C7.", "%q is not a cell of the list", reference)
	}
	if utf8.RuneCountInString(text) > MaxCell {
		return tooLong(reference)
	}
	i, found := slices.BinarySearchFunc(t.Rows, row, func(r Row, n int) int { return r.Number - n })
	if !found {
		return ref.Inputf(reference, "Name a cell of a row that holds something.", "row %d is empty", row)
	}
	if i < t.first {
		return ref.Inputf(reference, "Change the file, or the mapping.", "%s lies above the rows of the list", reference)
	}
	r := &t.Rows[i]
	for len(r.Cells) <= col {
		r.Cells = append(r.Cells, Cell{})
	}
	r.Cells[col] = Cell{Text: clean(text), Kind: Text}
	return nil
}

// Drop leaves a row of the list out, given by its number: for a person who
// decides on the page that the row is no animal.
func (t *Table) Drop(row int) error {
	i, found := slices.BinarySearchFunc(t.Rows, row, func(r Row, n int) int { return r.Number - n })
	if !found || i < t.first {
		return ref.Inputf("row", "Name a row of the list below its column names.", "row %d is no row of the list", row)
	}
	t.Rows = slices.Delete(t.Rows, i, i+1)
	return nil
}

// columns returns how many columns the table has.
func (t *Table) columns() int {
	n := 0
	for _, r := range t.Rows {
		n = max(n, len(r.Cells))
	}
	return n
}

// body returns the rows after the header.
func (t *Table) body() []Row { return t.Rows[t.first:] }

// Ref names a cell as spreadsheets do: column 0, row 7 is "A7".
func Ref(col, row int) string { return Letter(col) + strconv.Itoa(row) }

// Letter names a column, counted from 0, as spreadsheets do.
func Letter(col int) string {
	s := ""
	for n := col + 1; n > 0; n = (n - 1) / 26 {
		s = string(rune('A'+(n-1)%26)) + s
	}
	return s
}

// parseRef reads a reference such as "C7" into a column from 0 and a row from
// 1. It accepts at most the last cell of a sheet, XFD1048576.
func parseRef(s string) (col, row int, ok bool) {
	i := 0
	for ; i < len(s) && i < 4; i++ {
		c := s[i] &^ 0x20
		if c < 'A' || c > 'Z' {
			break
		}
		col = col*26 + int(c-'A') + 1
	}
	row, err := strconv.Atoi(s[i:])
	if i == 0 || col > 16384 || err != nil || row < 1 || row > 1<<20 || s[i] < '0' || s[i] > '9' {
		return 0, 0, false
	}
	return col - 1, row, true
}

// clean trims a text and drops what no person typed: control characters save
// tab and line break, zero-width marks.
func clean(s string) string {
	s = strings.Map(func(r rune) rune {
		switch {
		case r == '\u200b' || r == '\u200e' || r == '\u200f' || r == '\ufeff':
			return -1
		case unicode.IsControl(r) && r != '\n' && r != '\t':
			return -1
		}
		return r
	}, s)
	return strings.TrimSpace(strings.ToValidUTF8(s, "\ufffd"))
}

func tooLong(reference string) error {
	return ref.Inputf(reference, "Shorten it, or take the long text out of the list.",
		"the cell holds more than %s characters", group(MaxCell))
}

func tooManyRows() error {
	return ref.Inputf("file", "Split the list, or delete the rows that do not belong to it.",
		"the list has more than %s rows", group(MaxRows))
}

func tooManyColumns(reference string) error {
	return ref.Inputf(reference, "Delete the columns that do not belong to the list.",
		"the list is wider than %d columns", MaxColumns)
}

// group writes a whole number with commas between the thousands.
func group(n int) string {
	s := strconv.Itoa(n)
	for i := len(s) - 3; i > 0 && s[i-1] != '-'; i -= 3 {
		s = s[:i] + "," + s[i:]
	}
	return s
}
