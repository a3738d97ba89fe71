package main

import (
	"context"

	"github.com/spf13/cobra"

	"github.com/snapgauge/snapgauge/clients/snapgauge/internal/layout"
	"github.com/snapgauge/snapgauge/clients/snapgauge/internal/render"
	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

const pageSize = 200

func (a *app) specsCommand() *cobra.Command {
	var filter string
	cmd := &cobra.Command{
		Use:   "specs",
		Short: "List spec sheets; show, compare, publish and watch them",
		Args: func(cmd *cobra.Command, args []string) error {
			if len(args) > 0 {
				return usage("specs: unknown command %q\nsee %s --help", layout.Clean(args[0]), cmd.CommandPath())
			}
			return nil
		},
		RunE: func(cmd *cobra.Command, _ []string) error {
			c, err := a.dial()
			if err != nil {
				return err
			}
			defer c.close()
			all, err := listSpecs(cmd.Context(), c, filter)
			if err != nil {
				return err
			}
			if len(all) == 0 {
				a.worsen(exitVerdict)
			}
			if a.json() {
				return a.showJSON(&pb.ListSpecsResponse{Specs: all})
			}
			a.show(render.Specs(all, a.look()))
			return nil
		},
	}
	cmd.Flags().StringVar(&filter, "filter", "", `which, such as: model_year = 2026 AND market = "US"`)
	must(cmd.RegisterFlagCompletionFunc("filter", cobra.NoFileCompletions))
	cmd.AddCommand(a.specShowCommand(), a.specHistoryCommand(), a.specDiffCommand(), a.specOptionsCommand(),
		a.specLintCommand(), a.specTestCommand(), a.specDraftCommand(), a.specPublishCommand(), a.specWithdrawCommand(), a.specWatchCommand())
	return cmd
}

// listSpecs gets all specs, page by page.
func listSpecs(ctx context.Context, c *client, filter string) ([]*pb.Spec, error) {
	var all []*pb.Spec
	request := &pb.ListSpecsRequest{PageSize: pageSize, Filter: filter}
	for {
		answer, err := call(ctx, c, place{}, c.specs.ListSpecs, request)
		if err != nil {
			return nil, err
		}
		all = append(all, answer.GetSpecs()...)
		if request.PageToken = answer.GetNextPageToken(); request.PageToken == "" {
			return all, nil
		}
	}
}

func (a *app) specShowCommand() *cobra.Command {
	var (
		when     asOf
		known    asOf
		revision int32
		options  []string
		vin      string
	)
	cmd := &cobra.Command{
		Use:   "show SPEC[@N]",
		Short: "Show a whole sheet",
		Long: `Shows a whole sheet: the revision in force, or revision N. There are two clocks:
--as-of asks what held on a day, --known what was known of it then. With --vin
the bulletins that hold for that unit are applied; without it they are listed.`,
		Example: `  snapgauge specs show varnholt-scree-200i-2026-eu --vin 0VST2EA10TA000300
  snapgauge specs show varnholt-scree-200i-2026-eu@1`,
		Args:              exactly(1, "want SPEC, as snapgauge specs lists it, or SPEC@N"),
		ValidArgsFunction: a.completeSheet(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			ref, err := parseSpec(args[0])
			switch {
			case err != nil:
				return err
			case revision < 0:
				return usage("--revision: got %d, want 1 or more", revision)
			case ref.revision != 0 && revision != 0:
				return usage("--revision: %s names a revision already", args[0])
			case ref.revision != 0 && when.time != nil:
				return usage("--as-of: %s names a revision; want one or the other", args[0])
			case revision != 0:
				ref.revision = revision
			}
			c, err := a.dial()
			if err != nil {
				return err
			}
			defer c.close()
			answer, err := call(cmd.Context(), c, place{}, c.specs.GetSpec, &pb.GetSpecRequest{
				Name: ref.name(), AsOfTime: when.time, KnownTime: known.time, Options: options, Vin: vin,
			})
			if err != nil {
				return nothingFound(err)
			}
			if a.json() {
				return a.showJSON(answer)
			}
			a.show(render.Sheet(answer, a.look()))
			return nil
		},
	}
	addAsOf(cmd, &when, "the revision in force on another day than today")
	addKnown(cmd, &known)
	addVIN(cmd, &vin)
	cmd.Flags().Int32Var(&revision, "revision", 0, "one revision (default: the one in force)")
	cmd.Flags().StringArrayVar(&options, "option", nil, "apply an option; repeat for more")
	cmd.MarkFlagsMutuallyExclusive("as-of", "revision")
	for _, name := range []string{"revision", "option"} {
		must(cmd.RegisterFlagCompletionFunc(name, cobra.NoFileCompletions))
	}
	return cmd
}
