package cli

import (
	_ "embed"
	"html/template"
)

//go:embed photos_sheet.html
var sheetSource string

// sheetPage is the contact sheet: one page without anything from elsewhere.
var sheetPage = template.Must(template.New("sheet").Parse(sheetSource))
