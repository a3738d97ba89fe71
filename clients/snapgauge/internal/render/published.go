package render

import (
	"fmt"

	"github.com/snapgauge/snapgauge/clients/snapgauge/internal/layout"
	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

// Published says what became of a sheet that was handed in to be published, or
// what would.
func Published(r *pb.PublishSpecResponse, dryRun bool, o Options) string {
	p := o.page()
	rev := r.GetSpecRevision()
	did := "published"
	switch {
	case dryRun:
		did = "nothing is wrong with"
	case !r.GetCreated():
		did = "was published before:"
	}
	p.Text(0, "", fmt.Sprintf("%s %s, in force from %s", did, typedName(rev.GetName()), instant(rev.GetEffectiveTime())))
	p.Text(2, "", rev.GetChangeNote())
	p.Text(2, layout.Dim, "sha256 "+rev.GetDigest())
	return p.String()
}

// Sound says on one line that nothing is wrong with a file.
func Sound(file string, r *pb.PublishSpecResponse, o Options) string {
	rev := r.GetSpecRevision()
	return layout.Clean(file) + ": " + o.Ink.Write(layout.Green, "nothing is wrong") + " with " +
		typedName(rev.GetName()) + ", in force from " + instant(rev.GetEffectiveTime()) + "\n"
}

// Withdrawn says that a revision is withdrawn, and why.
func Withdrawn(r *pb.SpecRevision, before bool, o Options) string {
	p := o.page()
	said := fmt.Sprintf("withdrew %s; it judges nothing from now on", typedName(r.GetName()))
	if before {
		said = fmt.Sprintf("%s was withdrawn before, on %s", typedName(r.GetName()), minute(r.GetWithdrawTime()))
	}
	p.Text(0, "", said)
	p.Note(2, "reason:", layout.Dim, r.GetWithdrawReason())
	return p.String()
}
