package cli

import (
	"encoding/csv"
	"errors"
	"io"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"holdfast/photo"
	"holdfast/science/ref"
)

// photoFile is a file to look at.
type photoFile struct {
	path string // where to open it
	name string // how it is called: relative to its folder, with slashes
	size int64  // bytes
}

func (f photoFile) base() string { return path.Base(f.name) }

// photoEndings are the names under which cameras and phones write pictures.
// What a file really is, its content decides.
var photoEndings = []string{
	".jpg", ".jpeg", ".jpe", ".png", ".heic", ".heif", ".hif", ".tif", ".tiff", ".webp",
	".dng", ".cr2", ".nef", ".nrw", ".arw", ".sr2", ".pef", ".orf", ".rw2", ".srw", ".3fr", ".iiq", ".erf", ".raw",
}

// findPhotos lists the pictures under the given folders in the order of their
// names, and files given by name whatever their ending. Hidden files and
// folders are passed over, links are not followed out of a folder.
func findPhotos(dirs []string) ([]photoFile, error) {
	var files []photoFile
	for _, dir := range dirs {
		info, err := os.Stat(dir)
		if err != nil {
			return nil, ref.Inputf("dir", "Give a folder that exists.", "%s cannot be opened: %v", dir, reason(err))
		}
		if !info.IsDir() {
			files = append(files, photoFile{dir, filepath.Base(dir), info.Size()})
			continue
		}
		prefix := ""
		if len(dirs) > 1 {
			prefix = filepath.ToSlash(filepath.Clean(dir)) + "/"
		}
		found, err := walkPhotos(dir, prefix)
		if err != nil {
			return nil, err
		}
		files = append(files, found...)
	}
	if len(files) == 0 {
		return nil, ref.Inputf("dir", "Give the folder that holds the photographs.", "no photographs in %s", strings.Join(dirs, ", "))
	}
	return files, nil
}

func walkPhotos(dir, prefix string) ([]photoFile, error) {
	var files []photoFile
	err := filepath.WalkDir(dir, func(p string, d fs.DirEntry, err error) error {
		if err != nil {
			if p == dir {
				return ref.Inputf("dir", "Check that the folder may be read.", "%s cannot be read: %v", dir, reason(err))
			}
			return nil // a folder inside that may not be read hides only itself
		}
		if p != dir && strings.HasPrefix(d.Name(), ".") {
			if d.IsDir() {
				return fs.SkipDir
			}
			return nil
		}
		if !d.Type().IsRegular() || !slices.Contains(photoEndings, strings.ToLower(filepath.Ext(p))) {
			return nil
		}
		rel, err := filepath.Rel(dir, p)
		if err != nil {
			return err
		}
		info, err := d.Info()
		if err != nil {
			return nil // gone since it was listed
		}
		files = append(files, photoFile{p, prefix + filepath.ToSlash(rel), info.Size()})
		return nil
	})
	return files, err
}

// reason is an error without the path it names.
func reason(err error) error {
	var pe *fs.PathError
	if errors.As(err, &pe) {
		return pe.Err
	}
	return err
}

// maxScaleRows bounds the table of scales.
const maxScaleRows = 1_000_000

// readScales reads the CSV table of pixels a millimetre by file. An empty name
// is no table.
func readScales(name string) (map[string]float64, error) {
	if name == "" {
		return nil, nil
	}
	f, err := os.Open(name)
	if err != nil {
		return nil, ref.Inputf("scales", "Give a CSV file with the columns file and px_per_mm.", "%s cannot be opened: %v", name, reason(err))
	}
	defer f.Close()
	return parseScales(f)
}

func parseScales(r io.Reader) (map[string]float64, error) {
	const hint = "The first line is file,px_per_mm; each further line names a file and its pixels a millimetre."
	rows := csv.NewReader(r)
	rows.TrimLeadingSpace = true
	head, err := rows.Read()
	if err != nil {
		return nil, ref.Inputf("scales", hint, "the table has no first line: %v", err)
	}
	head[0] = strings.TrimPrefix(head[0], "\ufeff") // spreadsheets put it there
	fileAt, scaleAt := slices.Index(head, "file"), slices.Index(head, "px_per_mm")
	if fileAt < 0 || scaleAt < 0 {
		return nil, ref.Inputf("scales", hint, "the first line is %q", strings.Join(head, ","))
	}
	scales := map[string]float64{}
	for {
		row, err := rows.Read()
		if err == io.EOF {
			return scales, nil
		}
		if err != nil {
			return nil, ref.Inputf("scales", hint, "the table cannot be read: %v", err)
		}
		if strings.TrimSpace(row[scaleAt]) == "" {
			continue // not known for this file
		}
		line, _ := rows.FieldPos(scaleAt)
		v, err := strconv.ParseFloat(strings.TrimSpace(row[scaleAt]), 64)
		if err != nil || photo.CheckPxPerMM(v) != nil {
			return nil, ref.Inputf("scales", hint, "line %d: %q is no number of pixels a millimetre between %g and %g",
				line, row[scaleAt], photo.MinPxPerMM, photo.MaxPxPerMM)
		}
		if len(scales) >= maxScaleRows {
			return nil, ref.Inputf("scales", "Split the table.", "more than %d lines", maxScaleRows)
		}
		scales[filepath.ToSlash(row[fileAt])] = v
	}
}
