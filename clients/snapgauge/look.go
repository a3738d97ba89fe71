package main

import (
	"strings"

	"github.com/spf13/cobra"

	"github.com/snapgauge/snapgauge/clients/snapgauge/internal/render"
	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

func (a *app) lookCommand() *cobra.Command {
	var (
		machine machineFlags
		when    asOf
		vin     string
		most    int32
	)
	cmd := &cobra.Command{
		Use:   "look MODEL WORDS...",
		Short: "Look something up on a machine's sheet",
		Long: `Looks something up on a machine's sheet, by the words that people use; typing
errors are forgiven. The best answer is shown at length, others in a line each.
A model of several words is put in quotes. What a bulletin makes of it for some
units is told; with --vin the figures are those of that unit. The exit code is 1
when nothing is found.`,
		Example: `  snapgauge look causeway drain bolt
  snapgauge look "causeway 400" how much oil --units us`,
		Args:              atLeast(2, "want MODEL and WORDS"),
		ValidArgsFunction: a.completeModel,
		RunE: func(cmd *cobra.Command, args []string) error {
			c, err := a.dial()
			if err != nil {
				return err
			}
			defer c.close()
			answer, err := call(cmd.Context(), c, place{}, c.specs.LookUpCharacteristics, &pb.LookUpCharacteristicsRequest{
				Model: args[0], ModelYear: machine.year, Market: strings.ToUpper(machine.market), Options: machine.options,
				Words: strings.Join(args[1:], " "), AsOfTime: when.time, MaxResults: most, Vin: vin,
			})
			if err != nil {
				return nothingFound(err)
			}
			if len(answer.GetMatches()) == 0 {
				a.worsen(exitVerdict)
			}
			if a.json() {
				return a.showJSON(answer)
			}
			a.show(render.Answer(answer, a.look()))
			return nil
		},
	}
	machine.add(cmd)
	addVIN(cmd, &vin)
	addAsOf(cmd, &when, "what the sheet said on another day than today")
	cmd.Flags().Int32VarP(&most, "results", "n", 5, "at most so many answers")
	return cmd
}
