package cli

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"time"

	"holdfast/internal/paper"
	"holdfast/reference"
	"holdfast/science/ref"
	"holdfast/science/signs"
)

// maxCasePhoto bounds one photograph that is read for a case file.
const maxCasePhoto = 64 << 20

// writeCaseFile writes the PDF for a veterinarian or a laboratory. It never
// writes over a file.
func writeCaseFile(name string, r signsReport, questions []signs.Question, about, photos []string) error {
	c := paper.CaseOf(reference.Builtin(), questions, r.Answers, signs.Ranking{Suspects: r.ranked, Flags: r.Flags, Ask: r.Ask})
	c.Made, c.About = time.Now(), about
	for _, p := range photos {
		data, err := readPhoto(p)
		if err != nil {
			return err
		}
		c.Photos = append(c.Photos, paper.CasePhoto{Name: filepath.Base(p), Data: data})
	}
	return writeNew(name, c)
}

func readPhoto(name string) ([]byte, error) {
	info, err := os.Stat(name)
	if err != nil || !info.Mode().IsRegular() {
		return nil, ref.Inputf("photo", "Give a JPEG or PNG picture that can be read.", "cannot read %s", name)
	}
	if info.Size() > maxCasePhoto {
		return nil, ref.Inputf("photo", "Keep each under 64 MB.", "%s is too large", name)
	}
	data, err := os.ReadFile(name)
	if err != nil {
		return nil, ref.Inputf("photo", "Give a JPEG or PNG picture that can be read.", "cannot read %s", name)
	}
	return data, nil
}

// writeNew writes the case into a file that did not exist, and leaves none
// behind when it fails.
func writeNew(name string, c paper.CaseFile) (err error) {
	f, err := os.OpenFile(name, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if errors.Is(err, fs.ErrExist) {
		return ref.Inputf("case-file", "Choose another name; nothing was written.", "%s is there already", name)
	}
	if err != nil {
		return ref.Inputf("case-file", "Choose a folder that can be written to.", "cannot write %s", name)
	}
	defer func() {
		if closed := f.Close(); err == nil {
			err = closed
		}
		if err != nil {
			_ = os.Remove(name)
		}
	}()
	return paper.WriteCaseFile(f, c)
}
