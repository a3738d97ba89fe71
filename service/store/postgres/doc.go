// Package postgres keeps set-ups and specs in PostgreSQL, for any number of
// processes on one database. PostgreSQL 15 is what it is tested with.
//
// # Isolation
//
// Every transaction is READ COMMITTED, whatever the server's default is, and
// every read is one statement, so it sees one moment.
//
// A set-up is stored by one statement. That a request id is used once and a
// set-up superseded once rests on unique constraints: of two transactions that
// want the same the second waits for the first and then finds its row.
//
// Changes of specs, and of drafts, take one advisory lock as their first
// statement and hold it until they have ended. What they read after it they read
// with a later snapshot, in which every earlier holder has committed; nobody can
// add to it before they commit themselves. So positions are given out in the
// order of commits and without gaps, and a lower one never becomes visible after
// a higher one. They wait for each other's commits, so about a thousand of them in a
// second are the most; set-ups do not take part.
//
// Serialization failures and deadlocks are tried again a few times, and so is
// what certainly never reached the server.
//
// # Durability
//
// A commit returns when the server has it in its log on the disk, provided that
// its fsync and full_page_writes are on. Where synchronous_commit is off it is
// turned on for the connections of this package; settings that wait for standby
// servers are left as they are.
//
// # Wake-ups
//
// A change sends NOTIFY in its transaction. One connection beside the pool
// listens, from the first WatchSpecHead on, and connects again when it breaks;
// whoever watches is woken then, because something may have been missed. A
// pooler between must keep sessions, not transactions, for LISTEN to work.
//
// # Append-only
//
// Triggers refuse UPDATE, DELETE and TRUNCATE on the tables of set-ups,
// supersession, revisions and changes, and every INSERT that would leave a gap.
// They guard against mistakes; the owner of the tables can drop them.
//
// # Schema
//
// Migrations are numbered SQL files inside the binary and only go forward. Open
// applies those that are missing, one process at a time under an advisory lock:
// replicas that start together all succeed. It refuses a database with a newer
// schema ([ErrNewerSchema]) and one with tables of something else
// ([ErrForeignDatabase]). Tables are made in the first schema of the search path.
//
// Text is kept in the collation "C", byte by byte. PostgreSQL's text can not hold
// the character NUL, which is legal in messages: it is kept as U+0001 U+0002, and
// U+0001 as U+0001 U+0003.
package postgres
