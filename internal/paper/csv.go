package paper

import (
	"encoding/csv"
	"io"
)

// WriteCSV writes a sheet as comma-separated text in UTF-8: the column titles,
// then the rows, each ended by a line feed. It begins with a byte order mark,
// without which some spreadsheet programs take the letters for another
// encoding. Dates are YYYY-MM-DD, amounts decimal numbers with a point, shares
// from 0 to 1.
func WriteCSV(w io.Writer, s Sheet) error {
	if err := s.checkColumns(); err != nil {
		return err
	}
	if _, err := io.WriteString(w, "\ufeff"); err != nil {
		return err
	}
	out := csv.NewWriter(w)
	record := make([]string, len(s.Columns))
	for i, c := range s.Columns {
		record[i] = Guard(c.title())
	}
	if err := out.Write(record); err != nil {
		return err
	}
	for row, err := range s.Rows {
		if err != nil {
			return err
		}
		if err := s.check(row); err != nil {
			return err
		}
		clear(record)
		for i, c := range row {
			record[i] = c.plain(s.Columns[i])
		}
		if err := out.Write(record); err != nil {
			return err
		}
	}
	out.Flush()
	return out.Error()
}
