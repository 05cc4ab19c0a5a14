package cli

import (
	"errors"
	"fmt"
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

// caseSuspects is how many suspects a case file names.
const caseSuspects = 8

// writeCaseFile writes the PDF for a veterinarian or a laboratory. It never
// writes over a file.
func writeCaseFile(name string, r signsReport, questions []signs.Question, about, photos []string) error {
	c := paper.CaseFile{Made: time.Now(), About: about, Alarm: r.Flags, Ask: signs.AskWords(r.Ask)}
	for _, q := range questions {
		if said := answerWords(q, r.Answers[q.ID]); said != "" {
			c.Said = append(c.Said, paper.Said{Question: q.Ask, Answer: said})
		}
	}
	for i, s := range r.Suspects[:min(caseSuspects, len(r.Suspects))] {
		if i >= 3 && s.Share < 0.005 {
			break
		}
		pro, con := strongest(s.Weights)
		c.Suspects = append(c.Suspects, paper.CaseSuspect{Name: s.Name, Share: fmt.Sprintf("%.0f %%", 100*s.Share), For: dashless(pro), Against: dashless(con)})
	}
	for _, id := range []string{"samples", "packing", "suspicion"} {
		t, _ := reference.Builtin().Topic(id)
		a := paper.Advice{Title: t.Name}
		for _, claim := range t.Claims {
			line := claim.Say
			if claim.Caution != "" {
				line += " Caution: " + claim.Caution
			}
			a.Lines = append(a.Lines, line)
		}
		c.Advice = append(c.Advice, a)
	}
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

// answerWords says what was ticked, in the words of the question.
func answerWords(q signs.Question, ticked []string) string {
	words := ""
	for _, o := range q.Options {
		for _, t := range ticked {
			if t == o.ID {
				if words != "" {
					words += ", or "
				}
				words += o.Say
				break
			}
		}
	}
	return words
}

// dashless is empty for the dash of an empty cell.
func dashless(cell string) string {
	if cell == "-" {
		return ""
	}
	return cell
}
