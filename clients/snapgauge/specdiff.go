package main

import (
	"context"
	"strings"

	"github.com/spf13/cobra"

	"github.com/snapgauge/snapgauge/clients/snapgauge/internal/render"
	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

func (a *app) specDiffCommand() *cobra.Command {
	var full bool
	cmd := &cobra.Command{
		Use:   "diff A [B]",
		Short: "Compare two sheets: what is tightened, loosened, new, gone",
		Long: `Compares two sheets, or two revisions of one, in the trade's words. A and B are
SPEC for the revision in force, or SPEC@N; a B of @N is another revision of A.
Of one SPEC alone its two newest revisions are compared, of one SPEC@N that and
the one before it.

  appeared, vanished    it is new, or there no longer
  tightened, loosened   less is accepted than before, or more
  shifted               some that was accepted no longer is, and the other way round
  reworded              what is accepted is the same`,
		Example: `  snapgauge specs diff ulverdale-causeway-400-2026-us
  snapgauge specs diff ulverdale-causeway-400-2026-us@1 @2 --full
  snapgauge specs diff brannick-heron-350f-2025-eu brannick-heron-350f-2026-eu --units us`,
		Args:              between(1, 2, "want one sheet or two, SPEC or SPEC@N"),
		ValidArgsFunction: a.completeSheet(2),
		RunE: func(cmd *cobra.Command, args []string) error {
			base, err := parseSpec(args[0])
			if err != nil {
				return err
			}
			target := base
			if len(args) == 2 {
				if strings.HasPrefix(args[1], "@") {
					args[1] = base.spec + args[1]
				}
				if target, err = parseSpec(args[1]); err != nil {
					return err
				}
			}
			c, err := a.dial()
			if err != nil {
				return err
			}
			defer c.close()
			if len(args) == 1 {
				if base, target, err = twoNewest(cmd.Context(), c, base); err != nil {
					return nothingFound(err)
				}
			}
			answer, err := call(cmd.Context(), c, place{}, c.specs.DiffSpecs, &pb.DiffSpecsRequest{
				Base: base.name(), Target: target.name(), UnitSystem: a.unitSystem(),
			})
			if err != nil {
				return nothingFound(err)
			}
			if a.json() {
				return a.showJSON(answer)
			}
			a.show(render.Diff(answer.GetDiff(), full, a.look()))
			return nil
		},
	}
	cmd.Flags().BoolVar(&full, "full", false, "write out what is reworded, and all about what appeared or vanished")
	return cmd
}

// twoNewest finds the revision named, or else the newest, and the one before it.
func twoNewest(ctx context.Context, c *client, ref specRef) (before, after specRef, err error) {
	all, err := listRevisions(ctx, c, place{}, ref)
	if err != nil {
		return ref, ref, err
	}
	for i, r := range all {
		if ref.revision != 0 && r.GetRevision() != ref.revision {
			continue
		}
		after = specRef{ref.spec, r.GetRevision()}
		if i+1 == len(all) {
			return ref, ref, &failure{code: exitVerdict, lines: []string{
				"snapgauge: " + after.String() + " is the first revision; name another sheet to compare it with"}}
		}
		return specRef{ref.spec, all[i+1].GetRevision()}, after, nil
	}
	return ref, ref, &failure{code: exitVerdict, lines: []string{"snapgauge: there is no " + ref.String()}}
}
