package render

import (
	"fmt"
	"strings"

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

// DraftSaved says that a draft is kept, and what keeps it from being published.
func DraftSaved(answer *pb.SaveSpecDraftResponse, o Options) string {
	p := o.page()
	spec := strings.TrimSuffix(strings.TrimPrefix(answer.GetDraft().GetName(), "specs/"), "/draft")
	problems := answer.GetProblems()
	switch len(problems) {
	case 0:
		p.Text(0, "", fmt.Sprintf("kept the draft of %s; nothing keeps it from being published", spec))
	case 1:
		p.Text(0, "", fmt.Sprintf("kept the draft of %s; one thing keeps it from being published", spec))
	default:
		p.Text(0, "", fmt.Sprintf("kept the draft of %s; %d things keep it from being published", spec, len(problems)))
	}
	for _, problem := range problems {
		p.Text(2, "", layout.Clean(problem.GetField()+": "+problem.GetMessage()))
	}
	return p.String()
}
