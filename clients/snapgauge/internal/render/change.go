package render

import (
	"github.com/snapgauge/snapgauge/clients/snapgauge/internal/layout"
	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/phrase"
)

// Change writes what happened to a revision on one line: what, which, when, and as
// much as there is room for of what changed, or of why it was withdrawn.
func Change(r *pb.WatchSpecsResponse, o Options) string {
	const leastNote = 16
	rev := r.GetSpecRevision()
	style, when, note := layout.Green, prefixed("from ", day(rev.GetEffectiveTime())), rev.GetChangeNote()
	if r.GetKind() == pb.SpecChangeKind_SPEC_CHANGE_KIND_WITHDRAWN {
		style, when, note = layout.Red, prefixed("on ", day(rev.GetWithdrawTime())), rev.GetWithdrawReason()
	}
	said := o.Ink.Write(style, phrase.Words(r.GetKind())) + "  " + join("  ", typedName(rev.GetName()), when)
	if room := o.Width - layout.Width(said) - columnGap; room >= leastNote && note != "" {
		said += "  " + o.Ink.Write(layout.Dim, layout.Shorten(layout.Clean(note), room))
	}
	return said + "\n"
}
