package cli

import (
	"cmp"
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"sync"
	"text/tabwriter"
	"unicode"

	"holdfast/internal/turbojpeg"
	"holdfast/photo"
	"holdfast/science/ref"
)

// Photos is the subcommand of that name.
type Photos struct {
	Dirs       []string `arg:"" name:"dir" help:"Folders of photographs, or single files. Nothing in them is changed."`
	Scales     string   `placeholder:"FILE" help:"CSV file with the columns file and px_per_mm: the pixels a millimetre of each photograph."`
	PxPerMM    float64  `name:"px-per-mm" placeholder:"N" help:"Pixels a millimetre of every photograph that --scales does not name. Marks bear an error of a quarter; sizes are wrong by as much."`
	FalseMarks float64  `default:"1" help:"How many false marks a photograph you accept; marks expected more often are listed but not shown."`
	Out        string   `placeholder:"DIR" help:"Folder to write a contact sheet, enlarged crops and fused focus stacks to."`
	JSON       bool     `help:"Print JSON."`
	Jobs       int      `placeholder:"N" help:"Photographs read at the same time (default: one a core)."`
	GoJPEG     bool     `name:"go-jpeg" help:"Use the built-in JPEG decoder even where libturbojpeg is installed."`
}

// photoRow is one file in the command's JSON.
type photoRow struct {
	File        string      `json:"file"`
	Sharpness   float64     `json:"sharpness"`
	Usable      bool        `json:"usable"`
	Burst       int         `json:"burst"`
	Best        bool        `json:"best"`
	Eye         *[2]float64 `json:"eye"`
	Marks       []photoMark `json:"marks"`
	Notes       []string    `json:"notes,omitempty"`
	DuplicateOf string      `json:"duplicate_of,omitempty"`
	Problem     string      `json:"problem,omitempty"`

	shown int // rows of dots that are shown
}

// photoMark is one region to look at: a box in pixels of the stored file.
type photoMark struct {
	Kind          string  `json:"kind"`
	X             float64 `json:"x"`
	Y             float64 `json:"y"`
	W             float64 `json:"w"`
	H             float64 `json:"h"`
	Score         float64 `json:"score"`
	ExpectedFalse float64 `json:"expected_false"`
	Shown         bool    `json:"shown,omitempty"`
}

// looked is a file with what was found in it.
type looked struct {
	photoFile
	sum    [sha256.Size]byte
	meta   photo.Meta
	report *photo.Report // nil when it could not be read
	err    error
}

// Run sorts the photographs and prints what was found.
func (p Photos) Run(env *Env) error {
	if !(p.FalseMarks >= 0) {
		return ref.Inputf("false-marks", "Give a number such as 1.", "%g is no number of marks", p.FalseMarks)
	}
	if p.Jobs < 0 {
		return ref.Inputf("jobs", "Give a number such as 2.", "%d is negative", p.Jobs)
	}
	if p.PxPerMM != 0 {
		if err := photo.CheckPxPerMM(p.PxPerMM); err != nil {
			return err
		}
	}
	scales, err := readScales(p.Scales)
	if err != nil {
		return err
	}
	files, err := findPhotos(p.Dirs)
	if err != nil {
		return err
	}
	if err := p.checkOut(); err != nil {
		return err
	}
	dec := p.decoder()
	found := p.lookAtAll(env.Context, dec, files, scales)
	if err := env.Context.Err(); err != nil {
		return err
	}
	rows := photoRows(found, p.FalseMarks)
	if p.Out != "" {
		if err := writePhotos(env.Context, dec, p.Out, found, rows); err != nil {
			return err
		}
	}
	if p.JSON {
		return env.PrintJSON(rows)
	}
	return printPhotos(env, rows, p.Out)
}

// checkOut refuses a folder for the results inside the photographs': the next
// run would take the crops for photographs.
func (p Photos) checkOut() error {
	if p.Out == "" {
		return nil
	}
	out, err := filepath.Abs(p.Out)
	if err != nil {
		return ref.Inputf("out", "Give another folder.", "%s: %v", p.Out, err)
	}
	for _, dir := range p.Dirs {
		abs, err := filepath.Abs(dir)
		if err != nil {
			continue
		}
		if rel, err := filepath.Rel(abs, out); err == nil && filepath.IsLocal(rel) {
			return ref.Inputf("out", "Give a folder outside the photographs' own.", "%s lies inside %s", p.Out, dir)
		}
	}
	return nil
}

func (p Photos) decoder() *photo.Decoder {
	var dec photo.Decoder
	if !p.GoJPEG {
		if lib, err := turbojpeg.Load(); err == nil {
			dec.JPEG = lib
		}
	}
	return &dec
}

// lookAtAll examines every file, a few at a time, in the order given.
func (p Photos) lookAtAll(ctx context.Context, dec *photo.Decoder, files []photoFile, scales map[string]float64) []looked {
	found := make([]looked, len(files))
	next := make(chan int)
	var wg sync.WaitGroup
	for range cmp.Or(p.Jobs, runtime.GOMAXPROCS(0)) {
		wg.Go(func() {
			for i := range next {
				found[i] = lookAt(dec, files[i], p.scaleOf(files[i], scales))
			}
		})
	}
	for i := range files {
		if ctx.Err() != nil {
			break
		}
		next <- i
	}
	close(next)
	wg.Wait()
	return found
}

func (p Photos) scaleOf(f photoFile, scales map[string]float64) float64 {
	if v, ok := scales[f.name]; ok {
		return v
	}
	if v, ok := scales[f.base()]; ok {
		return v
	}
	return p.PxPerMM
}

// lookAt examines one file. The size is checked before anything is read.
func lookAt(dec *photo.Decoder, f photoFile, pxPerMM float64) looked {
	l := looked{photoFile: f}
	if f.size > int64(photo.DefaultLimits.Bytes) {
		l.err = photo.TooLarge(f.size, photo.DefaultLimits)
		return l
	}
	data, err := os.ReadFile(f.path)
	if err != nil {
		l.err = unreadable(err)
		return l
	}
	l.sum = sha256.Sum256(data)
	src, report, err := dec.Examine(data, pxPerMM)
	if err != nil {
		l.err = err
		return l
	}
	l.meta, l.report = src.Meta, report
	return l
}

// unreadable turns a file system's error into a sentence without the path.
func unreadable(err error) error {
	var pe *fs.PathError
	if errors.As(err, &pe) {
		err = pe.Err
	}
	return &photo.FileError{Message: "The file cannot be read: " + err.Error() + "."}
}

// photoRows sorts the photographs into bursts and lays out the answer, one row
// a file in the order of the files.
func photoRows(found []looked, falseMarks float64) []photoRow {
	rows := make([]photoRow, len(found))
	var frames []photo.Frame
	var index []int
	first := map[[sha256.Size]byte]string{}
	for i, l := range found {
		rows[i] = photoRow{File: l.name, Marks: []photoMark{}}
		if l.report == nil {
			rows[i].Problem = problemOf(l.err)
			continue
		}
		r := l.report
		rows[i].fill(r, falseMarks)
		if name, seen := first[l.sum]; seen {
			rows[i].DuplicateOf = name
		} else {
			first[l.sum] = l.name
		}
		frames = append(frames, photo.Frame{
			Name: l.name, Taken: l.meta.Taken, Likeness: r.Likeness, Sharpness: r.Sharpness.Value, Usable: r.Usable,
		})
		index = append(index, i)
	}
	for n, burst := range photo.Sort(frames) {
		for k, f := range burst {
			rows[index[f]].Burst, rows[index[f]].Best = n+1, k == 0
		}
	}
	return rows
}

// fill lays out what was measured in one photograph.
func (row *photoRow) fill(r *photo.Report, falseMarks float64) {
	row.Sharpness, row.Usable = r.Sharpness.Value, r.Usable
	if len(r.Eyes) > 0 && r.Eyes[0].Score > 0 {
		row.Eye = &[2]float64{r.Eyes[0].At.X, r.Eyes[0].At.Y}
	}
	for _, why := range r.CannotTell {
		row.Notes = append(row.Notes, "cannot tell here: "+why)
	}
	row.Notes = append(row.Notes, r.Notes...)
	for _, m := range r.Marks {
		shown := r.PxPerMM > 0 && m.ExpectedFalse <= falseMarks
		row.Marks = append(row.Marks, photoMark{
			Kind: string(m.Kind), X: m.X, Y: m.Y, W: m.W, H: m.H, Score: m.Score, ExpectedFalse: m.ExpectedFalse, Shown: shown,
		})
		if shown && m.Kind == photo.Dots {
			row.shown++
			if odd := m.Implausible(); odd != "" {
				row.Notes = append(row.Notes, odd)
			}
		}
	}
	if row.shown == 0 {
		row.Notes = append(row.Notes, "nothing marked")
	}
}

func problemOf(err error) string {
	var fe *photo.FileError
	if errors.As(err, &fe) {
		return fe.Message
	}
	return err.Error()
}

// printPhotos writes two sentences and a table of the frames worth opening.
func printPhotos(env *Env, rows []photoRow, out string) error {
	var bursts, bad int
	frames := map[int]int{}
	var best []photoRow
	for _, r := range rows {
		bursts = max(bursts, r.Burst)
		frames[r.Burst]++
		switch {
		case r.Problem != "":
			bad++
		case r.Best && r.Usable:
			best = append(best, r)
		}
	}
	slices.SortStableFunc(best, func(a, b photoRow) int { return cmp.Compare(b.Sharpness, a.Sharpness) })
	fmt.Fprintf(env.Out, "%s in %s; the best frame of %d of them is sharp enough to look at.\n",
		count(len(rows), "file"), count(bursts, "burst"), len(best))
	fmt.Fprintln(env.Out, "A photograph with nothing marked is not a clean animal: look for yourself.")
	w := tabwriter.NewWriter(env.Out, 0, 0, 2, ' ', 0)
	fmt.Fprintln(w, "\nsharpness\tmarked\tframes\tfile\tnotes")
	for _, r := range best {
		fmt.Fprintf(w, "%.1f\t%d\t%d\t%s\t%s\n", r.Sharpness, r.shown, frames[r.Burst], printable(r.File), strings.Join(r.Notes, "; "))
	}
	if err := w.Flush(); err != nil {
		return err
	}
	if bad > 0 {
		fmt.Fprintf(env.Out, "\n%s could not be read:\n", count(bad, "file"))
		for _, r := range rows {
			if r.Problem != "" {
				fmt.Fprintf(env.Out, "  %s: %s\n", printable(r.File), r.Problem)
			}
		}
	}
	if out != "" {
		fmt.Fprintf(env.Out, "\nThe contact sheet is %s.\n", filepath.Join(out, sheetName))
	}
	return nil
}

// printable is a file's name without what would upset a terminal.
func printable(name string) string {
	return strings.Map(func(r rune) rune {
		if !unicode.IsPrint(r) {
			return '?'
		}
		return r
	}, name)
}

// count writes a number with its noun.
func count(n int, noun string) string {
	if n == 1 {
		return "1 " + noun
	}
	return fmt.Sprintf("%d %ss", n, noun)
}
