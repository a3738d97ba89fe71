// Package quantity holds values with their units of measure: it parses them
// as people write them, converts them and prints them as people read them.
//
// # Units
//
// A [Unit] is one entry of a closed registry of workshop units. Its name in
// data is a UCUM code ("N.m", "[in_i]"); [ParseUnit] also takes the spellings
// of the workshop ("ft-lb", "psi", "rpm", "cc"). There is no algebra of
// prefixes and products: a unit that is not in the registry is refused, so a
// slip of the keyboard can not invent a megapascal.
//
// # Dimensions that keep mistakes apart
//
// Two units convert into each other exactly when their [Dimension] is equal.
// Three choices go beyond the seven base quantities of the SI:
//
//   - Plane angle counts as a base quantity, and torque is force times length
//     per angle. So torque (N.m) is not energy (W.h), turns are not a plain
//     number, and power is torque times rotational speed.
//   - "/min" means revolutions a minute, the only use the workshop has for it.
//   - Clicks of an adjuster are a base quantity of their own, since only the
//     adjuster knows how many of them make a turn.
//
// Chain links and sprocket teeth are plain numbers, as UCUM has it.
//
// # Accuracy
//
// Factors are those of the definitions, kept as exact fractions while the
// package starts. Each pair of units then gets its own float64, the nearest to
// the multiplier or the divisor of the pair, whichever is above one. So a
// conversion rounds twice at most, and once more for a temperature; and what
// the definitions say (1 in is 25.4 mm, 212 °F is 100 °C) comes out exactly.
// Results are the same on every processor architecture.
//
// Everything here is immutable after start-up and safe for concurrent use.
package quantity
