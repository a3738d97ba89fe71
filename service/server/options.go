package server

import (
	"fmt"
	"slices"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/options"
	"github.com/snapgauge/snapgauge/service/spec"
)

// atOdds says what is wrong with a set of options of a sheet, with the option
// that each fault is about by its place in the request. field is that of the
// options, such as "plan.options". Where there is one reason for a fault it is
// told with what mends it.
func atOdds(sheet *pb.SpecSheet, field string, fitted, unknown []string, conflicts []spec.Conflict, unmet []spec.Requirement) []violation {
	if len(unknown)+len(conflicts)+len(unmet) == 0 {
		return nil
	}
	troubles := options.Explain(sheet, fitted)
	at := func(option string) string {
		return fmt.Sprintf("%s[%d]", field, slices.Index(fitted, option))
	}
	var wrong []violation
	for _, option := range unknown {
		wrong = append(wrong, violation{at(option), reasonOptionUnknown,
			because(troubles, "the sheet has no option "+option, option)})
	}
	for _, c := range conflicts {
		wrong = append(wrong, violation{at(c.Option), reasonOptionConflict,
			because(troubles, c.Option+" excludes "+c.Excludes, c.Option, c.Excludes)})
	}
	for _, u := range unmet {
		wrong = append(wrong, violation{at(u.Option), reasonOptionRequires,
			because(troubles, u.Option+" requires "+u.Requires, u.Option)})
	}
	return wrong
}

// because gives the one trouble that these options by themselves make, with the
// smallest change that mends it; plain where there is none, since it follows from
// another, or where there are several.
func because(troubles []*pb.OptionTrouble, plain string, made ...string) string {
	var found *pb.OptionTrouble
	for _, t := range troubles {
		if !sameSet(t.GetOptions(), made) {
			continue
		}
		if found != nil {
			return plain
		}
		found = t
	}
	if found == nil {
		return plain
	}
	text := found.GetMessage()
	if mends := found.GetMends(); len(mends) > 0 {
		text += " " + mends[0].GetText()
	}
	return text
}

// sameSet compares two lists without repetitions.
func sameSet(a, b []string) bool {
	return len(a) == len(b) && !slices.ContainsFunc(a, func(s string) bool { return !slices.Contains(b, s) })
}
