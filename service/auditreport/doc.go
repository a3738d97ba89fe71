// Package auditreport draws the report of a warranty audit.
//
//	AuditSummary ── [HTML] ──> one HTML file
//
// The file needs nothing else: no script, no picture, no font, no network. It is
// read on a screen, light or dark, wide or narrow, by eye or by ear, and it is
// printed. The same summary gives the same bytes.
//
// # What it says, and what it does not
//
// An audit gives reasons to look. The report says so before anything else, and
// beside each figure it says in one line what the figure supposes. What was not
// tested is told apart from what was tested and showed nothing.
//
// # What is left out
//
// A report is to be mailed and read, so it does not grow with the audit without
// end. Of many characteristics those are drawn that are likeliest to be worth
// opening (choose.go has the rules); the others have a row each. Of many shops,
// technicians, observations, months and rows some are listed. Wherever something
// is left out the report says how much, by which rule, and that the summary has
// it.
//
// # Drawings
//
// Nothing is said by colour alone: a limit is a heavy line, what is outside it
// lies beyond that line, a reading as found is open and one as left is filled.
// A drawing has a name with its figures, or it is hidden from readers by ear where
// a table beside it says the same. One that would only repeat a sentence is not
// made. All marks of one kind are one path: pens and colours are classes of the
// style sheet.
//
// # Free text
//
// Titles, shops, technicians, models and sentences come from outside. They are
// escaped, their direction is kept to themselves, and what no page may hold is
// dropped. None of them becomes an address, an identifier or a style, except
// the title in the foot of a printed page, which is written as escapes.
//
// The package does no I/O beyond the writer it is given, and reads no clock.
package auditreport
