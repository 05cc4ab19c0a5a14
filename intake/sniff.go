package intake

import (
	"bytes"

	"holdfast/science/ref"
)

// sniff says from the first bytes whether data is a workbook or text, and
// refuses by name what people send in their place.
func sniff(data []byte) (string, error) {
	head := data[:min(len(data), 1024)]
	no := func(what, hint string) (string, error) { return "", ref.Inputf("file", hint, "%s", what) }
	switch {
	case len(bytes.TrimSpace(data)) == 0:
		return no("the file is empty", "Choose the file with the packing list.")
	case bytes.HasPrefix(head, []byte("PK\x03\x04")):
		return "xlsx", nil
	case bytes.HasPrefix(head, []byte("\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1")):
		return no("the file is a workbook of the old kind, or locked with a password",
			"Open it in your spreadsheet program, take the password off, and save it as XLSX or CSV.")
	case bytes.HasPrefix(head, []byte("%PDF")):
		return no("the file is a PDF", "Ask the supplier for the list as XLSX or CSV.")
	case bytes.HasPrefix(head, []byte("\xff\xd8\xff")), bytes.HasPrefix(head, []byte("\x89PNG")):
		return no("the file is a picture", "Ask the supplier for the list as XLSX or CSV.")
	case bytes.HasPrefix(head, []byte("PK")), bytes.HasPrefix(head, []byte("\x1f\x8b")), bytes.HasPrefix(head, []byte("Rar!")), bytes.HasPrefix(head, []byte("7z\xbc\xaf")):
		return no("the file is an archive", "Unpack it and choose the packing list inside.")
	}
	low := bytes.ToLower(bytes.TrimLeft(head, "\xef\xbb\xbf \t\r\n"))
	if bytes.HasPrefix(low, []byte("<!doctype")) || bytes.HasPrefix(low, []byte("<html")) || bytes.HasPrefix(low, []byte("<table")) || bytes.HasPrefix(low, []byte("<?xml")) {
		return no("the file is a web page or XML under another name",
			"Open it in your spreadsheet program and save it as XLSX or CSV.")
	}
	return "csv", nil
}
