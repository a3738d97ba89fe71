// Package sheet prints: the job sheet that is filled in at the bench and the
// handover sheet that the customer keeps, each as HTML and as PDF.
//
//	JobPlan ───────────────── [Job] ──────┐
//	JobPlan, SetupRecord ──── [JobFilled] ┼─> *[Sheet] ─┬─ [Sheet.HTML]
//	SetupRecord, Report ───── [Handover] ─┘             └─ [Sheet.PDF]
//
// # One sheet, two renderers
//
// A Sheet is a list of blocks (headings, paragraphs, tables, check lists,
// call-outs, drawings) that knows nothing of files. Both renderers draw the same
// blocks, so that HTML and PDF say the same words in the same order. A [Drawing]
// is a list of strokes, areas and texts in millimetres and is drawn alike in
// both.
//
// # On paper
//
// Black on white with one grey: nothing is said by colour. A mark inside its
// limits is round and one outside is a triangle; as found it is open and as left
// it is filled. Rows are not cut by a page's end, a table's head is repeated on
// each page and never stands alone, and every page names the machine, its VIN
// and its own number.
//
// In HTML the repeated lines are page-margin boxes (CSS Paged Media 3); a browser
// without them prints the sheet without page numbers. The PDF is not tagged: for
// a screen reader take the HTML.
//
// The package does no I/O and reads no clock: the same arguments give the same
// bytes.
package sheet
