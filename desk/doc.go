// Package desk holds the use cases of the shop, one file each: receive a box,
// look at animals, walk the round, decide at the release gate, sell, undo. It
// stands between the doors (pages, commands) and what it declares it needs: a
// [Store] for the journal and an [Evidence] for the figures.
//
// Every use case reads state, decides, and appends entries in one batch. None
// changes anything else: undoing is appending a correction.
package desk
