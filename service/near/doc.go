// Package near tells which of several names a mistyped one is like. It knows
// nothing of what the names are for: pure functions, no state.
//
// # What counts as a slip
//
// A slip is one character put in, left out, changed, or swapped with its
// neighbour, no part of the text being touched twice: optimal string alignment,
// a restricted form of the Damerau–Levenshtein distance. Swapped neighbours,
// the commonest slip of quick fingers, so cost as little as one wrong
// character. It is no metric: "ca" is three slips from "abc", though it is one from
// "ac", and that one from "abc".
//
// Characters are Unicode code points, taken as they are; [Measure] and what is
// built on it overlook case. Bytes that are no UTF-8 are characters too, all of
// them alike.
//
// # How many slips are near
//
// What is near depends on the length, and on who decides:
//
//   - A name that is offered to a person ("did you mean …?") may be a third of
//     its characters away: see [Offered].
//   - A name that is taken as meant without asking must be nearer: see
//     [Trusted].
//
// Every function gives the same answer for the same arguments, and is safe for
// concurrent use.
package near
