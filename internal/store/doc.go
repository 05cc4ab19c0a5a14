// Package store keeps the journal and the rows that follow from it in an SQL
// database. The queries here run unchanged on every engine; opening a database,
// its schema and what differs between engines stand in sqlite and its
// neighbours. The suite in storetest says what a store must do.
//
// A store holds the journal of one site: one chain, numbered from 1 without
// gaps. Its truth is the table entry alone. Everything else is computed from it
// inside the transaction that accepts an entry ([Store.Append]), can be
// computed again ([Store.Refresh]) and is checked by [Store.Verify].
//
//	entry            what happened, chained
//	site_head        number and hash of the last entry; locked while appending
//	entry_subject    which entries bear on which lot, tank, delivery or shop
//	lot_row          one row for lists per lot, lot_reads what it was computed from
//	tank_row, consignment_row
//	buyer, memory    no part of the journal: people can be erased
package store
