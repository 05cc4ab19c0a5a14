// Package view holds the parts that every page of the desk is made of: the
// frame, state marks, fields, strips, tables, and what a page says when there
// is nothing or something is wrong. Parts take plain values and know nothing
// of lots or tanks beyond the words handed to them.
//
// Two voices run through all of them. Upright text is what somebody counted,
// weighed or wrote; text in Reck is what the desk worked out. A state is
// always a shape and a word, never a hue alone.
//
// The *_templ.go files are generated and committed; run "go generate" here
// after changing a .templ file.
package view

//go:generate go run github.com/a-h/templ/cmd/templ@v0.3.1100 generate
