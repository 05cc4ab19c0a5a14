// Package archtest holds the direction of imports as data. Do not change the
// data to make a build pass: move the code.
package archtest

import (
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
)

// allowed says, for the longest matching folder, which packages of this module
// its non-test files may import. A trailing /... admits what lies below.
var allowed = map[string][]string{
	".":                  {},
	"money":              {},
	"science":            {"science/..."},
	"photo":              {"photo/...", "science/..."},
	"reference":          {"reference/...", "science/ref"},
	"intake":             {"money", "science/ref"},
	"desk":               {".", "intake", "money", "photo/...", "reference/...", "science/..."},
	"internal/store":     {".", "desk", "internal/store/..."},
	"internal/paper":     {"internal/paper/...", "money", "reference/...", "science/...", "."},
	"internal/books":     {".", "desk", "internal/paper", "money"},
	"internal/media":     {".", "photo"},
	"internal/darkroom":  {".", "desk", "internal/media", "photo", "science/ref"},
	"internal/door":      {"science/ref"},
	"internal/demo":      {".", "desk", "reference", "science/..."},
	"internal/web":       {".", "desk", "intake", "internal/books", "internal/darkroom", "internal/door", "internal/media", "internal/paper", "internal/web/...", "money", "photo", "reference/...", "science/..."},
	"internal/cli":       {".", "desk", "internal/door", "internal/paper", "internal/turbojpeg", "money", "photo/...", "reference/...", "science/...", "intake"},
	"internal/turbojpeg": {"photo/..."},
}

// pure folders touch neither disk, network, clock nor log.
var pure = []string{".", "money", "science", "photo", "reference", "intake", "desk"}

var forbidden = []string{"os", "net", "net/http", "database/sql", "log", "log/slog", "syscall", "os/exec"}

func TestImportsPointInwards(t *testing.T) {
	root := "../.."
	files := 0
	err := filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		name := d.Name()
		if d.IsDir() {
			if name == "testdata" || name == "bench" || name == "cmd" || (strings.HasPrefix(name, ".") && path != root) || name == "node_modules" {
				return filepath.SkipDir
			}
			return nil
		}
		if !strings.HasSuffix(name, ".go") || strings.HasSuffix(name, "_test.go") {
			return nil
		}
		folder, err := filepath.Rel(root, filepath.Dir(path))
		if err != nil {
			return err
		}
		src, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		if strings.HasPrefix(string(src), "//go:build ignore") {
			return nil
		}
		f, err := parser.ParseFile(token.NewFileSet(), path, src, parser.ImportsOnly)
		if err != nil {
			return err
		}
		files++
		for _, imp := range f.Imports {
			p, _ := strconv.Unquote(imp.Path.Value)
			check(t, folder, name, p)
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	if files < 100 {
		t.Fatalf("%d files were read", files)
	}
}

func check(t *testing.T, folder, name, imported string) {
	t.Helper()
	rule := ruleOf(folder)
	if slices.Contains(pure, strings.SplitN(folder, "/", 2)[0]) && slices.Contains(forbidden, imported) {
		t.Errorf("%s/%s imports %s: what is outside internal and cmd touches nothing outside", folder, name, imported)
	}
	if imported != "holdfast" && !strings.HasPrefix(imported, "holdfast/") {
		return
	}
	own := strings.TrimPrefix(strings.TrimPrefix(imported, "holdfast"), "/")
	if own == "" {
		own = "."
	}
	list, ok := allowed[rule]
	if rule == "" || !ok {
		if !strings.Contains(name, "gallery") && !strings.HasPrefix(folder, "internal/archtest") && !strings.HasPrefix(folder, "internal/e2e") {
			t.Errorf("no rule says what %s may import", folder)
		}
		return
	}
	for _, a := range list {
		if a == own || (strings.HasSuffix(a, "/...") && (own == strings.TrimSuffix(a, "/...") || strings.HasPrefix(own, strings.TrimSuffix(a, "...")))) {
			return
		}
	}
	t.Errorf("%s/%s imports %s, which the direction of imports does not allow", folder, name, own)
}

// ruleOf returns the longest folder of the rules that holds the package.
func ruleOf(folder string) string {
	best := ""
	for rule := range allowed {
		if (folder == rule || strings.HasPrefix(folder, rule+"/")) && len(rule) > len(best) {
			best = rule
		}
	}
	return best
}
