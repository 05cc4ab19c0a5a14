// Package page holds the pages of the desk: one struct of what a page shows,
// and the markup around it. Handlers fill the structs; nothing here reads the
// desk.
package page
