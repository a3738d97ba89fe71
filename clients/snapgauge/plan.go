package main

import (
	"github.com/spf13/cobra"

	"github.com/snapgauge/snapgauge/clients/snapgauge/internal/render"
)

func (a *app) planCommand() *cobra.Command {
	var (
		job  jobFlags
		full bool
	)
	cmd := &cobra.Command{
		Use:   "plan MODEL",
		Short: "Work out the job on a machine before it begins",
		Long: `Works out the job on a machine before it begins: every step in its order, place
by place, with target, tool and caution; then the tools, what is used up, and
what was computed for this rider, air and use.

` + jobFlagsHelp,
		Example: `  snapgauge plan "scree 200i" --rider 82+11 --temperature 7 --altitude 910
  snapgauge plan causeway --phase first-service --units us --temperature "45 F"`,
		Args:              exactly(1, "want MODEL"),
		ValidArgsFunction: a.completeModel,
		RunE: func(cmd *cobra.Command, args []string) error {
			request, err := job.request(args[0], a.unitSystem())
			if err != nil {
				return err
			}
			c, err := a.dial()
			if err != nil {
				return err
			}
			defer c.close()
			answer, err := call(cmd.Context(), c, place{}, c.setups.PlanSetup, request)
			if err != nil {
				return err
			}
			if a.json() {
				return a.showJSON(answer)
			}
			a.show(render.Plan(render.Planned{Request: request, Plan: answer.GetPlan(), Full: full}, a.look()))
			return nil
		},
	}
	job.add(cmd)
	cmd.Flags().BoolVar(&full, "full", false, "how each step is done, what it comes after, and sources")
	return cmd
}
