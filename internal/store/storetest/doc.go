// Package storetest is the suite that every store passes, whatever database it
// keeps the journal in. It also makes the entries that tests of a store need.
package storetest
