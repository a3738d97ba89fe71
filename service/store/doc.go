// Package store says what a place that keeps set-up records and spec sheets must
// do, in words that fit any database. Package sqlite keeps them in one file,
// package postgres in a database that many processes share; package storetest is
// the conformance suite that every implementation must pass; package filter reads
// the filters that callers write.
//
// # What is kept
//
// A [Setup] is one judged set-up record. Setups are only ever added: there is no
// update and no delete. A record that corrects another names it in its field
// supersedes; the store notes that beside the older one, which stays as it was.
//
// A [PublishedSpec] is one revision of a spec sheet. Revisions are only ever
// added too, numbered without gaps; one that is wrong is withdrawn, which is
// noted beside it. It has two clocks: from when on it is in force, and when it
// became known. Publishing and withdrawing are [Change]s in one order with
// positions without gaps, which a replica or a shop's copy can follow from
// wherever it stands. A [Draft] alone can be changed and deleted.
//
// Sheets are kept in the canonical form that their digest is of. Every reading
// computes the digest again.
//
// # Submitting again is safe
//
// Every submit carries the caller's request id. After an error that leaves the
// outcome open (a cancelled context, a broken connection, a crash) the caller
// submits the same once more: it is stored if it was not, and the first answer
// comes back if it was. The same holds for publishing, where the content takes the
// request id's place, and for withdrawing and saving a draft.
//
// # Layers
//
// Nothing here knows of gRPC. What can go wrong in the domain are the sentinel
// errors of this package, to be asked for with errors.Is; every other error is a
// fault of the database or of its surroundings.
//
// Filters are trees of [Expr]. [Match] is their meaning, spelled out over one
// setup at a time; a store translates them to its own query language with bound
// parameters and must agree with Match.
package store
