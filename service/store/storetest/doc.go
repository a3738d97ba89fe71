// Package storetest is the conformance suite of package store: [Run] holds an
// implementation to everything that [store.Store] promises. [Model] is a store in
// memory that passes it, plain enough to be believed, to compare others with and
// to stand in for a database in other packages' tests. [Sample] makes set-ups of
// invented machines.
package storetest
