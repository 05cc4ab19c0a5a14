// Package sqlite opens a data folder: one SQLite database, and a lock that
// keeps a second desk out.
//
//	holdfast.db       the database (with -wal and -shm beside it while open)
//	holdfast.lock     locked by the desk that may write
//
// The schema stands in migrations, one file a version, and is brought up to
// date when the folder is opened for writing.
package sqlite
