// Package archtest holds as data what docs/ARCHITECTURE.md says of imports,
// clocks, chance and exits. Do not change the data to make a build pass: move
// the code.
package archtest

import (
	"go/ast"
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
	"internal/notices":   {},
	"internal/web":       {".", "desk", "intake", "internal/books", "internal/darkroom", "internal/door", "internal/media", "internal/notices", "internal/paper", "internal/web/...", "money", "photo", "reference/...", "science/..."},
	"internal/cli":       {".", "desk", "internal/door", "internal/notices", "internal/paper", "internal/turbojpeg", "money", "photo/...", "reference/...", "science/...", "intake"},
	"internal/turbojpeg": {"photo/..."},
}

// pure folders touch neither disk, network, clock nor log.
var pure = []string{".", "money", "science", "photo", "reference", "intake", "desk"}

var forbidden = []string{"os", "net", "net/http", "database/sql", "log", "log/slog", "syscall", "os/exec", "crypto/rand"}

// clocks and chances are what pure folders do not call either: time and chance
// are handed in.
var (
	clocks  = []string{"Now", "Since", "Until", "Sleep", "After", "AfterFunc", "Tick", "NewTicker", "NewTimer"}
	seeded  = []string{"New", "NewPCG", "NewChaCha8", "NewZipf", "Rand", "Source", "PCG", "ChaCha8", "Zipf"}
	exempts = map[string]string{
		"desk/life_work.go": "the worker in the background times its own work, to say how long a lot takes; no figure rests on it",
	}
)

// TestWorldIsHandedIn reads every call of the module: pure folders ask no clock
// and no common source of chance, and only main ends the process.
func TestWorldIsHandedIn(t *testing.T) {
	files, used := 0, map[string]bool{}
	each(t, func(folder, name string, f *ast.File) {
		files++
		path := filepath.ToSlash(filepath.Join(folder, name))
		clean := slices.Contains(pure, strings.SplitN(folder, "/", 2)[0])
		for _, d := range f.Decls {
			fn, _ := d.(*ast.FuncDecl)
			main := fn != nil && f.Name.Name == "main" && fn.Name.Name == "main"
			ast.Inspect(d, func(n ast.Node) bool {
				sel, ok := n.(*ast.SelectorExpr)
				if !ok {
					return true
				}
				pkg, ok := sel.X.(*ast.Ident)
				if !ok {
					return true
				}
				call := pkg.Name + "." + sel.Sel.Name
				world := pkg.Name == "time" && slices.Contains(clocks, sel.Sel.Name) || pkg.Name == "rand" && ast.IsExported(sel.Sel.Name) && !slices.Contains(seeded, sel.Sel.Name)
				switch {
				case clean && world && imports(f, pkg.Name) && exempts[path] != "":
					used[path] = true
				case clean && world && imports(f, pkg.Name):
					t.Errorf("%s calls %s: time and chance are handed in", path, call)
				case !main && (call == "os.Exit" || strings.HasPrefix(call, "log.Fatal")) && imports(f, pkg.Name):
					t.Errorf("%s calls %s: only main ends the process", path, call)
				}
				return true
			})
		}
	})
	if files < 100 {
		t.Fatalf("%d files were read", files)
	}
	for path := range exempts {
		if !used[path] {
			t.Errorf("%s needs no exemption any more", path)
		}
	}
}

// imports reports whether the file imports a package of that name, so that a
// variable called rand is not taken for one.
func imports(f *ast.File, name string) bool {
	for _, imp := range f.Imports {
		p, _ := strconv.Unquote(imp.Path.Value)
		p = strings.TrimSuffix(p, "/v2")
		if imp.Name == nil && p[strings.LastIndex(p, "/")+1:] == name {
			return true
		}
	}
	return false
}

func TestImportsPointInwards(t *testing.T) {
	files := 0
	each(t, func(folder, name string, f *ast.File) {
		if strings.HasPrefix(folder, "cmd") {
			return // wires everything
		}
		files++
		for _, imp := range f.Imports {
			p, _ := strconv.Unquote(imp.Path.Value)
			check(t, folder, name, p)
		}
	})
	if files < 100 {
		t.Fatalf("%d files were read", files)
	}
}

// each calls f for every file of the module that is no test, no benchmark and
// no generator.
func each(t *testing.T, f func(folder, name string, file *ast.File)) {
	t.Helper()
	const root = "../.."
	err := filepath.WalkDir(root, func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		name := d.Name()
		if d.IsDir() {
			if name == "testdata" || name == "bench" || (strings.HasPrefix(name, ".") && path != root) || name == "node_modules" {
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
		file, err := parser.ParseFile(token.NewFileSet(), path, src, parser.SkipObjectResolution)
		if err != nil {
			return err
		}
		f(filepath.ToSlash(folder), name, file)
		return nil
	})
	if err != nil {
		t.Fatal(err)
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

// TestEveryDependencyIsJustified: a direct dependency has its line, and a line
// its dependency.
func TestEveryDependencyIsJustified(t *testing.T) {
	mod, err := os.ReadFile("../../go.mod")
	if err != nil {
		t.Fatal(err)
	}
	said, err := os.ReadFile("../../docs/DEPENDENCIES.md")
	if err != nil {
		t.Fatal(err)
	}
	direct := 0
	for line := range strings.Lines(string(mod)) {
		name, _, ok := strings.Cut(strings.TrimSpace(strings.TrimPrefix(line, "require ")), " v")
		if !ok || strings.Contains(line, "// indirect") {
			continue
		}
		direct++
		if !strings.Contains(string(said), "`"+name+"`") && !strings.Contains(string(said), "`"+name+"/") {
			t.Errorf("docs/DEPENDENCIES.md does not say what %s is for", name)
		}
	}
	if direct < 10 {
		t.Errorf("%d direct dependencies were read", direct)
	}
	for _, quoted := range strings.Split(string(said), "`") {
		if host, _, ok := strings.Cut(quoted, "/"); ok && strings.Contains(host, ".") && !strings.ContainsAny(quoted, " \n") {
			name := strings.TrimSuffix(strings.TrimSuffix(quoted, "/html"), "/rate")
			if !strings.Contains(string(mod), name+" v") {
				t.Errorf("docs/DEPENDENCIES.md speaks of %s, which is no dependency", quoted)
			}
		}
	}
}
