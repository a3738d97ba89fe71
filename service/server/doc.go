// Package server offers the engine, the library of sheets, the store and the
// workshop's formulas over gRPC. Its handlers are thin: what is right and wrong
// about a machine is decided in package gauge, what is specified in package spec,
// what is kept in package store, how a job is done in package jobplan, what is
// computed in package formula, and how a sheet looks in package sheet.
//
// # The way of a call
//
//	bytes ─> measure ─> report ─> recover ─> deadline ─> validate ─> handler
//
// Each step is an interceptor with a file of its own. A request that breaks the
// contract's constraints never reaches a handler. Handlers and everything below
// them return errors of the domain; report makes status codes of them, in
// errors.go and nowhere else, and writes the line of the log. A panic is one more
// error by then, so a broken handler costs one call.
//
// # What judges
//
// A [Catalogue] is an immutable set of sheets, each compiled. It is made as a
// whole or refused as a whole, with every fault of every sheet. [Judge] holds the
// one in use and can exchange it while calls go on: each call works with the
// catalogue that it began with.
//
// # What is never written down
//
// The log names calls, codes and times, never what a record says. An answer of
// INTERNAL carries only a request identifier; the cause stands beside the same
// identifier in the log.
package server
