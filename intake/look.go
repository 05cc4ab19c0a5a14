package intake

// Preview is what a page shows of a list before it is accepted: how it was
// read, what each column was taken for, its first rows, and what Apply says.
type Preview struct {
	Format     string      `json:"format"`
	Encoding   string      `json:"encoding,omitempty"`
	Separator  string      `json:"separator,omitempty"`
	Sheet      string      `json:"sheet,omitempty"`
	Sheets     []SheetInfo `json:"sheets,omitempty"`
	HeaderRow  int         `json:"header_row"`
	HeaderRows int         `json:"header_rows"`
	// Columns has one entry per column, in the list's order.
	Columns []ColumnPreview `json:"columns"`
	Mapping Mapping         `json:"mapping"`
	// Confidence is that of the least sure required column, 0 when one is
	// missing.
	Confidence float64 `json:"confidence"`
	// Missing are remembered columns that this list lacks.
	Missing []string `json:"missing,omitempty"`
	// Rows are the first rows below the header.
	Rows   []Row    `json:"rows"`
	Notes  []string `json:"notes,omitempty"`
	Result Result   `json:"result"`
}

// ColumnPreview shows one column and what it was taken for.
type ColumnPreview struct {
	Letter string `json:"letter"`
	Header string `json:"header"`
	// Key is the name under which Mapping.Columns has the column.
	Key string `json:"key"`
	Column
	// Confidence is a score from 0 (no idea) to 1 (remembered), not a
	// probability: how well name and content agree with the field.
	Confidence float64  `json:"confidence"`
	Why        string   `json:"why,omitempty"`
	Remembered bool     `json:"remembered,omitempty"`
	Samples    []string `json:"samples"`
}

const (
	previewRows    = 10
	previewSamples = 3
)

// Look guesses the mapping of a list, with the supplier's remembered one where
// there is one (nil where not), applies it and returns all there is to show.
func Look(t *Table, remembered *Mapping) Preview {
	g := guess(t)
	m := g.mapping()
	var missing []string
	notes := append([]string(nil), t.Notes...)
	if remembered != nil {
		m, g, missing = fit(t, *remembered)
		if len(missing) > 0 {
			notes = append(notes, "Columns of the supplier's earlier list are missing in this one: check the mapping.")
		}
		if remembered.Currency != "" && m.Currency != remembered.Currency {
			notes = append(notes, "This list says "+m.Currency+", the supplier's earlier one was in "+remembered.Currency+".")
		}
		if remembered.Decimal != "" && m.Decimal != remembered.Decimal {
			notes = append(notes, "This list has another decimal mark than the supplier's earlier one.")
		}
	}
	p := preview(t, g, m)
	p.Missing, p.Notes = missing, notes
	return p
}

// Show is Look with a mapping that the person has set: nothing is guessed.
func Show(t *Table, m Mapping) Preview {
	keys := t.keys()
	g := guessed{t: t, cols: make([]columnGuess, t.columns())}
	for col := range g.cols {
		if c, ok := m.Columns[keys[col]]; ok {
			g.cols[col] = columnGuess{Column: c, confidence: 1, why: "chosen"}
		}
	}
	p := preview(t, g, m)
	p.Notes = append([]string(nil), t.Notes...)
	return p
}

func preview(t *Table, g guessed, m Mapping) Preview {
	p := Preview{Format: t.Format, Encoding: t.Encoding, Separator: t.Separator, Sheet: t.Sheet, Sheets: t.Sheets,
		HeaderRow: t.HeaderRow, HeaderRows: t.HeaderRows, Mapping: m, Result: Apply(t, m)}
	body := t.body()
	p.Rows = body[:min(len(body), previewRows)]
	for col, key := range t.keys() {
		c := g.cols[col]
		p.Columns = append(p.Columns, ColumnPreview{Letter: Letter(col), Header: t.names[col], Key: key, Column: c.Column,
			Confidence: c.confidence, Why: c.why, Remembered: c.remembered, Samples: samples(body, col)})
	}
	p.Confidence = g.confidence(Strain)
	count := g.confidence(Count)
	if count == 0 {
		count = min(g.confidence(Bags), g.confidence(PerBag))
	}
	p.Confidence = min(p.Confidence, count)
	return p
}

// samples returns the first different values of a column.
func samples(rows []Row, col int) []string {
	var out []string
	seen := map[string]bool{}
	for _, r := range rows {
		if c := r.at(col); !c.blank() && !seen[c.Text] && len(out) < previewSamples {
			seen[c.Text] = true
			out = append(out, c.Text)
		}
	}
	return out
}
