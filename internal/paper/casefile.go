package paper

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"image"
	"image/jpeg"
	_ "image/png" // photographs come as JPEG or PNG
	"io"
	"time"

	"codeberg.org/go-pdf/fpdf"
	"golang.org/x/image/draw"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goitalic"
	"golang.org/x/image/font/gofont/goregular"

	"holdfast/science/ref"
)

// CaseFile is what a veterinarian or a laboratory gets of one suspicion: what
// was seen, what it might be, the photographs, how samples come.
type CaseFile struct {
	// Made is when it was written; it is printed and is the file's date.
	Made time.Time
	// About are facts in the person's words: lot, tank, origin, treatments.
	About []string
	// History are headed lists of what was done and seen before: looks,
	// treatments, water.
	History []Advice
	// Said are the questions answered.
	Said []Said
	// Alarm are reasons to hold everything; empty for none.
	Alarm []string
	// Suspects are those that fit, best first.
	Suspects []CaseSuspect
	// Ask is whom to ask.
	Ask string
	// Photos are shown one to a page and attached as they are.
	Photos []CasePhoto
	// Advice is on samples and packing.
	Advice []Advice
}

// Said is one question with its answer.
type Said struct{ Question, Answer string }

// CaseSuspect is one line of the ranking.
type CaseSuspect struct{ Name, Share, For, Against string }

// Advice is a heading with sentences.
type Advice struct {
	Title string
	Lines []string
}

// CasePhoto is one photograph, JPEG or PNG.
type CasePhoto struct {
	Name string
	Data []byte
}

// MaxCaseBytes is how many bytes the photographs of a case file may have together.
const MaxCaseBytes = 200 << 20

// Bounds of the photographs of a case file.
const (
	maxCasePhotos  = 40
	maxCasePixels  = 120 << 20
	shownLongEdge  = 1800 // pixels of the picture on the page; the original is attached
	shownQuality   = 88
	caseMargin     = 18.0 // millimetres
	caseWidth      = 210 - 2*caseMargin
	caseTextHeight = 5.4
)

// WriteCaseFile writes the case as one PDF. The photographs stand on its pages
// and are attached unchanged, each named with its SHA-256. The same case gives
// the same bytes.
//
// It returns an InputError for a photograph that is neither JPEG nor PNG, is
// damaged, or is too large.
func WriteCaseFile(w io.Writer, c CaseFile) error {
	if len(c.Photos) > maxCasePhotos {
		return ref.Inputf("photo", "Choose the best.", "%d photographs are more than %d", len(c.Photos), maxCasePhotos)
	}
	p := newCasePDF(c.Made)
	p.words(c)
	attached := make([]fpdf.Attachment, 0, len(c.Photos))
	total := 0
	for i, ph := range c.Photos {
		if total += len(ph.Data); total > MaxCaseBytes {
			return ref.Inputf("photo", "Choose fewer.", "the photographs are more than %d MB together", MaxCaseBytes>>20)
		}
		if err := p.photo(i, ph); err != nil {
			return err
		}
		attached = append(attached, fpdf.Attachment{Content: ph.Data, Filename: fmt.Sprintf("%02d-%s", i+1, ph.Name)})
	}
	p.advice(c.Advice)
	if len(attached) > 0 {
		p.SetAttachments(attached)
	}
	if err := p.Output(w); err != nil {
		return fmt.Errorf("write case file: %w", err)
	}
	return nil
}

// casePDF is the document being made.
type casePDF struct{ *fpdf.Fpdf }

func newCasePDF(made time.Time) casePDF {
	p := casePDF{fpdf.New("P", "mm", "A4", "")}
	p.SetCatalogSort(true)
	p.SetCreationDate(made)
	p.SetModificationDate(made)
	p.SetTitle("Case for a veterinarian or a laboratory", true)
	p.SetMargins(caseMargin, caseMargin, caseMargin)
	p.SetAutoPageBreak(true, caseMargin)
	p.AddUTF8FontFromBytes("go", "", goregular.TTF)
	p.AddUTF8FontFromBytes("go", "B", gobold.TTF)
	p.AddUTF8FontFromBytes("go", "I", goitalic.TTF)
	p.SetFooterFunc(func() {
		p.SetY(-12)
		p.SetFont("go", "I", 8)
		p.CellFormat(0, 5, fmt.Sprintf("An aid to judgement, not a diagnosis. Page %d", p.PageNo()), "", 0, "C", false, 0, "")
	})
	p.AddPage()
	return p
}

func (p casePDF) heading(words string) {
	p.Ln(3)
	p.SetFont("go", "B", 12)
	p.MultiCell(0, 6.5, words, "T", "L", false)
	p.SetFont("go", "", 10)
}

func (p casePDF) line(words string) { p.MultiCell(0, caseTextHeight, words, "", "L", false) }

// words writes everything but pictures and advice.
func (p casePDF) words(c CaseFile) {
	p.SetFont("go", "B", 18)
	p.MultiCell(0, 9, "Case for a veterinarian or a laboratory", "", "L", false)
	p.SetFont("go", "", 10)
	p.line("Written " + c.Made.Format("2 January 2006, 15:04 MST"))
	if len(c.Alarm) > 0 {
		p.heading("Everything is held")
		for _, a := range c.Alarm {
			p.line("Because " + a + ".")
		}
	}
	if len(c.About) > 0 {
		p.heading("About the animals")
		for _, a := range c.About {
			p.line(a)
		}
	}
	for _, h := range c.History {
		p.heading(h.Title)
		for _, l := range h.Lines {
			p.line(l)
		}
	}
	p.heading("What was seen")
	if len(c.Said) == 0 {
		p.line("No signs were ticked.")
	}
	for _, s := range c.Said {
		p.SetFont("go", "B", 10)
		p.line(s.Question)
		p.SetFont("go", "", 10)
		p.line(s.Answer)
	}
	if len(c.Suspects) == 0 {
		p.blanks()
		return
	}
	p.heading("What it might be")
	p.SetFont("go", "I", 9)
	p.line("Ordered by judgement in ordinal words, not by measured frequencies. A suspicion, not a finding.")
	p.SetFont("go", "", 10)
	for i, s := range c.Suspects {
		p.line(fmt.Sprintf("%d. %s, %s of the weight", i+1, s.Name, s.Share))
		if s.For != "" {
			p.line("     for it: " + s.For)
		}
		if s.Against != "" {
			p.line("     against it: " + s.Against)
		}
	}
	if c.Ask != "" {
		p.line(c.Ask)
	}
	p.blanks()
}

// blanks leaves room for the answer.
func (p casePDF) blanks() {
	p.heading("What the laboratory found (to be filled in)")
	for range 4 {
		p.CellFormat(0, 8, "", "B", 1, "", false, 0, "")
	}
}

// photo puts one photograph on a page of its own.
func (p casePDF) photo(i int, ph CasePhoto) error {
	shown, size, err := shrink(ph)
	if err != nil {
		return err
	}
	sum := sha256.Sum256(ph.Data)
	p.AddPage()
	p.SetFont("go", "B", 12)
	p.MultiCell(0, 6.5, fmt.Sprintf("Photograph %d: %s", i+1, ph.Name), "", "L", false)
	p.SetFont("go", "", 8)
	p.MultiCell(0, 4.5, fmt.Sprintf("%d by %d pixels, attached as it is. SHA-256 %s", size.X, size.Y, hex.EncodeToString(sum[:])), "", "L", false)
	p.Ln(2)
	const tallest = 220.0
	wide := float64(caseWidth)
	tall := wide * float64(size.Y) / float64(size.X)
	if tall > tallest {
		wide, tall = wide*tallest/tall, tallest
	}
	name := fmt.Sprintf("photo%d", i)
	p.RegisterImageOptionsReader(name, fpdf.ImageOptions{ImageType: "JPEG"}, bytes.NewReader(shown))
	p.ImageOptions(name, caseMargin, p.GetY(), wide, tall, false, fpdf.ImageOptions{ImageType: "JPEG"}, 0, "")
	return nil
}

// shrink returns the photograph as a JPEG no larger than the page needs, and
// the size of the original.
func shrink(ph CasePhoto) ([]byte, image.Point, error) {
	bad := func(why string) ([]byte, image.Point, error) {
		return nil, image.Point{}, ref.Inputf("photo", "Give a JPEG or PNG picture.", "%s %s", ph.Name, why)
	}
	cfg, _, err := image.DecodeConfig(bytes.NewReader(ph.Data))
	if err != nil {
		return bad("is neither JPEG nor PNG")
	}
	if cfg.Width < 1 || cfg.Height < 1 || cfg.Width > maxCasePixels/cfg.Height {
		return bad("is too large or empty")
	}
	src, _, err := image.Decode(bytes.NewReader(ph.Data))
	if err != nil {
		return bad("is damaged")
	}
	size := src.Bounds().Size()
	to := size
	if long := max(size.X, size.Y); long > shownLongEdge {
		to = image.Pt(max(1, size.X*shownLongEdge/long), max(1, size.Y*shownLongEdge/long))
	}
	dst := image.NewRGBA(image.Rectangle{Max: to})
	draw.Draw(dst, dst.Bounds(), image.White, image.Point{}, draw.Src)
	draw.CatmullRom.Scale(dst, dst.Bounds(), src, src.Bounds(), draw.Over, nil)
	var out bytes.Buffer
	if err := jpeg.Encode(&out, dst, &jpeg.Options{Quality: shownQuality}); err != nil {
		return bad("cannot be drawn")
	}
	return out.Bytes(), size, nil
}

// advice writes the last pages.
func (p casePDF) advice(all []Advice) {
	if len(all) == 0 {
		return
	}
	p.AddPage()
	for _, a := range all {
		p.heading(a.Title)
		for _, l := range a.Lines {
			p.line(l)
			p.Ln(1)
		}
	}
}
