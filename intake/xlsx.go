package intake

import (
	"archive/zip"
	"bytes"
	"cmp"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"path"
	"slices"
	"strings"

	"holdfast/science/ref"
)

// Limits inside a workbook. A part of the archive is read as a stream and at
// most up to its limit, so that a small file that unpacks to a huge one costs
// no more than an honest list.
const (
	maxPart    = 32 << 20 // bytes of one part after unpacking
	maxAll     = 64 << 20 // bytes of all parts that are read
	maxEntries = 2000     // parts in the archive
	maxStrings = MaxRows * MaxColumns
	maxSheets  = 30
	maxStyles  = 65536
)

// errBig says that a part unpacks to more than is read.
var errBig = errors.New("too much after unpacking")

// book is an open workbook.
type book struct {
	parts   map[string]*zip.File
	left    int64 // bytes that may still be unpacked
	strings []string
	styles  []format
	date4   bool // days count from 1904
}

// sheetRef is an entry of the workbook's list of sheets.
type sheetRef struct {
	name, part string
	hidden     bool
}

func damaged(what string) error {
	return ref.Inputf("file", "Open it in your spreadsheet program, save it again as XLSX, and try once more.", "the workbook is damaged: %s", what)
}

func tooBig(what string) error {
	return ref.Inputf("file", "Copy only the packing list into a new workbook, or save it as CSV.",
		"%s unpacks to more than the %d MB that are read", what, maxPart>>20)
}

func readXLSX(data []byte, opt Options) (*Table, error) {
	z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		return nil, damaged("its archive cannot be opened")
	}
	if len(z.File) > maxEntries {
		return nil, damaged(fmt.Sprintf("it has %s parts", group(len(z.File))))
	}
	b := &book{parts: map[string]*zip.File{}, left: maxAll}
	for _, f := range z.File {
		name := strings.TrimPrefix(strings.ReplaceAll(f.Name, "\\", "/"), "/")
		if _, twice := b.parts[strings.ToLower(name)]; !twice {
			b.parts[strings.ToLower(name)] = f
		}
	}
	refs, err := b.open()
	if err != nil {
		return nil, err
	}
	return b.choose(refs, opt)
}

// open finds the workbook and reads what all its sheets share.
func (b *book) open() ([]sheetRef, error) {
	main := b.mainPart()
	if main == "" {
		return nil, b.foreign()
	}
	refs, err := b.sheetList(main)
	if err != nil {
		return nil, readFault(err, "the list of its sheets")
	}
	for _, part := range []struct {
		name string
		read func(*xml.Decoder) error
	}{{"styles.xml", b.readStyles}, {"sharedStrings.xml", b.readStrings}} {
		name := path.Join(path.Dir(main), part.name)
		if b.parts[strings.ToLower(name)] == nil {
			continue
		}
		if err := b.stream(name, part.read); err != nil {
			return nil, readFault(err, name)
		}
	}
	return refs, nil
}

// readFault turns an error of reading one part into one for people.
func readFault(err error, what string) error {
	var in *ref.InputError
	switch {
	case errors.As(err, &in):
		return err
	case errors.Is(err, errBig):
		return tooBig(what)
	}
	return damaged(what + " cannot be read")
}

// mainPart returns the path of the workbook part, "" when there is none.
func (b *book) mainPart() string {
	found := ""
	_ = b.stream("_rels/.rels", func(d *xml.Decoder) error {
		return elements(d, func(e xml.StartElement) error {
			if e.Name.Local == "Relationship" && strings.HasSuffix(attr(e, "Type"), "/officeDocument") {
				found = strings.TrimPrefix(attr(e, "Target"), "/")
			}
			return nil
		})
	})
	if b.parts[strings.ToLower(found)] == nil {
		found = "xl/workbook.xml"
	}
	if b.parts[strings.ToLower(found)] == nil || !strings.HasSuffix(strings.ToLower(found), ".xml") || strings.HasPrefix(found, "word/") || strings.HasPrefix(found, "ppt/") {
		return ""
	}
	return found
}

// foreign names an archive that is no XLSX.
func (b *book) foreign() error {
	what := "an archive without a workbook"
	switch {
	case b.parts["xl/workbook.bin"] != nil:
		what = "a binary workbook (XLSB)"
	case b.parts["content.xml"] != nil && b.parts["meta-inf/manifest.xml"] != nil:
		what = "an OpenDocument file"
	case b.parts["word/document.xml"] != nil:
		what = "a text document"
	}
	return ref.Inputf("file", "Open it in your spreadsheet program and save it as XLSX or CSV.", "the file is %s", what)
}

// sheetList reads the names of the sheets and where they lie.
func (b *book) sheetList(main string) ([]sheetRef, error) {
	targets := map[string]string{}
	rels := path.Join(path.Dir(main), "_rels", path.Base(main)+".rels")
	err := b.stream(rels, func(d *xml.Decoder) error {
		return elements(d, func(e xml.StartElement) error {
			if e.Name.Local == "Relationship" && strings.HasSuffix(attr(e, "Type"), "/worksheet") && len(targets) < maxEntries {
				target := attr(e, "Target")
				if !strings.HasPrefix(target, "/") {
					target = path.Join(path.Dir(main), target)
				}
				targets[attr(e, "Id")] = strings.TrimPrefix(target, "/")
			}
			return nil
		})
	})
	if err != nil {
		return nil, err
	}
	var refs []sheetRef
	err = b.stream(main, func(d *xml.Decoder) error {
		return elements(d, func(e xml.StartElement) error {
			switch e.Name.Local {
			case "workbookPr":
				b.date4 = truth(attr(e, "date1904"))
			case "sheet":
				// Sheets that are only a chart have no target here.
				if part := targets[attr(e, "id")]; part != "" && len(refs) < maxSheets {
					refs = append(refs, sheetRef{name: attr(e, "name"), part: part, hidden: attr(e, "state") != "" && attr(e, "state") != "visible"})
				}
			}
			return nil
		})
	})
	if err == nil && len(refs) == 0 {
		err = damaged("it has no sheet")
	}
	return refs, err
}

// choose reads every sheet and takes the wanted one, or the visible one that
// looks most like a packing list.
func (b *book) choose(refs []sheetRef, opt Options) (*Table, error) {
	var tables []*Table
	infos := make([]SheetInfo, 0, len(refs))
	var firstErr error
	for _, r := range refs {
		info := SheetInfo{Name: r.name, Hidden: r.hidden}
		if opt.Sheet != "" && r.name != opt.Sheet {
			info.Why = "another sheet was asked for"
			infos, tables = append(infos, info), append(tables, nil)
			continue
		}
		t, err := b.sheet(r, opt)
		switch {
		case err != nil && opt.Sheet != "":
			return nil, err
		case err != nil:
			firstErr = cmp.Or(firstErr, err)
			info.Why = err.Error()
		default:
			info.Rows = len(t.body())
		}
		infos, tables = append(infos, info), append(tables, t)
	}
	best := bestSheet(tables, infos)
	if best < 0 {
		if opt.Sheet != "" {
			return nil, ref.Inputf("sheet", "Choose one of the sheets of the workbook.", "there is no sheet named %q", opt.Sheet)
		}
		return nil, cmp.Or(firstErr, error(ref.Inputf("file", "Choose the file with the packing list.", "no sheet of the workbook holds anything")))
	}
	t := tables[best]
	t.Sheet, t.Sheets = infos[best].Name, infos
	if opt.Sheet == "" && len(infos) > 1 {
		t.note(fmt.Sprintf("The workbook has %d sheets; %q was taken (%s).", len(infos), t.Sheet, infos[best].Why))
	}
	if n := hiddenRows(t.body()); n > 0 {
		t.note(fmt.Sprintf("Rows hidden in the workbook: %d. They were read all the same.", n))
	}
	return t, nil
}

// bestSheet marks the chosen sheet in infos and says of each why.
func bestSheet(tables []*Table, infos []SheetInfo) int {
	best, most := -1, 0.0
	for i, t := range tables {
		if t == nil {
			continue
		}
		if len(t.Rows) == 0 {
			infos[i].Why = "it is empty"
			continue
		}
		score, why := likeness(t)
		if infos[i].Hidden {
			score, why = score/10, "it is hidden"
		}
		infos[i].Why = why
		if best < 0 || score > most {
			best, most = i, score
		}
	}
	if best >= 0 {
		infos[best].Taken = true
	}
	return best
}

// likeness scores how much a sheet looks like a packing list: above all
// whether strain and count were found, then how many rows have a count.
func likeness(t *Table) (float64, string) {
	g := guess(t)
	score, found := 0.0, []string{}
	for _, f := range []Field{Strain, Count, PerBag, Box, Bag, DOA, Price} {
		if c := g.confidence(f); c > 0 {
			found = append(found, string(f))
			score += c
			if f == Strain || f == Count {
				score += 10 * c
			}
		}
	}
	counted := 0
	if col := g.column(Count); col >= 0 {
		for _, r := range t.body() {
			if _, p := readCount(r.at(col), ""); p == "" {
				counted++
			}
		}
	}
	score += float64(min(counted, 1000)) / 1000
	if len(found) == 0 {
		return score, "no column of a packing list was found in it"
	}
	return score, fmt.Sprintf("%d rows with a count; columns found: %s", counted, strings.Join(found, ", "))
}

func hiddenRows(rows []Row) int {
	n := 0
	for _, r := range rows {
		if r.Hidden {
			n++
		}
	}
	return n
}

// stream unpacks one part and hands it to read.
func (b *book) stream(name string, read func(*xml.Decoder) error) error {
	f := b.parts[strings.ToLower(name)]
	if f == nil {
		return fmt.Errorf("part %s is missing", name)
	}
	if f.UncompressedSize64 > uint64(min(maxPart, b.left)) {
		return errBig
	}
	rc, err := f.Open()
	if err != nil {
		return err
	}
	defer rc.Close()
	// The size in the archive's directory may lie, so the stream is cut too.
	in := &io.LimitedReader{R: rc, N: min(maxPart, b.left) + 1}
	before := in.N
	err = read(xml.NewDecoder(in))
	b.left -= before - in.N
	if in.N <= 0 {
		return errBig
	}
	return err
}

// elements calls f for each start tag. It uses raw tokens because they keep no
// stack: depth costs nothing.
func elements(d *xml.Decoder, f func(xml.StartElement) error) error {
	for {
		tok, err := d.RawToken()
		if err == io.EOF {
			return nil
		}
		if err != nil {
			return err
		}
		if e, ok := tok.(xml.StartElement); ok {
			if err := f(e); err != nil {
				return err
			}
		}
	}
}

// attr returns an attribute by its local name, "" where there is none.
func attr(e xml.StartElement, name string) string {
	i := slices.IndexFunc(e.Attr, func(a xml.Attr) bool { return a.Name.Local == name })
	if i < 0 {
		return ""
	}
	return e.Attr[i].Value
}

func truth(s string) bool { return s == "1" || s == "true" || s == "on" }
