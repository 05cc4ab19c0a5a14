// Package books turns what the desk knows into tables for spreadsheets: the
// whole shop, and the register that the law asks for in many places.
package books
