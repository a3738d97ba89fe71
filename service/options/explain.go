package options

import (
	"fmt"
	"slices"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

// Consistent reports whether the options go together: the sheet has them all,
// each has what it requires, and no two exclude each other.
func Consistent(sheet *pb.SpecSheet, fitted []string) bool {
	g := newGraph(sheet)
	known, unknown := g.split(fitted)
	return len(unknown) == 0 && g.noWorse(known, nil)
}

// Explain tells why the options do not go together, and what mends it; the
// package says what counts as a reason and as a mend. First come options that
// the sheet does not have, by identifier; then those that cannot be fitted
// together, and those without what they require, in sheet order. It is empty
// when and only when the set is [Consistent]. The messages are the caller's.
//
// The sheet need not be linted. Neither the order of fitted nor repetitions
// matter.
func Explain(sheet *pb.SpecSheet, fitted []string) []*pb.OptionTrouble {
	g := newGraph(sheet)
	known, unknown := g.split(fitted)
	reasons := slices.Collect(g.reasons(known))
	s := newSearch(g, known, reasons)
	var troubles []*pb.OptionTrouble
	for _, id := range unknown {
		troubles = append(troubles, g.unknownOption(id, known, s.before))
	}
	for _, r := range reasons {
		trouble := &pb.OptionTrouble{Options: g.ids(r.cause())}
		var chain set
		trouble.Message, chain = g.message(r)
		var beware set
		for _, m := range s.mends(r) {
			beware = beware.union(m.minus(known))
			trouble.Mends = append(trouble.Mends, g.mend(known, m))
		}
		trouble.Caution = g.cautions(r.cause().union(beware))
		trouble.Source = g.sources(chain)
		troubles = append(troubles, trouble)
	}
	return troubles
}

// unknownOption tells of an option that the sheet does not have. It is mended by
// leaving it out, or by the option that was probably meant, if that fits.
func (g *graph) unknownOption(id string, known set, before map[reason]bool) *pb.OptionTrouble {
	trouble := &pb.OptionTrouble{
		Options: []string{id},
		Message: fmt.Sprintf("This sheet has no option %q; what it changes is not known.", id),
		Mends:   []*pb.OptionMend{{Remove: []string{id}, Text: fmt.Sprintf("Leave %q out.", id)}},
		Source:  g.sheet.GetSourceDocument(),
	}
	near, ok := g.nearest(id)
	if !ok {
		return trouble
	}
	trouble.Message = fmt.Sprintf("This sheet has no option %q; it may mean %s, %q.", id, g.name(near), g.options[near].GetId())
	meant := g.closure[near].minus(known)
	if !meant.has(near) || !g.noWorse(known.union(meant), before) {
		return trouble
	}
	text := fmt.Sprintf("Put %q in the place of %q", g.options[near].GetId(), id)
	also := meant
	also.toggle(near)
	if !also.empty() {
		text += ", and fit " + g.names(also)
	}
	trouble.Mends = append(trouble.Mends, &pb.OptionMend{Add: g.ids(meant), Remove: []string{id}, Text: text + "."})
	trouble.Caution = g.cautions(meant)
	return trouble
}
