package render

import (
	"fmt"
	"strings"

	"github.com/snapgauge/snapgauge/clients/snapgauge/internal/layout"
	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

// History lists the revisions of a spec, newest first, each with its state, its
// two clocks and what changed. Which one is in force is told by the caller; nil
// where none is.
func History(revisions []*pb.SpecRevision, inForce *pb.SpecRevision, o Options) string {
	if len(revisions) == 0 {
		return "no revisions\n"
	}
	p := o.page()
	for i, r := range revisions {
		if i > 0 {
			p.Blank()
		}
		state, style := stateOf(r, inForce)
		name := p.Ink.Write(layout.Bold, fmt.Sprintf("revision %d", r.GetRevision())) + "  " + p.Ink.Write(style, state)
		clocks := join(", ", prefixed("effective ", instant(r.GetEffectiveTime())), prefixed("recorded ", minute(r.GetRecordTime())))
		if layout.Width(name)+columnGap+layout.Width(clocks) <= p.Width && clocks != "" {
			p.Split(name, 2, clocks)
		} else {
			p.Line(name)
			p.Text(2, "", clocks)
		}
		if r.GetWithdrawTime() != nil {
			p.Note(2, "withdrawn "+minute(r.GetWithdrawTime())+":", layout.Red, r.GetWithdrawReason())
		}
		p.Text(2, "", r.GetChangeNote())
		p.Text(2, layout.Dim, join("; ", r.GetSourceDocument(), counted(int(r.GetCharacteristicCount()), "characteristic")))
		p.Text(2, layout.Dim, "sha256 "+r.GetDigest())
	}
	return p.String()
}

// stateOf says in words what a revision is now. What is neither withdrawn nor in
// force comes before or after the one that is.
func stateOf(r, inForce *pb.SpecRevision) (string, layout.Style) {
	switch {
	case r.GetWithdrawTime() != nil:
		return "withdrawn", layout.Red
	case r.GetName() == inForce.GetName():
		return "in force", layout.Green
	case r.GetRevision() > inForce.GetRevision():
		return "not yet in force", layout.Yellow
	}
	return "superseded", layout.Dim
}

// sheetName says which revision a resource name means: "scree-200i-2026-eu
// revision 2".
func sheetName(name string) string {
	spec, _, _ := strings.Cut(strings.TrimPrefix(name, "specs/"), "/")
	return join(" ", spec, prefixed("revision ", revisionNumber(name)))
}

// typedName is what a sheet is called on the command line: "scree-200i-2026-eu@2".
func typedName(name string) string {
	return strings.Replace(strings.TrimPrefix(layout.Clean(name), "specs/"), "/revisions/", "@", 1)
}
