package assets

import (
	"io/fs"
	"path"
	"regexp"
	"strings"
	"testing"
)

// The files are joined in the order of their names, so two of one number leave
// the cascade to chance, and a class that two files begin means two things.
func TestEveryClassBeginsInOneFile(t *testing.T) {
	names, err := fs.Glob(files, "css/*.css")
	if err != nil || len(names) < 10 {
		t.Fatalf("%d files (%v)", len(names), err)
	}
	comment := regexp.MustCompile(`(?s)/\*.*?\*/`)
	rule := regexp.MustCompile(`([^{}]+)\{`)
	alone := regexp.MustCompile(`^[a-z]*\.([a-zA-Z][\w-]*)$`)
	numbers, begun := map[string]string{}, map[string]string{}
	for _, name := range names {
		number, _, _ := strings.Cut(path.Base(name), "-")
		if other := numbers[number]; other != "" {
			t.Errorf("%s and %s have one number", other, name)
		}
		numbers[number] = name
		b, err := files.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		css := withoutPrint(comment.ReplaceAllString(string(b), ""))
		for _, r := range rule.FindAllStringSubmatch(css, -1) {
			for _, selector := range strings.Split(r[1], ",") {
				m := alone.FindStringSubmatch(strings.TrimSpace(selector))
				if m == nil {
					continue
				}
				if other := begun[m[1]]; other != "" && other != name {
					t.Errorf("the class %q is begun in %s and in %s", m[1], other, name)
				}
				begun[m[1]] = name
			}
		}
	}
	if len(begun) < 50 {
		t.Errorf("only %d classes were found", len(begun))
	}
}

// withoutPrint leaves out what holds on paper only: there a file may hide what
// another one draws.
func withoutPrint(css string) string {
	for {
		i := strings.Index(css, "@media print{")
		if i < 0 {
			return css
		}
		depth, j := 1, i+len("@media print{")
		for ; j < len(css) && depth > 0; j++ {
			switch css[j] {
			case '{':
				depth++
			case '}':
				depth--
			}
		}
		css = css[:i] + css[j:]
	}
}
