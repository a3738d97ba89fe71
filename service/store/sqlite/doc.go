// Package sqlite keeps set-ups in one SQLite file, without cgo.
//
// # Durability
//
// The database runs in WAL mode with synchronous=FULL: a commit returns after
// its log has been forced to the disk. Submits are committed in groups. One
// goroutine owns the only connection that writes; it takes every submit that is
// waiting at that moment, up to a bound, puts them into one transaction and
// answers each after the commit. Nobody is made to wait for company: a lone
// submit is committed at once, and while a commit is under way the next group
// gathers by itself.
//
// A submit that is refused (a reused request id, say) writes nothing and does
// not trouble its group. Should anything else go wrong in a group, the whole is
// rolled back and each submit is tried again in a transaction of its own, so
// that one bad row fails alone.
//
// # Append-only
//
// Triggers refuse UPDATE, DELETE and INSERT OR REPLACE on the tables of set-ups
// and of supersession, whoever asks. They guard against mistakes; who can write
// the file can drop them.
//
// # Schema
//
// Migrations are numbered SQL files inside the binary and only go forward. Open
// applies those that are missing. It refuses a database with a newer schema than
// it knows ([ErrNewerSchema]) and a file of something else
// ([ErrForeignDatabase]) without changing them.
//
// # Files
//
// Beside the database stand its log (-wal) and an index of it (-shm); the log is
// part of the data. Copy the three together while nobody has them open, or use
// SQLite's own backup. All are readable for their owner alone. The file must not
// lie on a network file system, which WAL mode does not support.
package sqlite
