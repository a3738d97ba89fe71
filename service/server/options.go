package server

import (
	"fmt"
	"slices"

	"github.com/snapgauge/snapgauge/service/spec"
)

// atOdds says what is wrong with a set of options, with the option that each
// fault is about by its place in the request. field is that of the options, such
// as "plan.options".
func atOdds(field string, options, unknown []string, conflicts []spec.Conflict, unmet []spec.Requirement) []violation {
	at := func(option string) string {
		return fmt.Sprintf("%s[%d]", field, slices.Index(options, option))
	}
	var wrong []violation
	for _, option := range unknown {
		wrong = append(wrong, violation{at(option), reasonOptionUnknown, "the sheet has no option " + option})
	}
	for _, c := range conflicts {
		wrong = append(wrong, violation{at(c.Option), reasonOptionConflict, c.Option + " excludes " + c.Excludes})
	}
	for _, u := range unmet {
		wrong = append(wrong, violation{at(u.Option), reasonOptionRequires, u.Option + " requires " + u.Requires})
	}
	return wrong
}
