// Package gauge judges set-up records against one revision of a spec sheet.
//
// [Compile] turns a revision into an [Engine] once; [Engine.Gauge] then judges
// any number of records. A bad sheet is refused by Compile, never found out at
// its first use.
//
// # Three kinds of trouble
//
// A bad sheet is a *[spec.SheetError], from Compile. A bad record, one that
// cannot be judged because a unit is unknown or a volume negative, is a
// *[RecordError]; nothing is said about the machine then. An evaluator that
// broke, such as a rule that ran past its cost limit, is an *[EvalError]. A
// set-up that is wrong is none of these: it is a report whose verdict is not
// ACCEPT.
//
// # How a record is judged
//
// The fitted options and the bulletins that apply to the unit give a resolved
// sheet, and that gives a plan, kept by option set. The record is then judged
// characteristic by characteristic in the order of the job:
//
//  1. Which reading stands: the one as left, or the one as found when nothing
//     was changed. Two at one stage are a finding, and neither is used.
//  2. Whether the reading can be trusted: order, condition, instrument,
//     plausibility. One that cannot is undecided and its value is not compared.
//  3. Whether the value is right, by the kind of the characteristic and the
//     sheet's decision rule.
//
// Rules across characteristics come last and see only readings that stand.
//
// # Determinism
//
// The package does no I/O, reads no clock and keeps no state that shows. The
// same record, revision and options give the same report, in whatever order
// the readings, instruments and options stand in the record.
package gauge
