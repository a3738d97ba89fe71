// Package formula is the catalogue of the workshop's formulas: every
// computation of package workshop that a person would do by itself, by name,
// with its inputs as people write them.
//
//	f, err := formula.Find("wrench-setting")
//	…
//	c, err := f.Calculate(map[string]string{
//		"torque":        "20 N.m",
//		"wrench_length": "350 mm",
//		"extension":     "2 in",
//	}, quantity.Metric)
//
// # How inputs are read
//
//   - A number is what [quantity.Parse] takes: "12.5", "1 1/4", "3/8 in". Without
//     a unit it is in the input's own; with one it is converted, so the answer is
//     the same whichever unit of the dimension was written.
//   - A span (a margin of temperature, an uncertainty) is converted as a
//     difference: "18 °F" is 10 K.
//   - Some formulas do not care what is measured: limits and a reading, a target
//     and a movement. Their values share one unit, that of the first that has one,
//     and those without a unit are in it.
//   - A list is joined by commas. A point is "x,y,z", an outline is points joined
//     by spaces, and a unit at the end holds for all of it: "0,0 8,0 8,6 in".
//   - Lengths, volumes and points lie in the axes of [workshop.Point]: x forwards,
//     y to the left, z up.
//   - An empty text counts as left out.
//
// # What comes out
//
// A calculation repeats every input as it was understood, defaults included, and
// gives each result twice: as a number in the formula's own unit, for programs,
// and as a text in the reader's system of units. What can not be said as a number
// (yes, a grade, "no limit") is text only. Where a formula gives a series, its
// results are numbered: speed_1, speed_2.
//
// # Adding a formula
//
// A formula is declared as data in the file of its topic, with one function that
// hands the arguments to package workshop. The tests refuse a formula without an
// example in testdata/examples.yaml, and a computation of package workshop that
// is neither in the catalogue nor excused from it.
//
// The catalogue is fixed when the program starts, immutable and safe for
// concurrent use.
package formula
