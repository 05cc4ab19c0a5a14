package web

import (
	"os"
	"strings"
	"testing"
)

// Every page is looked at in a browser, crawled and sent wrong input, because
// the table of pages in internal/e2e names it. This test is quick and says so
// to whoever adds a page.
func TestEveryPageIsLookedAt(t *testing.T) {
	const table = "../e2e/site_test.go"
	raw, err := os.ReadFile(table)
	if err != nil {
		t.Fatal(err)
	}
	n := 0
	for _, rt := range new(Server).routes() {
		if strings.HasPrefix(rt.pattern, "POST ") {
			continue
		}
		n++
		if !strings.Contains(string(raw), `"`+rt.pattern+`"`) {
			t.Errorf("%s is not in the table of pages: add it to places, or to others if it is no page, in %s", rt.pattern, "internal/e2e/site_test.go")
		}
	}
	if n < 20 {
		t.Errorf("only %d pages were found", n)
	}
}
