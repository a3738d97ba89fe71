// Package audit tells what only shows over many set-up records: yield, findings
// by frequency, capability, drift, and signs that readings were written down and
// not measured.
//
// A record becomes an [Entry], which any goroutine may make. An [Auditor] takes
// entries one after the other, in the order of the input, and answers each with
// what it shows by itself or in the light of earlier ones. At any time it can be
// saved to a [Checkpoint] and restored from it, joined with another, or asked for
// its summary.
//
// The memory it needs is bounded, whatever the number of records. Groups beyond a
// bound are counted together; of records that are to be recognised again, the ones
// longest ago are forgotten first. The summary says where that happened.
//
// The same entries in the same order give the same summary to the last bit, with
// a checkpoint between them or without.
//
// A sign is a reason to look and no proof: the sentences here say what was seen,
// how it differs from elsewhere and what innocent causes it may have. Each test
// compares a person with all others under the same conditions, so that what
// everybody does, such as clicking a wrench at its nominal torque, counts against
// nobody: readings of one characteristic in steps of one size, records of one
// revision and phase where the sign depends on what the sheet asks for.
//
// The p-values suppose that one reading says nothing of the next. People and
// instruments have habits, so a small p-value alone is not told: the effect must be
// larger than habits are.
package audit

// Version is the version of what an audit means. Raise it whenever the same
// records could give another summary or a checkpoint has another form.
const Version = "1"
