// Package statistic holds the statistics with which records of many machines
// are judged: means and spreads, straight lines, proportions, process
// capability, goodness of fit, association across strata, false discovery and
// the quality of a score.
//
// # Streams
//
// [Moments] and [Line] take one value at a time and are merged in any grouping:
// a split stream that is merged again gives what the whole stream would, but for
// rounding (the tests hold 1e-12 of the result). Both are plain values whose zero
// value is ready; their exported fields are all their state, so storing the
// fields bit by bit and restoring them continues the stream exactly.
//
// # Conventions
//
//   - Functions are pure: no state, no clock, no files, safe for concurrent use.
//     The streams are values like any other: one writer at a time.
//   - Probabilities, confidences and proportions are 0 to 1; a confidence of 0.95
//     is two-sided with 0.025 outside on each side.
//   - Small tail probabilities keep their relative accuracy: 1e-20 means 1e-20,
//     and is not what is left of 1 minus something.
//   - Input for which a statistic has no meaning gives an [*InputError] that says
//     what it got and what was wanted; results are then zero and must not be
//     used. Functions without an error say in their comment when they return NaN.
//   - A comment names the source of a formula. "From memory" means that the
//     source was not at hand: check it before relying on it.
//
// A small P says that chance alone rarely does this, not that the effect
// matters: that is what the effect sizes (eta squared, w, the odds ratio and the
// intervals) are for. None of it says what caused what.
//
// The tests check every exported function against a published figure or a closed
// form; testdata/published.md is the generated table of those checks.
package statistic
