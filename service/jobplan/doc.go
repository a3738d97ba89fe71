// Package jobplan works out the job on one machine before it begins: what is to
// be set, filled, tightened and checked in one phase, in which order, to what
// target, with what tools and supplies.
//
//	revision, options, VIN ── spec.Revision.Resolve ──> characteristics
//	        │                                                │
//	rider, air, use ── service/workshop ──> calculations     ├ which are steps
//	                            │                            ├ in which order
//	                            └──── targets changed ──> *pb.JobPlan
//
// [Make] is the only way in. It does no I/O, reads no clock and is
// deterministic: the same revision and request give the same plan, in whatever
// order the options are named.
//
// # The sheet governs
//
// A computed target never leaves the limits of the sheet, since by those the
// finished work is judged; where the formula asks for more, the target stops at
// the limit and the calculation says so. A calculation that the sheet's planning
// data cannot answer for (an option has put in another carburettor or another
// linkage) or whose input lies outside the formula is left out, and a caution
// tells that it is and why. Without a rider or without air, what needs them is
// left out silently and the sheet's own targets stay.
//
// # Figures that options change
//
// Planning data hold one figure each for the machine as delivered: a pre-mix
// ratio, a main jet, a spring rate. Where a characteristic of the sheet states the
// same figure, it is the figure's counterpart, and what the fitted options make
// of that characteristic is what the plan computes with.
package jobplan
