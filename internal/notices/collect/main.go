// Command collect writes internal/notices/notices.txt: the licences and notices
// of every module that is built into the program on any of the systems it is
// made for, as they stand in the module cache, of Go's own library and of the
// fonts. Run it in the root of the repository after a dependency has changed.
package main

import (
	"bytes"
	"cmp"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
)

const out = "internal/notices/notices.txt"

// systems are those that the program is built for.
var systems = []string{"linux", "darwin", "windows"}

func main() {
	text, err := collect(".")
	if err == nil {
		err = os.WriteFile(out, text, 0o644)
	}
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}

// part is one work with its texts.
type part struct {
	// name says which work and which version, kind the licences its texts are.
	name, kind string
	texts      []text
}

type text struct{ file, body string }

// collect returns the file for the repository at root.
func collect(root string) ([]byte, error) {
	parts, err := modules(root)
	if err != nil {
		return nil, err
	}
	goroot, err := run(root, nil, "env", "GOROOT")
	if err != nil {
		return nil, err
	}
	for _, more := range []struct {
		name, folder, pattern string
	}{
		{"Go's standard library", strings.TrimSpace(string(goroot)), "LICENSE"},
		{"Font Atkinson Hyperlegible Next", filepath.Join(root, "internal/web/assets/font"), "OFL-atkinson*"},
		{"Font Source Serif 4", filepath.Join(root, "internal/web/assets/font"), "OFL-source*"},
	} {
		files, err := filepath.Glob(filepath.Join(more.folder, more.pattern))
		if err != nil || len(files) == 0 {
			return nil, errors.Join(fmt.Errorf("no licence of %s in %s", more.name, more.folder), err)
		}
		p, err := read(more.name, more.folder, files)
		if err != nil {
			return nil, err
		}
		parts = append(parts, p)
	}
	return write(parts), nil
}

// modules are those that any package of the program comes from, on any system.
func modules(root string) ([]part, error) {
	type pkg struct {
		Dir    string
		Module *struct {
			Path, Version, Dir string
			Main               bool
		}
	}
	folders := map[string]map[string]bool{} // folders of packages, by module
	names := map[string]string{}
	for _, system := range systems {
		listed, err := run(root, []string{"GOOS=" + system, "CGO_ENABLED=0"}, "list", "-deps", "-json=Dir,Module", "-tags=nodynamic", "./cmd/holdfast")
		if err != nil {
			return nil, err
		}
		for d := json.NewDecoder(bytes.NewReader(listed)); ; {
			var p pkg
			if err := d.Decode(&p); errors.Is(err, io.EOF) {
				break
			} else if err != nil {
				return nil, err
			}
			if p.Module == nil || p.Module.Main {
				continue
			}
			dir := p.Module.Dir
			if folders[dir] == nil {
				folders[dir] = map[string]bool{dir: true}
			}
			folders[dir][p.Dir] = true
			names[dir] = p.Module.Path + " " + p.Module.Version
		}
	}
	var parts []part
	for dir, used := range folders {
		files, err := licences(dir, used)
		if err != nil {
			return nil, err
		}
		if len(files) == 0 {
			return nil, fmt.Errorf("%s has no licence that this program recognises by its name", names[dir])
		}
		p, err := read(names[dir], dir, files)
		if err != nil {
			return nil, err
		}
		parts = append(parts, p)
	}
	slices.SortFunc(parts, func(a, b part) int { return cmp.Compare(a.name, b.name) })
	return parts, nil
}

var called = regexp.MustCompile(`(?i)^(licen[cs]e|copying|copyright|notice|patents)|-licen[cs]e$`)

// licences returns the files of a module that carry its terms: beside its root
// and the packages that are used, and in folders without any package, such as
// those of what it embeds. Of packages that are not used nothing is passed on.
func licences(dir string, used map[string]bool) ([]string, error) {
	var files []string
	err := filepath.WalkDir(dir, func(path string, e fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if e.IsDir() {
			if e.Name() == "testdata" || strings.HasPrefix(e.Name(), ".") {
				return fs.SkipDir
			}
			return nil
		}
		if !called.MatchString(e.Name()) || strings.HasSuffix(e.Name(), ".go") {
			return nil
		}
		folder := filepath.Dir(path)
		goFiles, err := filepath.Glob(filepath.Join(folder, "*.go"))
		if err == nil && (used[folder] || len(goFiles) == 0) {
			files = append(files, path)
		}
		return err
	})
	return files, err
}

func read(name, dir string, files []string) (part, error) {
	p := part{name: name}
	var kinds []string
	for _, f := range files {
		b, err := os.ReadFile(f)
		if err != nil {
			return p, err
		}
		rel, err := filepath.Rel(dir, f)
		if err != nil {
			return p, err
		}
		body := tidy(string(b))
		p.texts = append(p.texts, text{filepath.ToSlash(rel), body})
		if k := kindOf(body); k != "" && !slices.Contains(kinds, k) {
			kinds = append(kinds, k)
		}
	}
	p.kind = strings.Join(kinds, ", ")
	return p, nil
}

// site is where the documentation of modules is read; a list of works links to it.
var site = regexp.MustCompile(`https?://pkg\.go\.dev/`)

// tidy gives every text the same ends of lines, so that the same terms are the
// same text, and leaves the address of that site out of links.
func tidy(s string) string {
	s = site.ReplaceAllString(s, "")
	lines := strings.Split(strings.ToValidUTF8(strings.ReplaceAll(s, "\r\n", "\n"), "?"), "\n")
	for i := range lines {
		lines[i] = strings.TrimRight(lines[i], " \t\f")
	}
	return strings.Trim(strings.Join(lines, "\n"), "\n")
}

// kindOf names the licence a text is, by words that only it has; "" for others.
func kindOf(body string) string {
	flat := strings.Join(strings.Fields(body), " ")
	for _, k := range []struct{ words, name string }{
		{"GNU LESSER GENERAL PUBLIC LICENSE", "LGPL"},
		{"GNU GENERAL PUBLIC LICENSE", "GPL"},
		{"SIL OPEN FONT LICENSE Version 1.1", "OFL 1.1"},
		{"Mozilla Public License", "MPL"},
		{"Apache License Version 2.0", "Apache 2.0"},
		{"Boost Software License", "Boost"},
		{"Neither the name of", "BSD with three clauses"},
		{"nor the names of its contributors", "BSD with three clauses"},
		{"Redistributions in binary form must reproduce", "BSD with two clauses"},
		{"Permission is hereby granted, free of charge, to any person obtaining a copy", "MIT"},
		{"Additional IP Rights Grant (Patents)", "patent grant"},
	} {
		if strings.Contains(flat, k.words) {
			return k.name
		}
	}
	return ""
}

const head = `What is built into Holdfast, and on which terms

Holdfast itself is under the Apache License 2.0; its text comes with the source.
The program is built from the works below on the systems it is made for, not all
of them on each. First comes the list, with the kind of licence as a program read
it from the texts; then every text, once, under the names of all it belongs to.
The texts decide, not the list. Of links to the documentation of modules the name
of the site is left out.

The HEIC decoder embeds libheif and libde265 unchanged, compiled to WebAssembly,
under the GNU Lesser General Public License: you may replace them by building
Holdfast anew with another version of the module named below, whose folder lib
says how the file is made. A system's own libturbojpeg is loaded while running,
where it is installed, and is no part of the program.
`

func write(parts []part) []byte {
	var b bytes.Buffer
	b.WriteString(head)
	b.WriteString("\n\nTHE LIST\n\n")
	width := 0
	for _, p := range parts {
		width = max(width, len(p.name))
	}
	of := map[string][]string{} // who each text belongs to
	var order []string
	for _, p := range parts {
		fmt.Fprintf(&b, "%-*s  %s\n", width, p.name, p.kind)
		for _, t := range p.texts {
			if of[t.body] == nil {
				order = append(order, t.body)
			}
			of[t.body] = append(of[t.body], p.name+" ("+t.file+")")
		}
	}
	b.WriteString("\n\nTHE TEXTS\n")
	for _, body := range order {
		b.WriteString("\n" + strings.Repeat("=", 80) + "\n" + strings.Join(of[body], "\n") + "\n" + strings.Repeat("-", 80) + "\n\n" + body + "\n")
	}
	return b.Bytes()
}

// run runs the go command with more of an environment.
func run(dir string, env []string, args ...string) ([]byte, error) {
	c := exec.Command("go", args...)
	c.Dir, c.Env = dir, append(os.Environ(), env...)
	var wrong bytes.Buffer
	c.Stderr = &wrong
	b, err := c.Output()
	if err != nil {
		err = fmt.Errorf("go %s: %w: %s", strings.Join(args, " "), err, wrong.String())
	}
	return b, err
}
