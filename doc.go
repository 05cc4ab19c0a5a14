// Package holdfast holds the nouns of the trade and their invariants: the
// journal's entries, what each kind of entry says, and the folds that turn
// entries into the state of a lot, a tank, a consignment and the shop.
//
// Everything that happens is an [Entry] in an append-only journal. State is
// never stored as the truth; it is the fold of entries in the order
// (occurred at, id), after corrections are resolved. Start with [Entry],
// [Payload] and [FoldLot].
//
// The package imports the standard library only and touches neither clock nor
// disk: two machines that hold the same entries compute the same state.
package holdfast
