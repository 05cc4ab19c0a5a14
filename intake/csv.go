package intake

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"strings"
	"unicode/utf8"

	"holdfast/science/ref"
)

var separators = []rune{',', ';', '\t', '|'}

func readCSV(data []byte, opt Options) (*Table, error) {
	text, enc, guessed, err := decode(data, opt.Encoding)
	if err != nil {
		return nil, err
	}
	t := &Table{Format: "csv", Encoding: enc}
	t.note(encodingNote(enc, guessed))
	text = breaks(text)
	sep, start := opt.Separator, 0
	if said, rest, ok := declaredSeparator(text); ok {
		// The line is a row of its own to a spreadsheet's numbering.
		text, start = rest, 1
		if sep == 0 {
			sep = said
		}
	}
	switch {
	case sep == 0:
		sep = guessSeparator(text)
	case !strings.ContainsRune(string(separators), sep):
		return nil, ref.Inputf("separator", "Choose comma, semicolon, tab or bar.", "%q does not separate columns", sep)
	}
	t.Separator = string(sep)
	if t.Rows, err = parseCSV(text, sep, start, MaxRows, false); err != nil {
		var stray *csv.ParseError
		if !errors.As(err, &stray) {
			return nil, err
		}
		t.note(fmt.Sprintf("Quotation marks do not pair up near line %d; they were read as ordinary characters. Check the names there.", stray.Line+start))
		if t.Rows, err = parseCSV(text, sep, start, MaxRows, true); err != nil {
			return nil, err
		}
	}
	return t, t.settle(opt)
}

func (t *Table) note(s string) {
	if s != "" {
		t.Notes = append(t.Notes, s)
	}
}

// breaks writes every kind of line break as a line feed.
func breaks(s string) string {
	return strings.NewReplacer("\r\n", "\n", "\r", "\n", "\u2028", "\n").Replace(s)
}

// declaredSeparator reads a first line such as "sep=;".
func declaredSeparator(text string) (sep rune, rest string, ok bool) {
	line, rest, _ := strings.Cut(text, "\n")
	line = strings.Trim(strings.ToLower(line), " \"")
	after, ok := strings.CutPrefix(line, "sep=")
	if !ok || utf8.RuneCountInString(after) != 1 {
		return 0, text, false
	}
	sep, _ = utf8.DecodeRuneInString(after)
	return sep, rest, true
}

// guessSeparator takes the separator that cuts the first rows into most
// columns most evenly, and among equals the one that shows more known column
// names.
func guessSeparator(text string) rune {
	head := text
	if len(head) > 64<<10 {
		head = head[:64<<10]
		if cut := strings.LastIndexByte(head, '\n'); cut > 0 {
			head = head[:cut]
		}
	}
	best, most := ',', 0.0
	for _, sep := range separators {
		if s := evenness(head, sep); s > most {
			best, most = sep, s
		}
	}
	return best
}

// evenness scores a separator by the commonest number of columns: the share
// of rows with that number, a little more for more columns and for known
// names in them.
func evenness(text string, sep rune) float64 {
	rows, _ := parseCSV(text, sep, 0, 200, true)
	widths := map[int]int{}
	known := 0
	for i, r := range rows {
		if n := len(r.Cells); n > 1 {
			widths[n]++
		}
		hits := 0
		for _, c := range r.Cells {
			if i < searchRows && len(c.Text) < 60 && len(words()[normal(c.Text)]) > 0 {
				hits++
			}
		}
		known = max(known, hits)
	}
	score := 0.0
	for width, n := range widths {
		share := float64(n) / float64(len(rows))
		score = max(score, share*(1+0.05*float64(min(width, 20))))
	}
	if len(widths) == 0 {
		return 0
	}
	return score + 0.3*float64(known)
}

// parseCSV reads rows up to limit and numbers them as a spreadsheet would:
// every line counts, a field that spans lines does not. Beyond MaxRows is an
// error; a lower limit cuts. lazy reads stray quotation marks as characters.
func parseCSV(text string, sep rune, start, limit int, lazy bool) ([]Row, error) {
	r := csv.NewReader(strings.NewReader(text))
	r.Comma, r.LazyQuotes, r.FieldsPerRecord, r.ReuseRecord = sep, lazy, -1, true
	var rows []Row
	number, offset := start, 0
	for {
		fields, err := r.Read()
		if err == io.EOF {
			return rows, nil
		}
		if err != nil {
			return nil, err
		}
		end := int(r.InputOffset())
		// The reader skips empty lines; the numbering must not.
		number += 1 + len(text[offset:end]) - len(strings.TrimLeft(text[offset:end], "\n"))
		offset = end
		cells, err := textCells(fields, number)
		if err != nil {
			return nil, err
		}
		if len(cells) == 0 {
			continue
		}
		if len(rows) == limit {
			if limit < MaxRows {
				return rows, nil
			}
			return nil, tooManyRows()
		}
		if lazy && swallowed(text, fields, end) {
			return nil, ref.Inputf(Ref(len(fields)-1, number), "Delete the quotation mark, or close it at the end of the text.",
				"a quotation mark is opened here and never closed")
		}
		rows = append(rows, Row{Number: number, Cells: cells})
	}
}

// swallowed recognises a last field that ran over line breaks to the end of
// the file because its quotation mark never closes.
func swallowed(text string, fields []string, end int) bool {
	last := fields[len(fields)-1]
	return end == len(text) && strings.Contains(strings.TrimRight(last, "\n"), "\n") && !strings.HasSuffix(strings.TrimRight(text, "\n"), `"`)
}

// textCells cleans fields and drops empty ones at the end.
func textCells(fields []string, number int) ([]Cell, error) {
	n := 0
	for i, f := range fields {
		if strings.TrimSpace(f) != "" {
			n = i + 1
		}
	}
	if n > MaxColumns {
		return nil, tooManyColumns(Ref(MaxColumns, number))
	}
	cells := make([]Cell, n)
	any := false
	for i, f := range fields[:n] {
		if len(f) > MaxCell && utf8.RuneCountInString(f) > MaxCell {
			return nil, tooLong(Ref(i, number))
		}
		cells[i] = Cell{Text: clean(f), Kind: Text}
		any = any || cells[i].Text != ""
	}
	if !any {
		return nil, nil
	}
	return cells, nil
}
