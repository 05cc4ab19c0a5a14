package webtest

import (
	"io"
	"strings"
	"testing"

	"github.com/andybalholm/cascadia"
	"golang.org/x/net/html"
)

// Document is a parsed page for checks on elements.
type Document struct {
	t    testing.TB
	root *html.Node
}

// Parse reads a page.
func Parse(t testing.TB, r io.Reader) *Document {
	t.Helper()
	root, err := html.Parse(r)
	if err != nil {
		t.Fatal(err)
	}
	return &Document{t, root}
}

// Part is an element of a page as a document of its own.
func Part(t testing.TB, n *html.Node) *Document { return &Document{t, n} }

// All are the elements that a CSS selector finds.
func (d *Document) All(selector string) []*html.Node {
	d.t.Helper()
	s, err := cascadia.ParseGroup(selector)
	if err != nil {
		d.t.Fatalf("selector %q: %v", selector, err)
	}
	return cascadia.QueryAll(d.root, s)
}

// One is the single element that a CSS selector finds; another number fails
// the test.
func (d *Document) One(selector string) *html.Node {
	d.t.Helper()
	all := d.All(selector)
	if len(all) != 1 {
		d.t.Fatalf("%q finds %d elements, want 1", selector, len(all))
	}
	return all[0]
}

// Says is the text of the single element a selector finds, spaces folded.
func (d *Document) Says(selector string) string {
	d.t.Helper()
	return Text(d.One(selector))
}

// Text is an element's text with its spaces folded.
func Text(n *html.Node) string {
	var b strings.Builder
	var walk func(*html.Node)
	walk = func(n *html.Node) {
		if n.Type == html.TextNode {
			b.WriteString(n.Data)
		}
		for c := n.FirstChild; c != nil; c = c.NextSibling {
			walk(c)
		}
	}
	walk(n)
	return strings.Join(strings.Fields(b.String()), " ")
}

// Attr is an element's attribute, empty if it has none of that name.
func Attr(n *html.Node, name string) string {
	for _, a := range n.Attr {
		if a.Key == name {
			return a.Val
		}
	}
	return ""
}
