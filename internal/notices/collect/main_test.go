package main

import (
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

// registries are hosts from which packages are fetched: their names have no place
// in what the program says.
var registries = regexp.MustCompile(`(?i)proxy\.golang|sum\.golang|pkg\.go\.dev|npmjs|pypi|crates\.io`)

func TestNoticesAreUpToDate(t *testing.T) {
	root := filepath.Join("..", "..", "..")
	want, err := collect(root)
	if err != nil && strings.Contains(err.Error(), "go list") {
		t.Skipf("the modules of other systems are not at hand: %v", err)
	}
	if err != nil {
		t.Fatal(err)
	}
	have, err := os.ReadFile(filepath.Join(root, out))
	if err != nil {
		t.Fatal(err)
	}
	if string(have) != string(want) {
		t.Errorf("%s is out of date: run go run ./internal/notices/collect", out)
	}
	for _, must := range []string{"LGPL", "OFL 1.1", "Go's standard library", "LICENSE.libde265", "Font Source Serif 4", "modernc.org/sqlite "} {
		if !strings.Contains(string(want), must) {
			t.Errorf("nothing is said of %q", must)
		}
	}
	if found := registries.FindAllString(string(want), -1); len(found) > 0 {
		t.Errorf("names of registries: %q", found)
	}
	if strings.Contains(string(want), filepath.Join("pkg", "mod")) {
		t.Error("a path of this machine stands in it")
	}
}
