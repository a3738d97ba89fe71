// Package options says whether the options fitted to a machine go together,
// and if not, why and what mends it.
//
// A set of options is consistent when the sheet has every one of them, each has
// all that it requires beside it, and no two exclude each other, whichever of
// the two says so. [Consistent] answers yes or no; [Explain] gives the reasons.
//
// # Reasons
//
// A reason names the fewest options that make it, and nothing that could be
// left out. There are three:
//
//   - an option that the sheet does not have;
//   - options that no consistent set has together. That may be by a chain: A
//     requires B, B requires C, C excludes D; then A and D do not go together,
//     though neither B nor C is fitted. One option alone is such a reason when
//     what it requires contradicts itself;
//   - an option without another one that it requires.
//
// One trouble is told once, where it arises. With A, B, C and D of the chain all
// fitted, the reason is C and D; that A and D do not go together either follows
// from it. An unmet requirement is not told where meeting it would only lead
// into a conflict that is told.
//
// # Mends
//
// A mend is a set of options to fit and to take off after which the reason is
// gone and no other one has come; other reasons there were before may be left.
// Nothing of it could be left out. All mends of up to four changes are searched,
// fewest changes first and then in sheet order, and the first few given. Where
// there is none so small, what is taken off is one option of the reason with
// whatever cannot stay without it.
//
// The search tries every set of changes among the options that hang together
// with the reason: the binomial n over k of them for k changes, each in a time
// that grows with the options fitted. It is bounded, for one reason, to four
// changes among 26 options, three among 49 and two among more; and for all
// reasons of a set together, to 200,000 sets tried.
//
// Everything here is a pure function of its arguments, whose result does not
// depend on the order of the fitted options, and is safe for concurrent use.
package options
