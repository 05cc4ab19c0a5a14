// Package paper writes what leaves the desk on paper or as a file: tables as
// workbooks (XLSX) and as text (CSV), and the legal register as one such
// workbook.
//
// # Texts that look like formulas
//
// A spreadsheet program that opens a CSV runs what begins with an equals sign,
// and some run what begins with +, - or @. So a text that begins with one of
//
//	= + - @ tab, line feed, carriage return, their full-width forms, or an apostrophe
//
// is written with one apostrophe before it, in both formats. Guard adds it and
// Unguard takes it off again: Unguard(Guard(s)) is s for every text. Numbers,
// amounts, dates and shares are written as such and never guarded. Line breaks
// inside a text become line feeds, and characters that XML cannot hold become
// U+FFFD; nothing else is changed.
package paper
