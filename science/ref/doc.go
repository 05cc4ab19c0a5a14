// Package ref holds what every science package shares: where a figure came
// from, how sure we are of it, and how a calculation says that its input was
// wrong or that no answer exists.
//
// It is the bottom of the import graph: it imports the standard library only,
// and nothing here reads a file, a clock or the network.
package ref
