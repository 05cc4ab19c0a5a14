// Package book makes the pages of the reference and of the signs: what the
// desk knows, and what might be on an animal. It takes a page's frame and the
// query, gives the page, and touches nothing else, so a page can be bookmarked
// and printed, and works without script.
//
// The *_templ.go files are generated and committed; run "go generate" here
// after changing a .templ file.
package book

//go:generate go run github.com/a-h/templ/cmd/templ@v0.3.1100 generate
