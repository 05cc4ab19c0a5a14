package reference

import (
	"os"
	"regexp"
	"slices"
	"strings"
	"testing"
)

func TestBuiltinBookHasNoFault(t *testing.T) {
	b := Builtin()
	if len(b.conditions) < 35 || len(b.species) < 10 || len(b.medicines) < 10 || len(b.sites) < 15 {
		t.Fatalf("read too little: %d conditions, %d species, %d medicines, %d sites", len(b.conditions), len(b.species), len(b.medicines), len(b.sites))
	}
	for _, f := range b.Check() {
		t.Error(f)
	}
}

// spoil returns the shipped book with one text in one file replaced.
func spoil(t *testing.T, file, old, new string) (*Book, error) {
	t.Helper()
	return load(func(name string) ([]byte, error) {
		text, err := data.ReadFile("data/" + name)
		if name != file || err != nil {
			return text, err
		}
		if !strings.Contains(string(text), old) {
			t.Fatalf("%s does not contain %q", file, old)
		}
		return []byte(strings.Replace(string(text), old, new, 1)), nil
	})
}

func TestCheckFindsEachKindOfFault(t *testing.T) {
	for _, c := range []struct{ name, file, old, new, want string }{
		{"missing source", "conditions.yaml", `slip back under the edge of the shell.", from: common practice`, `slip back under the edge of the shell."`, "no source"},
		{"invented source", "conditions.yaml", "from: ohtaka2012", "from: ohtaka2099", "unknown source"},
		{"source of a range", "species.yaml", "temp_c: {low: 18, high: 26, from: common practice}", "temp_c: {low: 18, high: 26}", "no source"},
		{"link to a look-alike", "conditions.yaml", "{id: bubble,", "{id: bubbles,", `link to "bubbles"`},
		{"link to a medicine", "conditions.yaml", "{medicine: praziquantel,", "{medicine: prazi,", `link to "prazi"`},
		{"link to a group", "species.yaml", "group: neocaridina", "group: neo", `link to "neo"`},
		{"trade mark", "medicines.yaml", "name: Praziquantel bath", "name: Wormaway® bath", "product's name"},
		{"mixed capitals", "medicines.yaml", "Hardly dissolves", "WormAway hardly dissolves", "product's name"},
		{"dose in a text", "medicines.yaml", "Fades within days", "Use 2.5 mg/L. It fades within days", "without a caution"},
		{"dose in words", "medicines.yaml", "Fades within days", "Give a teaspoon of salt to a cup. It fades within days", "without a caution"},
		{"dose in tablets", "medicines.yaml", "Fades within days", "Give one tablet to 40 litres. It fades within days", "without a caution"},
		{"grams in words", "medicines.yaml", "Fades within days", "Two grams per litre help. It fades within days", "without a caution"},
		{"dose without caution", "medicines.yaml", `, caution: "No trial on this worm or on dwarf shrimp was found. Try a few animals first. Carbon out, lamp for germs off, air on."`, "", "dose without a caution"},
		{"dose of a poison", "medicines.yaml", "  use: usable\n  kills: [rostrum_worm, other_flatworm]", "  use: never\n  kills: [rostrum_worm, other_flatworm]", "kills shrimp"},
		{"same id twice", "pests.yaml", "- id: hydra", "- id: planaria", "occurs twice"},
		{"sale of a suspicion", "conditions.yaml", "isolation: hold_everything", "isolation: none", "must hold everything"},
		{"reversed range", "species.yaml", "ph: {low: 6.5, high: 8,", "ph: {low: 8, high: 6.5,", "range 8 to 6.5"},
	} {
		t.Run(c.name, func(t *testing.T) {
			b, err := spoil(t, c.file, c.old, c.new)
			if err != nil {
				t.Fatal(err)
			}
			faults := b.Check()
			if !slices.ContainsFunc(faults, func(f string) bool { return strings.Contains(f, c.want) }) {
				t.Errorf("want a fault with %q, got %q", c.want, faults)
			}
		})
	}
}

func TestUnknownFieldIsRefused(t *testing.T) {
	if _, err := spoil(t, "conditions.yaml", "agent: flatworm eggs", "agnet: flatworm eggs"); err == nil {
		t.Error("a misspelt field was accepted")
	}
}

// strangers returns the capitalised words inside sentences of the text that
// are not on the list, and how many such words there are at all.
func strangers(text string, known []string) (out []string, words int) {
	inside := regexp.MustCompile(`[a-z,;)] ([A-Z][A-Za-z-]+)`)
	for line := range strings.Lines(text) {
		if strings.Contains(line, "scientific:") {
			continue
		}
		for _, m := range inside.FindAllStringSubmatch(line, -1) {
			words++
			if !slices.Contains(known, m[1]) {
				out = append(out, m[1])
			}
		}
	}
	return out, words
}

// TestProperNamesAreKnown fails on a capitalised word inside a sentence that
// is not on the list of scientific, geographical and trade words: the net in
// which a product's name would be caught.
func TestProperNamesAreKnown(t *testing.T) {
	list, err := os.ReadFile("testdata/proper_names.txt")
	if err != nil {
		t.Fatal(err)
	}
	known := strings.Fields(string(list))
	files, err := data.ReadDir("data")
	if err != nil {
		t.Fatal(err)
	}
	words := 0
	for _, f := range files {
		text, err := data.ReadFile("data/" + f.Name())
		if err != nil {
			t.Fatal(err)
		}
		odd, n := strangers(string(text), known)
		words += n
		for _, w := range odd {
			t.Errorf("%s: %q is not on testdata/proper_names.txt: a product's name?", f.Name(), w)
		}
		// The net must hold: a name planted in this very file is caught.
		planted := strings.Replace(string(text), "say: \"", "say: \"Bathe them in Wormex first. ", 1)
		if odd, _ := strangers(planted, known); planted != string(text) && !slices.Contains(odd, "Wormex") {
			t.Errorf("%s: a planted product's name was not caught", f.Name())
		}
	}
	if words == 0 {
		t.Fatal("no capitalised word was found at all")
	}
}

// TestNoSourceIsIdle: a source of this area that no claim names is a leftover.
func TestNoSourceIsIdle(t *testing.T) {
	var text strings.Builder
	files, err := data.ReadDir("data")
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range files {
		b, err := data.ReadFile("data/" + f.Name())
		if err != nil {
			t.Fatal(err)
		}
		text.Write(b)
	}
	declared, err := os.ReadFile("../science/ref/sources_signs.go")
	if err != nil {
		t.Fatal(err)
	}
	keys := regexp.MustCompile(`Key: "(\w+)"`).FindAllStringSubmatch(string(declared), -1)
	if len(keys) < 15 {
		t.Fatalf("only %d sources", len(keys))
	}
	for _, k := range keys {
		if !regexp.MustCompile(`\b` + k[1] + `\b`).MatchString(text.String()) {
			t.Errorf("source %s is named by nothing", k[1])
		}
	}
}
