// Package intake reads a supplier's packing list as people get it, a
// spreadsheet or a text file with columns of the supplier's own naming, and
// turns it into lines that a desk can receive.
//
// The way through is Read (bytes to Table), Guess or Fit (Table to Mapping:
// which of their columns is which of ours), Apply (Table and Mapping to lines,
// or to every problem with its cell and what to do). Look does all three and
// returns what a page shows before anything is accepted. It is all or
// nothing: one problem and there are no lines.
//
// The package works on bytes given to it. It opens no file, asks no clock, and
// an input of any content costs bounded memory and time: see the Max
// constants. Nothing in a list is ever evaluated: a text that begins with an
// equals sign stays that text.
package intake
