// Package specdiff tells what differs between two spec sheets: two revisions of
// one, two model years or two models. It answers in the trade's words, for
// people who set machines up by one of them and knew the other.
//
// # What counts as a difference
//
// Sheets are compared by what they mean. Characteristics, options, bulletins
// and rules are matched by identifier. Limits are converted to one unit before
// they are compared; a set stated in another order, a unit or a thread spelled
// in another way, or a default stated outright is no difference. Neither are
// the names and the trial records of the sheets.
//
// # What a change does
//
// The kind of a change compares what is accepted, as sets:
//
//	TIGHTENED  everything accepted now was accepted before, and not the reverse
//	LOOSENED   everything accepted before is accepted now, and not the reverse
//	SHIFTED    neither
//	REWORDED   the same is accepted; something else differs
//
// Of a number, the interval between its limits is accepted, below the safe fill
// where it has one. Guarded acceptance accepts less than simple acceptance, and
// the less the longer its guard band; a longer guard band alone is told in the
// head, not again for each characteristic, but enters into the kind of those
// that differ otherwise. A choice accepts a set of words. What has to be so
// besides tightens: a phase in which a reading is required, a prerequisite, a
// reference condition, locking, a property class, a part renewed each time. What
// has another thread, fluid, lubrication, number of pieces, reference position or
// pattern, or is another kind of thing, is another thing: that shifts. The text
// of a criterion cannot be compared and counts as reworded. When several of
// these differ, all tighter is tightened, all looser is loosened, and anything
// else shifted.
//
// Options, bulletins and rules are said to be shifted however they differ: what
// they do depends on what is fitted, on the unit and on the other readings.
//
// Everything is a pure function of its arguments and safe for concurrent use.
package specdiff
