package intake

import (
	"encoding/xml"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode/utf8"
)

// merge is a block of merged cells, columns from 0 and rows from 1.
type merge struct{ c0, r0, c1, r1 int }

const maxMerges = 20000

// sheetReader holds the state of reading one sheet.
type sheetReader struct {
	b      *book
	rows   []Row
	row    Row
	number int // of the row being read
	col    int // of the cell being read
	typ    string
	style  int
	value  strings.Builder
	inV    bool
	inF    bool
	hasF   bool
	hasV   bool
	rich   richText
	merges []merge
}

// sheet reads one sheet into a settled table.
func (b *book) sheet(r sheetRef, opt Options) (*Table, error) {
	s := &sheetReader{b: b, col: -1}
	if err := b.stream(r.part, s.read); err != nil {
		return nil, readFault(err, "sheet "+strconv.Quote(r.name))
	}
	s.fill()
	t := &Table{Format: "xlsx", Rows: s.rows}
	if len(t.Rows) == 0 {
		return t, nil
	}
	return t, t.settle(opt)
}

func (s *sheetReader) read(d *xml.Decoder) error {
	for {
		tok, err := d.RawToken()
		if err == io.EOF {
			return nil
		}
		if err != nil {
			return err
		}
		switch e := tok.(type) {
		case xml.StartElement:
			err = s.start(e)
		case xml.EndElement:
			err = s.end(e.Name.Local)
		case xml.CharData:
			if (s.inV || s.inF && !s.hasV) && s.value.Len() <= 8*MaxCell {
				s.value.Write(e[:min(len(e), 8*MaxCell)])
			}
		}
		if err != nil {
			return err
		}
		if s.typ == "inlineStr" {
			s.rich.token(tok)
		}
	}
}

func (s *sheetReader) start(e xml.StartElement) error {
	switch e.Name.Local {
	case "row":
		s.number++
		if n, err := strconv.Atoi(attr(e, "r")); err == nil {
			if n < s.number || n > 1<<20 {
				return damaged("its rows are out of order")
			}
			s.number = n
		}
		s.row, s.col = Row{Number: s.number, Hidden: truth(attr(e, "hidden"))}, -1
	case "c":
		s.col++
		if r := attr(e, "r"); r != "" {
			c, _, ok := parseRef(r)
			if !ok {
				return damaged("cell " + strconv.Quote(r[:min(len(r), 20)]))
			}
			s.col = c
		}
		s.typ = attr(e, "t")
		s.style, _ = strconv.Atoi(attr(e, "s"))
		s.value.Reset()
		s.rich.take()
		s.hasF, s.hasV = false, false
	case "v":
		s.value.Reset()
		s.inV, s.hasV = true, true
	case "f":
		s.inF, s.hasF = true, true
	case "mergeCell":
		from, to, _ := strings.Cut(attr(e, "ref"), ":")
		c0, r0, ok0 := parseRef(from)
		c1, r1, ok1 := parseRef(to)
		if ok0 && ok1 && c1 >= c0 && r1 >= r0 && len(s.merges) < maxMerges {
			s.merges = append(s.merges, merge{c0, r0, c1, r1})
		}
	}
	return nil
}

func (s *sheetReader) end(name string) error {
	switch name {
	case "v":
		s.inV = false
	case "f":
		s.inF = false
	case "c":
		return s.cell()
	case "row":
		if len(s.row.Cells) > 0 {
			if len(s.rows) == MaxRows {
				return tooManyRows()
			}
			s.rows = append(s.rows, s.row)
		}
		s.row = Row{}
	}
	return nil
}

// cell adds the cell just read to its row; empty cells leave no trace.
func (s *sheetReader) cell() error {
	if s.col < 0 || s.row.Number == 0 { // raw tokens need not pair up
		return damaged("a cell outside a row")
	}
	c := s.content()
	s.typ = ""
	if utf8.RuneCountInString(c.Text) > MaxCell {
		return tooLong(Ref(s.col, s.number))
	}
	if c.Text = clean(c.Text); c.Text == "" {
		return nil
	}
	if s.col >= MaxColumns {
		return tooManyColumns(Ref(s.col, s.number))
	}
	for len(s.row.Cells) <= s.col {
		s.row.Cells = append(s.row.Cells, Cell{})
	}
	s.row.Cells[s.col] = c
	return nil
}

func (s *sheetReader) content() Cell {
	raw := s.value.String()
	switch {
	case s.typ == "inlineStr":
		return Cell{Text: s.rich.take(), Kind: Text}
	case s.hasF && (!s.hasV || raw == ""):
		if s.hasV && s.typ == "str" { // a formula whose result is an empty text
			return Cell{}
		}
		return Cell{Text: "=" + raw, Kind: Formula}
	case s.typ == "s":
		i, err := strconv.Atoi(strings.TrimSpace(raw))
		if err != nil || i < 0 || i >= len(s.b.strings) {
			return Cell{}
		}
		return Cell{Text: s.b.strings[i], Kind: Text}
	case s.typ == "str":
		return Cell{Text: unescape(raw), Kind: Text}
	case s.typ == "b":
		return Cell{Text: map[bool]string{true: "TRUE", false: "FALSE"}[truth(raw)], Kind: Bool}
	case s.typ == "e":
		return Cell{Text: raw, Kind: Fault}
	case s.typ == "d":
		return Cell{Text: raw, Kind: Date}
	}
	return s.number64(raw)
}

// number64 writes the number as a person sees it at full width: 15 digits,
// which is what spreadsheets keep.
func (s *sheetReader) number64(raw string) Cell {
	x, err := strconv.ParseFloat(strings.TrimSpace(raw), 64)
	if err != nil || math.IsNaN(x) || math.IsInf(x, 0) {
		return Cell{Text: raw, Kind: Text}
	}
	var f format
	if s.style >= 0 && s.style < len(s.b.styles) {
		f = s.b.styles[s.style]
	}
	switch {
	case f.date && x >= 0 && x < 2958466: // the year 9999 ends there
		return Cell{Text: s.b.date(x), Kind: Date}
	case f.percent:
		return Cell{Text: decimal15(x*100) + "%", Kind: Number}
	}
	return Cell{Text: decimal15(x), Kind: Number, Currency: f.currency}
}

func decimal15(x float64) string {
	short := strconv.FormatFloat(x, 'g', 15, 64)
	if a := math.Abs(x); a != 0 && (a < 1e-9 || a >= 1e15) {
		return short
	}
	y, _ := strconv.ParseFloat(short, 64)
	return strconv.FormatFloat(y, 'f', -1, 64)
}

// date writes a day number as a date, with the time when there is one.
func (b *book) date(x float64) string {
	day, seconds := int(math.Floor(x)), int(math.Round((x-math.Floor(x))*86400))
	epoch := time.Date(1899, 12, 30, 0, 0, 0, 0, time.UTC)
	if b.date4 {
		epoch = time.Date(1904, 1, 1, 0, 0, 0, 0, time.UTC)
	}
	t := epoch.AddDate(0, 0, day).Add(time.Duration(seconds) * time.Second)
	switch {
	case seconds == 0:
		return t.Format("2006-01-02")
	case day == 0:
		return t.Format("15:04:05")
	}
	return t.Format("2006-01-02 15:04:05")
}

// fill repeats the value of merged cells over their block, within the rows
// that exist and at most once per possible cell of a list.
func (s *sheetReader) fill() {
	budget := MaxRows * MaxColumns
	for _, m := range s.merges {
		first := s.find(m.r0)
		if first == len(s.rows) || s.rows[first].Number != m.r0 {
			continue
		}
		value := s.rows[first].at(m.c0)
		if value.blank() {
			continue
		}
		value.MergedFrom = Ref(m.c0, m.r0)
		for i := first; i < len(s.rows) && s.rows[i].Number <= m.r1; i++ {
			for c := m.c0; c <= min(m.c1, MaxColumns-1); c++ {
				if budget--; budget < 0 {
					return
				}
				s.put(i, c, value)
			}
		}
	}
}

func (s *sheetReader) put(i, c int, value Cell) {
	r := &s.rows[i]
	if !r.at(c).blank() {
		return
	}
	for len(r.Cells) <= c {
		r.Cells = append(r.Cells, Cell{})
	}
	r.Cells[c] = value
}

func (s *sheetReader) find(number int) int {
	i, _ := slices.BinarySearchFunc(s.rows, number, func(r Row, n int) int { return r.Number - n })
	return i
}
