package main

import (
	"github.com/spf13/cobra"

	"github.com/snapgauge/snapgauge/clients/snapgauge/internal/render"
	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

func (a *app) affectedCommand() *cobra.Command {
	var (
		filter string
		full   bool
	)
	cmd := &cobra.Command{
		Use:   "affected SPEC@N",
		Short: "List the stored set-ups that a revision would judge otherwise",
		Long: `Lists the stored set-ups of a spec that its revision N would judge otherwise than
they were: whom a dealer calls when a bulletin arrives. Each has its unit, shop
and phase, the verdict then and now, and the findings that are new. All stored
set-ups of the spec are judged again, which takes a while where there are many;
a filter, as for snapgauge list, narrows them down.

The exit code is 0 when none is affected, 1 when some are, and 2 when there is
no such revision.`,
		Example:           `  snapgauge affected varnholt-scree-200i-2026-eu@2 --filter 'shop = "ridge-cycles"'`,
		Args:              exactly(1, "want a revision, SPEC@N"),
		ValidArgsFunction: a.completeRevision,
		RunE: func(cmd *cobra.Command, args []string) error {
			ref, err := parseRevision(args[0])
			if err != nil {
				return err
			}
			c, err := a.dial()
			if err != nil {
				return err
			}
			defer c.close()
			all := &pb.ListAffectedSetupsResponse{}
			request := &pb.ListAffectedSetupsRequest{SpecRevision: ref.name(), Filter: filter, PageSize: pageSize, UnitSystem: a.unitSystem()}
			for {
				page, err := call(cmd.Context(), c, place{}, c.setups.ListAffectedSetups, request)
				if err != nil {
					return err
				}
				all.Affected = append(all.Affected, page.GetAffected()...)
				all.JudgedCount += page.GetJudgedCount()
				if len(page.GetAffected()) > 0 {
					a.worsen(exitVerdict)
				}
				if !a.json() {
					for _, s := range page.GetAffected() {
						a.show(render.Affected(s, full, a.look()))
					}
				}
				if request.PageToken = page.GetNextPageToken(); request.PageToken == "" {
					break
				}
			}
			if a.json() {
				return a.showJSON(all)
			}
			a.show(render.AffectedTotal(ref.String(), all.GetAffected(), int(all.GetJudgedCount()), a.look()))
			return nil
		},
	}
	cmd.Flags().StringVar(&filter, "filter", "", "which set-ups to look at")
	cmd.Flags().BoolVar(&full, "full", false, "what to do about each new finding, and the findings that are gone")
	must(cmd.RegisterFlagCompletionFunc("filter", cobra.NoFileCompletions))
	return cmd
}
