package main

import (
	"strings"

	"github.com/spf13/cobra"

	"github.com/snapgauge/snapgauge/clients/snapgauge/internal/render"
	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

func (a *app) showCommand() *cobra.Command {
	var full bool
	cmd := &cobra.Command{
		Use:   "show SETUP",
		Short: "Show a stored set-up and its report",
		Long: `Shows a stored set-up and the report that it got when it was submitted; its
sentences are in the units asked for then. The exit code is 0 when there is
such a set-up, whatever its verdict, and 1 when there is none.`,
		Args:              exactly(1, "want SETUP, as snapgauge list shows it"),
		ValidArgsFunction: a.completeSetup,
		RunE: func(cmd *cobra.Command, args []string) error {
			c, err := a.dial()
			if err != nil {
				return err
			}
			defer c.close()
			answer, err := call(cmd.Context(), c, place{}, c.setups.GetSetup, &pb.GetSetupRequest{
				Name: setupName(args[0]), View: pb.SetupView_SETUP_VIEW_FULL,
			})
			if err != nil {
				return nothingFound(err)
			}
			if a.json() {
				return a.showJSON(answer)
			}
			a.show(render.Setup(answer.GetSetup(), full, a.look()))
			return nil
		},
	}
	cmd.Flags().BoolVar(&full, "full", false, "missing readings at length")
	return cmd
}

func setupName(typed string) string {
	if strings.HasPrefix(typed, "setups/") {
		return typed
	}
	return "setups/" + typed
}

func (a *app) listCommand() *cobra.Command {
	var (
		filter string
		limit  int
	)
	cmd := &cobra.Command{
		Use:   "list",
		Short: "List stored set-ups, newest first",
		Long: `Lists stored set-ups, newest first. A filter (AIP-160) is over shop, technician,
vin, model, model_year, market, phase, verdict, spec_revision, create_time and
finish_time. The exit code is 1 when nothing is found.`,
		Example: `  snapgauge list --filter 'shop = "ridge-cycles" AND verdict = "REJECT"'`,
		Args:    cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			if limit < 0 {
				return usage("--limit: got %d, want nought (all) or more", limit)
			}
			c, err := a.dial()
			if err != nil {
				return err
			}
			defer c.close()
			all := &pb.ListSetupsResponse{}
			request := &pb.ListSetupsRequest{Filter: filter, View: pb.SetupView_SETUP_VIEW_BASIC}
			for {
				request.PageSize = pageSize
				if limit > 0 {
					request.PageSize = int32(min(pageSize, limit-len(all.GetSetups())))
				}
				answer, err := call(cmd.Context(), c, place{}, c.setups.ListSetups, request)
				if err != nil {
					return err
				}
				all.Setups = append(all.Setups, answer.GetSetups()...)
				request.PageToken = answer.GetNextPageToken()
				if request.PageToken == "" || limit > 0 && len(all.GetSetups()) >= limit {
					break
				}
			}
			all.NextPageToken = request.GetPageToken()
			if len(all.GetSetups()) == 0 {
				a.worsen(exitVerdict)
			}
			if a.json() {
				return a.showJSON(all)
			}
			text := render.Setups(all.GetSetups(), a.look())
			if all.GetNextPageToken() != "" {
				text += "there are more; --limit 0 lists all\n"
			}
			a.show(text)
			return nil
		},
	}
	cmd.Flags().StringVar(&filter, "filter", "", "which ones")
	cmd.Flags().IntVar(&limit, "limit", 50, "at most so many; 0 lists all")
	must(cmd.RegisterFlagCompletionFunc("filter", cobra.NoFileCompletions))
	must(cmd.RegisterFlagCompletionFunc("limit", cobra.NoFileCompletions))
	return cmd
}
