package main

import (
	"strings"

	"github.com/spf13/cobra"

	"github.com/snapgauge/snapgauge/clients/snapgauge/internal/batch/columns"
	"github.com/snapgauge/snapgauge/clients/snapgauge/internal/layout"
	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

func (a *app) auditColumnsCommand() *cobra.Command {
	var (
		machine                 machineFlags
		phase                   phaseFlag
		header, rows, withExtra bool
	)
	cmd := &cobra.Command{
		Use:   "columns MODEL",
		Short: "Write a column map to begin with",
		Long: `Writes a column map to standard output, to begin with: a YAML file that says
what the columns of a table with records of this model mean, one column for each
characteristic. Where the table exists already, its titles are written into the
map; where it does not, --csv writes the first line of one that the map fits.

Characteristics that an option brings are there as well, as comments where there
is no column for the options; with --option it is only those of the options
given. The conditions under which each is to be read stand in comments: without
them in the map or in the table, few records can be accepted.

Units are those of --units. With --readings a row of the table is a reading, and
rows that follow one another with the same key are a record. With -o json the
answer is the spec sheet that the map is made from.`,
		Example: `  snapgauge audit columns "scree 200i" --phase handover >columns.yaml
  snapgauge audit columns "scree 200i" --phase handover --csv >deliveries.csv
  snapgauge audit deliveries.csv --columns columns.yaml`,
		Args:              exactly(1, "want MODEL"),
		ValidArgsFunction: a.completeModel,
		RunE: func(cmd *cobra.Command, args []string) error {
			c, err := a.dial()
			if err != nil {
				return err
			}
			defer c.close()
			answer, err := machine.sheet(cmd.Context(), c, args[0], "")
			if err != nil {
				return err
			}
			if a.json() {
				return a.showJSON(answer)
			}
			if len(machine.options) > 0 {
				answer.GetSheet().Options = nil // what those add is among the characteristics, and no other is fitted
			}
			template := columns.Template{
				Sheet: answer.GetSheet(), Phase: pb.Phase(phase), Units: a.system(), Readings: rows, Optional: withExtra,
			}
			write := template.Write
			if header {
				write = template.WriteHeader
			}
			var text strings.Builder
			if err := write(&text); err != nil {
				return badInput(layout.Clean(err.Error()))
			}
			a.show(text.String())
			return nil
		},
	}
	machine.add(cmd)
	flags := cmd.Flags()
	flags.Var(&phase, "phase", "only what this phase requires: "+strings.Join(phaseNames(), ", ")+" (default: all characteristics)")
	flags.Lookup("phase").DefValue = "" // else its name, which is none of them, stood in the help
	flags.BoolVar(&header, "csv", false, "the first line of a CSV file that the map fits, instead of the map")
	flags.BoolVar(&rows, "readings", false, "for a table in which a row is a reading, not a record")
	flags.BoolVar(&withExtra, "optional", false, "with columns for what may be left out, such as readings as found, instruments and times")
	must(cmd.RegisterFlagCompletionFunc("phase", cobra.FixedCompletions(phaseNames(), cobra.ShellCompDirectiveNoFileComp)))
	return cmd
}
