package main

import (
	"github.com/spf13/cobra"

	"github.com/snapgauge/snapgauge/clients/snapgauge/internal/render"
	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

func (a *app) specTestCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "test FILE RECORD...",
		Short: "Judge records by a sheet that is not published, against what they expect",
		Long: `Checks a sheet as if it were to be published, with the records as further
examples of it, and says of each whether the sheet judges it as its expectation
says. Nothing is published or stored. The sheet may be published already, or be
of any number: it is judged by as it stands.

The exit code is 0 when every record is judged as it expects, 1 when one is not,
and 2 when the sheet itself is wrong or a record has no expectation.`,
		Example:           `  snapgauge specs test 2026-eu-r3.yaml records/scree-*.yaml`,
		Args:              atLeast(2, "want FILE of a sheet and at least one RECORD"),
		ValidArgsFunction: completeFiles,
		RunE: func(cmd *cobra.Command, args []string) error {
			if err := stdinOnce(args); err != nil {
				return err
			}
			sheet, err := a.readSpecFile(args[0])
			if err != nil {
				return err
			}
			examples := sheet.examples()
			err = a.eachRecord(args[1:], func(in *input) error {
				if in.record.GetExpectation() == nil {
					return &failure{code: exitInput, lines: []string{in.about() + "has no expectation; it cannot be tested"}}
				}
				examples = append(examples, &example{place: in.place, record: in.record})
				return nil
			})
			if err != nil || a.code != exitAccept { // a record that cannot be read was told of
				return err
			}
			c, err := a.dial()
			if err != nil {
				return err
			}
			defer c.close()
			var answer *pb.PublishSpecResponse
			for first := 0; first == 0 || first < len(examples); first += mostExamples {
				if answer, err = sheet.try(cmd.Context(), c, examples[first:min(first+mostExamples, len(examples))]); err != nil {
					return err
				}
			}
			return a.showExamples(examples, answer)
		},
	}
}

// showExamples tells what became of each. As JSON it is the API's answer about
// the sheet; what disagrees then goes to standard error.
func (a *app) showExamples(examples []*example, answer *pb.PublishSpecResponse) error {
	shown := make([]render.Example, len(examples))
	for i, e := range examples {
		shown[i] = render.Example{Name: e.title(), Faults: e.faults}
		if len(e.faults) > 0 {
			a.worsen(exitVerdict)
			if a.json() {
				a.fail(&failure{code: exitVerdict, lines: e.faults})
			}
		}
	}
	if a.json() {
		return a.showJSON(answer)
	}
	a.show(render.Examples(shown, a.look()))
	return nil
}
