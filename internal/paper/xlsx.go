package paper

import (
	"fmt"
	"io"
	"strconv"
	"strings"
	"time"
	"unicode/utf16"

	"github.com/xuri/excelize/v2"

	"holdfast/money"
)

// Limits of the format (ECMA-376 and its readers).
const (
	maxRows      = 1 << 20
	maxCellUnits = 32767 // UTF-16 units in a cell
	maxExact     = 1_000_000_000_000_000
)

// WriteXLSX writes sheets as one workbook. Rows are streamed. Each sheet has a
// bold first row that stays in sight. Texts are guarded; one that is longer
// than a cell can hold is cut and says so. Numbers beyond 15 digits, which a
// workbook cannot hold, are written as text.
func WriteXLSX(w io.Writer, sheets ...Sheet) (err error) {
	f := excelize.NewFile()
	defer func() {
		if e := f.Close(); err == nil {
			err = e
		}
	}()
	names := SheetNames(sheets)
	for i, s := range sheets {
		if i == 0 {
			err = f.SetSheetName("Sheet1", names[i])
		} else {
			_, err = f.NewSheet(names[i])
		}
		if err != nil {
			return err
		}
		if err := writeSheet(f, names[i], s); err != nil {
			return err
		}
	}
	_, err = f.WriteTo(w)
	return err
}

// SheetNames returns the names that the sheets get: without the characters
// that a workbook forbids, at most 31 units, none twice.
func SheetNames(sheets []Sheet) []string {
	names := make([]string, len(sheets))
	taken := map[string]bool{}
	for i, s := range sheets {
		base := strings.Trim(strings.Map(func(r rune) rune {
			if strings.ContainsRune(`[]:*?/\`, r) || r < ' ' {
				return ' '
			}
			return r
		}, s.Name), "' ")
		if base == "" {
			base = "Sheet"
		}
		name := cut(base, 31)
		for n := 2; taken[strings.ToLower(name)]; n++ {
			end := fmt.Sprintf(" %d", n)
			name = cut(base, 31-len(end)) + end
		}
		taken[strings.ToLower(name)] = true
		names[i] = name
	}
	return names
}

// cut shortens a text to n UTF-16 units.
func cut(s string, n int) string {
	units := 0
	for i, r := range s {
		units += utf16.RuneLen(r)
		if units > n {
			return strings.TrimRight(s[:i], " '")
		}
	}
	return s
}

func writeSheet(f *excelize.File, name string, s Sheet) error {
	if err := s.checkColumns(); err != nil {
		return err
	}
	out, err := f.NewStreamWriter(name)
	if err != nil {
		return err
	}
	styles, err := layout(f, out, s)
	if err != nil {
		return err
	}
	n := 1
	for row, err := range s.Rows {
		if err != nil {
			return err
		}
		if err := s.check(row); err != nil {
			return err
		}
		if n++; n > maxRows {
			return fmt.Errorf("sheet %q has more rows than a workbook can hold; write it as CSV", s.Name)
		}
		values := make([]any, len(row))
		for i, c := range row {
			values[i] = c.value(s.Columns[i], styles[i])
		}
		if err := out.SetRow(fmt.Sprintf("A%d", n), values); err != nil {
			return err
		}
	}
	return out.Flush()
}

// layout writes the titles and returns the style of each column.
func layout(f *excelize.File, out *excelize.StreamWriter, s Sheet) ([]int, error) {
	bold, err := f.NewStyle(&excelize.Style{Font: &excelize.Font{Bold: true}, Alignment: &excelize.Alignment{WrapText: true, Vertical: "top"}})
	if err != nil {
		return nil, err
	}
	if err := out.SetPanes(&excelize.Panes{Freeze: true, YSplit: 1, TopLeftCell: "A2", ActivePane: "bottomLeft"}); err != nil {
		return nil, err
	}
	styles := make([]int, len(s.Columns))
	titles := make([]any, len(s.Columns))
	for i, c := range s.Columns {
		if styles[i], err = f.NewStyle(c.style()); err != nil {
			return nil, err
		}
		if err := out.SetColWidth(i+1, i+1, c.width()); err != nil {
			return nil, err
		}
		titles[i] = excelize.Cell{StyleID: bold, Value: Guard(c.title())}
	}
	return styles, out.SetRow("A1", titles)
}

func (c Column) style() *excelize.Style {
	code := func(s string) *excelize.Style { return &excelize.Style{CustomNumFmt: &s} }
	switch c.Kind {
	case Count:
		return code("#,##0")
	case Money:
		e, _ := money.Exponent(c.Currency)
		if e == 0 {
			return code("#,##0")
		}
		return code("#,##0." + strings.Repeat("0", e))
	case Date:
		return code("yyyy-mm-dd")
	case Share:
		return code("0.0%")
	}
	return &excelize.Style{NumFmt: 49, Alignment: &excelize.Alignment{WrapText: true, Vertical: "top"}}
}

// width is in characters, enough for the kind's widest common content.
func (c Column) width() float64 {
	if c.Kind == Text {
		return max(18, min(40, float64(len(c.Title))+4))
	}
	return max(12, min(24, float64(len(c.title()))+3))
}

func (c Cell) value(col Column, style int) any {
	if !c.full {
		return nil
	}
	cell := excelize.Cell{StyleID: style}
	switch c.kind {
	case Count, Money:
		cell.Value = c.plain(col)
		if c.n > -maxExact && c.n < maxExact {
			cell.Value = number(c.plain(col))
		}
	case Date:
		cell.Value = c.plain(col)
		if y := c.day.Year(); y > 1900 && y < 10000 { // workbooks know no earlier days
			cell.Value = float64(days(c.day))
		}
	case Share:
		cell.Value = c.x
	default:
		cell.Value = fitting(Guard(c.text))
	}
	return cell
}

// number returns the float64 nearest to a decimal number of at most 15 digits,
// which shows the same digits.
func number(s string) float64 {
	x, err := strconv.ParseFloat(s, 64)
	if err != nil {
		panic(err) // plain wrote it
	}
	return x
}

// days counts days since the workbook's day 0, 1899-12-30 (right from
// 1900-03-01 on).
func days(t time.Time) int64 {
	y, m, d := t.Date()
	return (time.Date(y, m, d, 0, 0, 0, 0, time.UTC).Unix() - time.Date(1899, 12, 30, 0, 0, 0, 0, time.UTC).Unix()) / 86400
}

// fitting cuts a text that a cell cannot hold and says so at its end.
func fitting(s string) string {
	units := 0
	for _, r := range s {
		units += utf16.RuneLen(r)
	}
	if units <= maxCellUnits {
		return s
	}
	note := " … (cut: a cell holds no more; the CSV has the whole text)"
	return cut(s, maxCellUnits-len(note)) + note
}
