package cli

import (
	"bytes"
	"cmp"
	"context"
	"encoding/base64"
	"errors"
	"fmt"
	"html/template"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"holdfast/photo"
	"holdfast/science/ref"
)

// What --out writes.
const (
	sheetName  = "contact-sheet.html"
	cropFolder = "crops"
	fuseFolder = "stacks"
)

// Sizes in pixels of what is written.
const (
	thumbLong   = 420
	regionLong  = 900
	onSheetLong = 460
	markLong    = 420
	threadCrops = 5 // filaments of a photograph, in their order
	tuftCrops   = 2
)

// writePhotos writes the contact sheet, the crops of each burst's best frame and
// of every frame with something shown, and the fused focus stacks.
func writePhotos(ctx context.Context, dec *photo.Decoder, out string, found []looked, rows []photoRow) error {
	for _, dir := range []string{out, filepath.Join(out, cropFolder), filepath.Join(out, fuseFolder)} {
		if err := os.MkdirAll(dir, 0o755); err != nil {
			return ref.Inputf("out", "Give a folder that can be written to.", "%s cannot be made: %v", dir, reason(err))
		}
	}
	w := photoWriter{dec: dec, out: out, found: found, rows: rows}
	var sheet sheet
	for _, burst := range burstsOf(rows) {
		if err := ctx.Err(); err != nil {
			return err
		}
		card, err := w.card(burst)
		if err != nil {
			return err
		}
		sheet.Cards = append(sheet.Cards, card)
	}
	slices.SortStableFunc(sheet.Cards, func(a, b sheetCard) int {
		return cmp.Or(boolCompare(b.Usable, a.Usable), cmp.Compare(b.Sharpness, a.Sharpness))
	})
	for _, r := range rows {
		if r.Problem != "" {
			sheet.Unread = append(sheet.Unread, r)
		}
	}
	sheet.Files = len(rows)
	var b bytes.Buffer
	if err := sheetPage.Execute(&b, sheet); err != nil {
		return err
	}
	return w.write(sheetName, b.Bytes())
}

func boolCompare(a, b bool) int {
	switch {
	case a == b:
		return 0
	case a:
		return 1
	}
	return -1
}

// burstsOf lists the rows of each burst, the best first.
func burstsOf(rows []photoRow) [][]int {
	by := map[int][]int{}
	last := 0
	for i, r := range rows {
		if r.Burst > 0 {
			by[r.Burst] = append(by[r.Burst], i)
			last = max(last, r.Burst)
		}
	}
	var out [][]int
	for b := 1; b <= last; b++ {
		slices.SortStableFunc(by[b], func(i, j int) int { return boolCompare(rows[j].Best, rows[i].Best) })
		out = append(out, by[b])
	}
	return out
}

type photoWriter struct {
	dec   *photo.Decoder
	out   string
	found []looked
	rows  []photoRow
}

// sheet is what the contact sheet shows.
type sheet struct {
	Files  int
	Cards  []sheetCard
	Unread []photoRow
}

// sheetCard is one burst.
type sheetCard struct {
	Name      string
	Sharpness float64
	Usable    bool
	Notes     []string
	Whole     sheetPicture
	Regions   []sheetPicture
	Marks     []sheetPicture // shown rows of dots
	Order     []sheetPicture // filaments and tufts, in the order to look at them
	Others    []photoRow
	Fused     *sheetPicture
	NoFuse    string // why a burst was not fused
}

// sheetPicture is a picture in the sheet itself, with the file it enlarges.
type sheetPicture struct {
	Data   template.URL
	Title  string
	Detail string
	File   string // relative to the sheet
	BarPct float64
}

// card looks at one burst again, at full size.
func (w *photoWriter) card(burst []int) (sheetCard, error) {
	i := burst[0]
	row := w.rows[i]
	c := sheetCard{Name: row.File, Sharpness: row.Sharpness, Usable: row.Usable, Notes: row.Notes}
	for _, k := range burst[1:] {
		c.Others = append(c.Others, w.rows[k])
		if w.rows[k].shown > 0 {
			if err := w.cropMarks(k, nil); err != nil {
				return c, err
			}
		}
	}
	if err := w.cropMarks(i, &c); err != nil {
		return c, err
	}
	if len(burst) >= 3 {
		if err := w.fuse(burst, &c); err != nil {
			return c, err
		}
	}
	return c, nil
}

// open reads a file again.
func (w *photoWriter) open(i int) (*photo.Source, error) {
	data, err := os.ReadFile(w.found[i].path)
	if err != nil {
		return nil, unreadable(err)
	}
	return w.dec.Open(data)
}

// cropMarks writes the crops of one photograph, and into c, if not nil, what the
// sheet shows of it.
func (w *photoWriter) cropMarks(i int, c *sheetCard) error {
	src, err := w.open(i)
	var img *photo.Image
	if err == nil {
		img, err = w.dec.Decode(src, 1)
	}
	var fe *photo.FileError
	if errors.As(err, &fe) { // changed since it was looked at
		if c != nil {
			c.Notes = append(c.Notes, fe.Message)
		}
		return nil
	}
	if err != nil {
		return err
	}
	r, o := w.found[i].report, src.Meta.Orientation
	stem := fmt.Sprintf("%04d-%s", i+1, safeName(w.found[i].base()))
	if c != nil {
		c.Whole, err = w.whole(img, r, w.rows[i], o)
		if err != nil {
			return err
		}
		for _, g := range r.Regions {
			p, err := w.crop(img, g.X, g.Y, g.W, g.H, regionLong, r.PxPerMM, o, fmt.Sprintf("%s-%s.jpg", stem, g.Place))
			if err != nil {
				return err
			}
			p.Title = map[photo.Place]string{photo.Rostrum: "Rostrum and head", photo.Gills: "Gill region"}[g.Place]
			if !g.Sure {
				p.Detail = "the eye is a guess"
			}
			c.Regions = append(c.Regions, p)
		}
	}
	threads, tufts := 0, 0
	for k, m := range r.Marks {
		switch {
		case m.Kind == photo.Dots && !w.rows[i].Marks[k].Shown:
			continue
		case m.Kind != photo.Dots && c == nil:
			continue
		case m.Kind == photo.Filament:
			if threads++; threads > threadCrops {
				continue
			}
		case m.Kind == photo.TuftKind:
			if tufts++; tufts > tuftCrops {
				continue
			}
		}
		// Some ground about the mark, and at least a square millimetre and a half.
		pad := max(0.3*max(m.W, m.H), 0.3*r.PxPerMM)
		side := max(m.W, m.H) + 2*pad
		p, err := w.crop(img, m.X+m.W/2-side/2, m.Y+m.H/2-side/2, side, side, markLong, r.PxPerMM, o, fmt.Sprintf("%s-%s-%d.jpg", stem, m.Kind, k+1))
		if err != nil {
			return err
		}
		p.Title, p.Detail = markTitle(m), markDetail(m)
		switch {
		case c == nil:
		case m.Kind == photo.Dots:
			c.Marks = append(c.Marks, p)
		default:
			c.Order = append(c.Order, p)
		}
	}
	return nil
}

func markTitle(m photo.Mark) string {
	switch m.Kind {
	case photo.Dots:
		return fmt.Sprintf("%d dots in rows", len(m.Parts))
	case photo.Filament:
		return "thread"
	}
	return "odd texture"
}

func markDetail(m photo.Mark) string {
	var parts []string
	switch {
	case m.Kind == photo.Dots && m.StepMM > 0:
		parts = append(parts, fmt.Sprintf("about %.2f mm wide, %.2f mm apart", m.DiameterMM, m.StepMM))
	case m.Kind == photo.Filament && m.LengthMM > 0:
		parts = append(parts, fmt.Sprintf("about %.1f mm long", m.LengthMM))
	}
	if m.Kind == photo.Dots {
		parts = append(parts, "by chance expect "+expected(m.ExpectedFalse)+" in a photograph")
	}
	if odd := m.Implausible(); odd != "" {
		parts = append(parts, odd)
	}
	return strings.Join(parts, "; ")
}

// expected writes a number of marks with the digits that it is worth.
func expected(n float64) string {
	switch {
	case n < 0.01:
		return "fewer than 0.01 such marks"
	case n < 1:
		return fmt.Sprintf("%.1g such marks", n)
	}
	return fmt.Sprintf("%.0f such marks", n)
}

// crop writes one part of a picture, upright and with its contrast raised.
func (w *photoWriter) crop(img *photo.Image, x, y, width, height float64, long int, pxPerMM float64, orientation int, name string) (sheetPicture, error) {
	part, err := img.Part(x, y, width, height, long, true)
	if err != nil {
		return sheetPicture{}, err
	}
	part = part.Upright(orientation)
	full, err := part.JPEG(88)
	if err != nil {
		return sheetPicture{}, err
	}
	if err := w.write(filepath.Join(cropFolder, name), full); err != nil {
		return sheetPicture{}, err
	}
	p, err := onSheet(part, onSheetLong)
	p.File = cropFolder + "/" + name
	if pxPerMM > 0 && width > 0 {
		shown := min(x+width, float64(img.W)) - max(x, 0)
		if orientation >= 5 {
			shown = min(y+height, float64(img.H)) - max(y, 0)
		}
		p.BarPct = 100 * pxPerMM / shown
	}
	return p, err
}

// whole is the photograph, small, with the boxes of what is shown.
func (w *photoWriter) whole(img *photo.Image, r *photo.Report, row photoRow, orientation int) (sheetPicture, error) {
	small, err := img.Part(0, 0, float64(img.W), float64(img.H), thumbLong, false)
	if err != nil {
		return sheetPicture{}, err
	}
	if small == img {
		small = img.Crop(img.Bounds())
	}
	f := float64(small.W) / float64(r.W)
	for _, g := range r.Regions {
		frame(small, g.X*f, g.Y*f, g.W*f, g.H*f, [3]uint8{90, 190, 220})
	}
	for _, m := range row.Marks {
		if m.Shown && m.Kind == string(photo.Dots) {
			frame(small, m.X*f-2, m.Y*f-2, m.W*f+4, m.H*f+4, [3]uint8{255, 190, 40})
		}
	}
	return onSheet(small.Upright(orientation), thumbLong)
}

// frame draws a box's outline.
func frame(m *photo.Image, x, y, w, h float64, colour [3]uint8) {
	set := func(px, py int) {
		if px >= 0 && py >= 0 && px < m.W && py < m.H {
			copy(m.Pix[3*(py*m.W+px):], colour[:])
		}
	}
	x0, y0, x1, y1 := int(x), int(y), int(x+w), int(y+h)
	for px := x0; px <= x1; px++ {
		set(px, y0)
		set(px, y1)
	}
	for py := y0; py <= y1; py++ {
		set(x0, py)
		set(x1, py)
	}
}

// onSheet is a picture as it is put into the page itself.
func onSheet(m *photo.Image, long int) (sheetPicture, error) {
	small, err := m.Part(0, 0, float64(m.W), float64(m.H), long, false)
	if err != nil {
		return sheetPicture{}, err
	}
	b, err := small.JPEG(80)
	return sheetPicture{Data: template.URL("data:image/jpeg;base64," + base64.StdEncoding.EncodeToString(b))}, err
}

// write puts a file under the folder, whole or not at all.
func (w *photoWriter) write(name string, data []byte) error {
	path := filepath.Join(w.out, name)
	tmp := path + ".part"
	err := os.WriteFile(tmp, data, 0o644)
	if err == nil {
		err = os.Rename(tmp, path)
	}
	if err != nil {
		_ = os.Remove(tmp)
		return ref.Inputf("out", "Give a folder with room that can be written to.", "%s cannot be written: %v", path, reason(err))
	}
	return nil
}

// safeName keeps letters, digits, dots and dashes of a file's name.
func safeName(name string) string {
	name = strings.TrimSuffix(name, filepath.Ext(name))
	safe := strings.Map(func(r rune) rune {
		switch {
		case r >= 'a' && r <= 'z', r >= 'A' && r <= 'Z', r >= '0' && r <= '9', r == '-', r == '_':
			return r
		}
		return '_'
	}, name)
	return safe[:min(len(safe), 60)]
}
