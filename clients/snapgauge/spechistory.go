package main

import (
	"context"
	"errors"

	"github.com/spf13/cobra"
	"google.golang.org/grpc/codes"

	"github.com/snapgauge/snapgauge/clients/snapgauge/internal/render"
	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

func (a *app) specHistoryCommand() *cobra.Command {
	return &cobra.Command{
		Use:     "history SPEC",
		Aliases: []string{"revisions"},
		Short:   "List the revisions of a sheet, newest first, with what changed",
		Long: `Lists the revisions of a sheet, newest first: from when on each is in force
(effective), since when it has been known (recorded), what changed and after
which document, and why one was withdrawn.`,
		Args:              exactly(1, "want SPEC, as snapgauge specs lists it"),
		ValidArgsFunction: a.completeSpec,
		RunE: func(cmd *cobra.Command, args []string) error {
			ref, err := parseSpec(args[0])
			if err != nil {
				return err
			}
			if ref.revision != 0 {
				return usage("history: got %q, want SPEC without a revision", args[0])
			}
			c, err := a.dial()
			if err != nil {
				return err
			}
			defer c.close()
			all, err := listRevisions(cmd.Context(), c, place{}, ref)
			if err != nil {
				return nothingFound(err)
			}
			if a.json() {
				return a.showJSON(&pb.ListSpecRevisionsResponse{SpecRevisions: all})
			}
			now, err := inForce(cmd.Context(), c, ref)
			if err != nil {
				return err
			}
			a.show(render.History(all, now, a.look()))
			return nil
		},
	}
}

// listRevisions gets all revisions of a spec, newest first, page by page. The
// error is a *failure that speaks of p.
func listRevisions(ctx context.Context, c *client, p place, ref specRef) ([]*pb.SpecRevision, error) {
	var all []*pb.SpecRevision
	request := &pb.ListSpecRevisionsRequest{Parent: ref.parent(), PageSize: pageSize}
	for {
		answer, err := call(ctx, c, p, c.specs.ListSpecRevisions, request)
		if err != nil {
			return nil, err
		}
		all = append(all, answer.GetSpecRevisions()...)
		if request.PageToken = answer.GetNextPageToken(); request.PageToken == "" {
			return all, nil
		}
	}
}

// inForce asks which revision of a spec is in force now; nil where none is. It is
// the server's to say: its clock counts, not the one here.
func inForce(ctx context.Context, c *client, ref specRef) (*pb.SpecRevision, error) {
	answer, err := call(ctx, c, place{}, c.specs.GetSpec, &pb.GetSpecRequest{Name: ref.parent()})
	if f := (*failure)(nil); errors.As(err, &f) && f.status == codes.FailedPrecondition {
		return nil, nil
	}
	return answer.GetSpecRevision(), err
}
