// Package workshop holds the formulas of the motorcycle workshop: how high a
// liquid stands in a leaning tank, how far an adjuster must turn, what to set on
// a torque wrench with an extension, how sure a reading is.
//
// # The maker's manual governs
//
// A wrongly tightened axle or a starved engine can kill. These functions compute
// what follows from the figures they are given; they know no machine. Where the
// manual of the machine, the maker's bulletin or the marking on the part says
// something else, that governs, and a result from here is no licence to depart
// from it. Results for fasteners, brake fluid, tyres and chains in particular
// are a check of a stated figure, not a substitute for one.
//
// # Conventions
//
//   - Functions are pure: no state, no clock, no files, safe for concurrent use.
//   - Numbers are float64 in the unit that the parameter's name ends in:
//     lengthMM (millimetres), volumeML (millilitres), torqueNM (newton metres),
//     forceN (newtons), stressMPa, pressureKPa, tempC (degrees Celsius), angleDeg,
//     turns. A name without a unit is a ratio or a count.
//   - A result is in the unit that the function's comment states.
//   - Impossible input gives an [*InputError] that names the parameter, what it
//     got and what was wanted; results are then zero and must not be used. NaN
//     is impossible input everywhere; an infinity is, except where [Interval]
//     uses it for a side without a limit.
//   - A comment names the source of a formula or table. "From memory" means that
//     the standard was not at hand when the figure was written: check it before
//     relying on it. "Common practice, no source" is a habit of the trade.
//
// The tests check every exported function against a published figure or a closed
// form; testdata/published.md is the generated table of those checks.
package workshop
