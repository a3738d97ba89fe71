// Package phrase says values, limits and the words of the contract as people in
// a workshop read them, the same way wherever they are read: in a report, a
// plan, on a printed sheet.
//
// It makes phrases only, without judging: "3 to 5 mm", "the engine warm". Everything
// in it is a pure function and safe for concurrent use.
package phrase
