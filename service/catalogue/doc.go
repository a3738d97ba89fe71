// Package catalogue is the live view of a spec store that a server judges by:
// which revision is in force for a machine, and the compiled engine of it.
//
//	store ── changes, in order ──> index of heads ── [Catalogue.InForce] ──> [Choice]
//	  └───── sheets, on demand ──> bounded caches ── [Catalogue.Engine] ───> *gauge.Engine
//
// # Following
//
// [Open] applies every change of the store, in the order of their positions, to
// an index in memory. [Catalogue.Run] then applies new ones: when the store says
// that there may be some, and four times a second without being told. No request
// reads the store for what is in the index. Applying one change costs as much as
// that spec has revisions, however many other specs there are.
//
// # How old an answer may be
//
// The catalogue is confirmed when the store, asked for changes, has none beyond
// those applied. What the store was asked at is the time of confirmation: every
// change that was made before it is in the index. An answer to judge by is given
// only when, after it was chosen, the last confirmation is no older than
// [Config].MaxStale. Otherwise the catalogue asks the store at once, all callers
// together, and answers with a *[StaleError] when that does not help. So a
// replica that is cut off from its store stops judging; it never judges by a
// revision that was withdrawn longer ago than the bound. The bound holds at the
// instant an answer is returned: what the caller does with it takes time of its
// own.
//
// Age is measured by the monotonic clock and by the wall clock, and the greater
// counts: the first does not run while a machine is suspended, the second can be
// set back.
//
// What lists and looks back, from [Catalogue.History] to [Catalogue.Heads], does
// not ask how old the index is.
//
// # Two clocks
//
// A revision has a time from which it is in force and a time at which it was
// recorded, and so has its withdrawal. [Query].AsOf is about the first,
// [Query].Known about the second: a question with both answers today as it would
// have been answered then.
//
// # Several specs of one model
//
// A running change gives a model two sheets in one year and market, told apart
// by the VINs they cover. [Catalogue.InForce] says how one is chosen.
//
// # What is held
//
// Of every revision the index holds the head: some hundred bytes. Sheets and
// engines are loaded when they are needed, once for all who wait, and at most
// [Config].MaxEngines of each are kept. Changes for [Catalogue.Watch] are held
// for the last thousand; who is further behind reads on from the store.
//
// # Concurrency
//
// A [Catalogue] is safe for concurrent use. Heads, revisions and engines that it
// hands out are immutable and shared. All goroutines end with
// [Catalogue.Close].
package catalogue
