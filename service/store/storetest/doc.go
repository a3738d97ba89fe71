// Package storetest is the conformance suite of package store: [Run] holds an
// implementation to everything that [store.Store] promises, [RunSpecs] to what
// [store.SpecStore] does. [Model] is a database in memory that passes both, plain
// enough to be believed, to compare others with and to stand in for a database in
// other packages' tests. [Sample] makes set-ups and [Sheet] spec sheets of
// invented machines.
//
// [CrashLoad] and [Acknowledged] are for tests that kill a process or a server in
// the middle of its work, [BenchSpecs] is a benchmark; packages of databases wire
// them up.
package storetest
