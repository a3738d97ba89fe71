// Package sqlite keeps set-ups and specs in one SQLite file, without cgo.
//
// # Durability
//
// The database runs in WAL mode with synchronous=FULL: a commit returns after
// its log has been forced to the disk. Writes are committed in groups. One
// goroutine owns the only connection that writes; it takes every write that is
// waiting at that moment, up to a bound, puts them into one transaction and
// answers each after the commit. Nobody is made to wait for company: a lone
// write is committed at once, and while a commit is under way the next group
// gathers by itself.
//
// A write that is refused (a reused request id, say) writes nothing and does
// not trouble its group. Should anything else go wrong in a group, the whole is
// rolled back and each write is tried again in a transaction of its own, so
// that one bad row fails alone.
//
// # Isolation
//
// SQLite lets one transaction write at a time, in this process or another, and
// each begins IMMEDIATE: what it reads still holds when it writes. So positions
// of changes are given out in the order of commits and without gaps. Every read
// is one statement and sees one moment.
//
// # Wake-ups
//
// WatchSpecHead tells of changes made through the same [Store]. A process that
// shares the file with another one must also ask from time to time.
//
// # Append-only
//
// Triggers refuse UPDATE, DELETE and INSERT OR REPLACE on the tables of set-ups,
// supersession, revisions and changes, whoever asks, and every INSERT that would
// leave a gap. They guard against mistakes; who can write the file can drop them.
//
// # Schema
//
// Migrations are numbered SQL files inside the binary and only go forward. Open
// applies those that are missing, one process at a time. It refuses a database with a newer schema than
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
