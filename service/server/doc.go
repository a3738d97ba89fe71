// Package server offers the engine, the live catalogue of sheets, the store and
// the workshop's formulas over gRPC. Its handlers are thin: what is right and wrong
// about a machine is decided in package gauge, what is specified in package spec,
// what is in force in package catalogue, what differs in package specdiff, what
// goes together in package options, what is kept in package store, how a job is
// done in package jobplan, what is computed in package formula, and how a sheet
// looks in package sheet.
//
// # The way of a call
//
//	bytes ─> measure ─> report ─> recover ─> deadline ─> validate ─> handler
//
// Each step is an interceptor with a file of its own; streams have no deadline. A
// request that breaks the contract's constraints never reaches a handler. Handlers
// and everything below them return errors of the domain; report makes status codes
// of them, in errors.go and nowhere else, and writes the line of the log. A panic
// is one more error by then, so a broken handler costs one call.
//
// # What judges
//
// Nothing about sheets is kept here. Each call asks the catalogue what is in
// force, and finishes with the engine that it got. When the catalogue cannot vouch
// for its answer, the call is UNAVAILABLE; what needs no sheet in force, such as
// reading a stored set-up or submitting the same once more, is answered all the
// same.
//
// # Publishing
//
// A sheet that is handed in is checked as a whole, and everything wrong with it is
// told by the fields of the file that was sent, derived or not: a client that has
// the file finds the lines. A change is answered once this server judges by it;
// others do within the catalogue's bound.
//
// # Watching
//
// A resume token is a position in the one order of changes and a mark of the
// change there, so that a token from another history is refused and no gap is
// passed over. A stream holds a page of changes at most, whatever its caller does,
// and ends when the service shuts down.
//
// # Auditing
//
// An audit takes records in while it is given results to send: so many records, and
// so many bytes of them, wait at most. What a malformed record says is shortened
// before it is answered. All that has to be known to go on is in a checkpoint: for
// stored set-ups also when the reading began, so that what is stored or corrected
// meanwhile is left aside. Every wait, for a request as for a judge, ends when the
// service shuts down; only a caller who takes nothing holds a call until it is cut
// off.
//
// # What is never written down
//
// The log names calls, codes, times and numbers of records, never what a record
// says. An answer of INTERNAL carries only a request identifier; the cause stands
// beside the same identifier in the log.
package server
