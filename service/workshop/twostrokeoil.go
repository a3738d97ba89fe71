package workshop

import "strings"

// twoStrokeRank orders the grades of two-stroke oil by what they achieve. The
// ISO grades have their counterpart in the JASO ones and ask for cleanliness on
// top; there is none for FA.
//
// Source: JASO M345; ISO 13738 (from memory).
var twoStrokeRank = map[string]struct {
	rank int
	iso  bool
}{
	"FA": {1, false}, "FB": {2, false}, "FC": {3, false}, "FD": {4, false},
	"EGB": {2, true}, "EGC": {3, true}, "EGD": {4, true},
}

// TwoStrokeOilSuits says whether an oil of one grade may stand in for the
// required grade: JASO FA < FB < FC < FD, ISO EGB < EGC < EGD, where EGB, EGC and
// EGD ask for at least what FB, FC and FD do. An ISO grade may stand in for the
// JASO grade of its rank, not the other way round. The prefixes JASO, ISO and
// ISO-L- may be there or not. Other markings (API TC, NMMA TC-W3, which is for
// water-cooled outboards) are refused.
//
// Whether an oil is fit for injection or for pre-mix only is not in the grade:
// read the can.
//
// Source: JASO M345; ISO 13738 (from memory).
func TwoStrokeOilSuits(required, offered string) (bool, error) {
	r, ok := twoStrokeRank[bareGrade(required)]
	if !ok {
		return false, badText("required", required, "a two-stroke oil grade: JASO FA to FD or ISO-L-EGB to EGD")
	}
	o, ok := twoStrokeRank[bareGrade(offered)]
	if !ok {
		return false, badText("offered", offered, "a two-stroke oil grade: JASO FA to FD or ISO-L-EGB to EGD")
	}
	return o.rank >= r.rank && (o.iso || !r.iso), nil
}

// bareGrade strips what is printed around a grade.
func bareGrade(s string) string {
	s = strings.ToUpper(strings.Join(strings.Fields(s), ""))
	for _, prefix := range []string{"JASO", "ISO-L-", "ISO"} {
		if rest, ok := strings.CutPrefix(s, prefix); ok {
			return strings.TrimLeft(rest, "-")
		}
	}
	return s
}
