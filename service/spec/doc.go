// Package spec holds spec sheets: it reads them, refuses those that contradict
// themselves, resolves fitted options and bulletins, gives the canonical form
// and digest that reports name, and finds the revision in force and the
// characteristics that a person's words mean.
//
// # From file to answer
//
//	files ── [Load] ──> []*[Revision] ── [NewLibrary] ──> *[Library]
//	                        │                                │
//	                        ├ [Revision.Bulletins]           ├ [Library.InForce]
//	                        └ [Revision.Resolve] ─> [Resolved]  └ [Library.LookUp]
//
// A sheet is checked once, when it becomes a [Revision]: by the constraints of
// its schema and by [Lint]. After that nothing about the sheet can go wrong: the
// methods of a Revision fail only for what a caller asks of them.
//
// # What is shared
//
// A [Revision] and a [Library] are immutable and safe for concurrent use. The
// messages they hand out are their own, shared between all callers, and must
// not be modified; proto.Clone them first.
//
// The package does no I/O of its own ([Load] reads the file system it is given)
// and reads no clock.
package spec
