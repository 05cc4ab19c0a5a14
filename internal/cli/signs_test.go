package cli

import (
	"bytes"
	"context"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"holdfast/reference"
	"holdfast/science/signs"
)

// command runs the program with standard input and returns what it printed.
func command(stdin string, args ...string) (status int, out, errs string) {
	var o, e bytes.Buffer
	status = Run(context.Background(), args, Streams{In: strings.NewReader(stdin), Out: &o, Err: &e})
	return status, o.String(), e.String()
}

func TestSignsAsJSON(t *testing.T) {
	status, out, errs := command("", "signs", "--json", "site=rostrum", "colour=white", "size=1.5mm", "animal=neocaridina")
	if status != StatusDone || errs != "" {
		t.Fatalf("status %d, %s", status, errs)
	}
	var r signsReport
	if err := json.Unmarshal([]byte(out), &r); err != nil {
		t.Fatal(err)
	}
	if r.Version != 1 || r.Suspects[0].ID != reference.RostrumWorm || r.Suspects[0].Name != "Rostrum worm" {
		t.Errorf("version %d, leads %s %q", r.Version, r.Suspects[0].ID, r.Suspects[0].Name)
	}
	if got := r.Answers["size"]; len(got) != 1 || got[0] != "1_to_3_mm" {
		t.Errorf("1.5 mm became %v", got)
	}
	if len(r.Suspects[0].TellApart) == 0 || len(r.Next) == 0 || r.Caution == "" || r.Hold {
		t.Errorf("incomplete: %+v", r.Suspects[0])
	}
}

func TestSignsFromAFileAndStandardInput(t *testing.T) {
	text := `{"site": ["belly"], "form": ["ringed"]}`
	file := filepath.Join(t.TempDir(), "answers.json")
	if err := os.WriteFile(file, []byte(text), 0o600); err != nil {
		t.Fatal(err)
	}
	_, a, _ := command("", "signs", "--json", "--from", file)
	_, b, _ := command(text, "signs", "--json", "--from", "-")
	_, c, _ := command("", "signs", "--json", "form=ringed", "site=belly")
	if a == "" || a != b || a != c {
		t.Errorf("three ways to say the same differ:\n%s\n%s\n%s", a, b, c)
	}
}

func TestSignsLearnsFromCases(t *testing.T) {
	cases := `[{"truth": "ciliates", "proof": "microscope", "answers": {"site": ["rostrum"], "form": ["finger"]}}]`
	file := filepath.Join(t.TempDir(), "cases.json")
	if err := os.WriteFile(file, []byte(cases), 0o600); err != nil {
		t.Fatal(err)
	}
	status, out, errs := command("", "signs", "--json", "--cases", file, "site=rostrum", "form=finger")
	if status != StatusDone {
		t.Fatal(errs)
	}
	var r signsReport
	if err := json.Unmarshal([]byte(out), &r); err != nil {
		t.Fatal(err)
	}
	n := 0
	for _, l := range r.Learned {
		if l.ID == "ciliates" && l.Cases == 0.8 && l.PriorWeight < 1 {
			n++
		}
	}
	if n != 1 {
		t.Errorf("learned %+v", r.Learned)
	}
}

func TestSignsForPeople(t *testing.T) {
	_, out, _ := command("", "signs", "site=rostrum", "colour=white", "animal=neocaridina")
	for _, want := range []string{"Rostrum worm", "Look next", "What else looks like it", "suspicion, not a finding"} {
		if !strings.Contains(out, want) {
			t.Errorf("%q is missing from\n%s", want, out)
		}
	}
	_, out, _ = command("", "signs", "animal=prawn", "form=milky", "deaths=fast")
	if !strings.Contains(out, "HOLD EVERYTHING") || !strings.Contains(out, "authority") {
		t.Errorf("no alarm:\n%s", out)
	}
	_, out, _ = command("", "signs", "--questions")
	if !strings.Contains(out, "gill_chamber: under the gill cover") {
		t.Errorf("questions:\n%s", out)
	}
}

func TestSignsWritesACaseFile(t *testing.T) {
	dir := t.TempDir()
	photo := filepath.Join("..", "..", "photo", "testdata", "formats", "picture.jpg")
	file := filepath.Join(dir, "case.pdf")
	args := []string{"signs", "--json", "--case-file", file, "--photo", photo, "--about", "Lot 1910, tank 14", "site=rostrum", "colour=white"}
	status, out, errs := command("", args...)
	if status != StatusDone || !strings.Contains(out, `"case_file"`) {
		t.Fatalf("status %d, %s", status, errs)
	}
	pdf, err := os.ReadFile(file)
	if err != nil || !bytes.HasPrefix(pdf, []byte("%PDF-")) {
		t.Fatalf("%d bytes, %v", len(pdf), err)
	}
	if status, _, errs := command("", args...); status != StatusInput || !strings.Contains(errs, "already") {
		t.Errorf("written over: status %d, %s", status, errs)
	}
	bad := filepath.Join(dir, "bad.pdf")
	if status, _, _ := command("", "signs", "--json", "--case-file", bad, "--photo", "signs_test.go", "site=rostrum"); status != StatusInput {
		t.Errorf("a text as photograph: status %d", status)
	}
	if _, err := os.Stat(bad); err == nil {
		t.Error("half a case file was left behind")
	}
	if status, _, _ := command("", "signs", "--json", "--photo", photo, "site=rostrum"); status != StatusInput {
		t.Errorf("a photograph without a case file: status %d", status)
	}
}

func TestSignsRefuses(t *testing.T) {
	for _, args := range [][]string{
		{}, {"site"}, {"site="}, {"=rostrum"}, {"site=nose"}, {"nose=big"},
		{"size=-1mm"}, {"size=NaNmm"}, {"size=xmm"}, {"--from", "/nowhere/at/all"},
	} {
		status, out, errs := command("", append([]string{"signs", "--json"}, args...)...)
		var p Problem
		if err := json.Unmarshal([]byte(errs), &p); err != nil || status != StatusInput || out != "" || p.Hint == "" {
			t.Errorf("%v: status %d, out %q, err %q", args, status, out, errs)
		}
	}
	for _, in := range []string{"", "[]", "{", `{"site": "rostrum"}`, `{"site": ["rostrum"]} {}`, `{"site": [1]}`} {
		if status, _, errs := command(in, "signs", "--json", "--from", "-"); status != StatusInput {
			t.Errorf("%q: status %d, %s", in, status, errs)
		}
	}
}

func FuzzSignsAnswers(f *testing.F) {
	f.Add("site=rostrum,antennae", `{"form": ["fuzz"]}`)
	f.Add("size=1e300mm", `{}`)
	f.Fuzz(func(t *testing.T, arg, file string) {
		status, out, _ := command(file, "signs", "--json", "--from", "-", "--", arg)
		if status != StatusDone && status != StatusInput {
			t.Fatalf("status %d", status)
		}
		if status == StatusDone && !json.Valid([]byte(out)) {
			t.Fatalf("not JSON: %s", out)
		}
	})
}

// TestEverySuspectIsInTheReference keeps the two packages speaking of the same
// things, without one importing the other.
func TestEverySuspectIsInTheReference(t *testing.T) {
	b := reference.Builtin()
	suspects := signs.Default().Suspects()
	if len(suspects) < 35 {
		t.Fatalf("only %d suspects", len(suspects))
	}
	for _, id := range suspects {
		if _, ok := b.Condition(id); !ok {
			t.Errorf("suspect %s is not in the reference", id)
		}
	}
	for _, e := range b.Everything() {
		if e.Kind != reference.Unknown && !strings.Contains(strings.Join(suspects, " ")+" ", e.ID+" ") {
			t.Errorf("%s of the reference is never suspected", e.ID)
		}
	}
	for _, q := range signs.Default().Questions() {
		if q.ID != "animal" {
			continue
		}
		for _, o := range q.Options {
			if _, ok := b.Group(o.ID); !ok {
				t.Errorf("animal %s is not a group of the reference", o.ID)
			}
		}
	}
	for _, q := range b.Questions() {
		if q.Setting == "" {
			continue
		}
		for _, a := range q.Answers {
			if _, err := signs.Default().Rank(signs.Answers{q.Setting: {a.ID}}); err != nil {
				t.Errorf("question %s: %v", q.ID, err)
			}
		}
	}
}
