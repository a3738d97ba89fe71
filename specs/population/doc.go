// Package population makes populations of set-up records of the demonstration
// machines, as many as are wanted, with the truth about each beside it. It is for
// trying out what looks at many records: how often an alarm is false, and how
// much of what was planted is found.
//
// Everything is invented: shops, technicians, machines, instruments and readings.
// Every record says so in its note, and every VIN begins with 0, which no maker
// has. The habits are caricatures to test by, and say nothing of real people.
//
// # How records come about
//
// A record is worked out from the sheet in force when it was finished, with the
// unit's options and bulletins applied: what the phase requires, in the order of
// the job, under the conditions that the sheet states. A shop has its own bench
// of instruments, and a technician works with what is on it. So the record of an
// honest technician who made no mistake is accepted.
//
// What a technician does to a record is a [Habit]. [Truth] says which it was; it
// is never part of the record.
//
// # What is the same everywhere
//
// The same [Config] and the same sheets give the same records, in the same order,
// on every machine. Numbers are drawn from PCG and worked on with operations that
// round alike everywhere: products are converted before they are added to, so that
// nothing is fused, and no logarithm or exponential of package math is used, whose
// last bits are the processor's own.
//
// Memory does not grow with the number of records.
package population
