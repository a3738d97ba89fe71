package main

import (
	"github.com/spf13/cobra"
	"google.golang.org/protobuf/proto"

	"github.com/snapgauge/snapgauge/clients/snapgauge/internal/render"
	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

func (a *app) checkCommand() *cobra.Command {
	var (
		when   asOf
		known  asOf
		full   bool
		expect bool
	)
	cmd := &cobra.Command{
		Use:   "check FILE...",
		Short: "Judge set-up records; keep nothing",
		Long: `Judges set-up records (YAML or JSON; - is standard input) and keeps nothing.

A record that carries an expectation is followed by a line that says whether it
was met. With --expect that alone decides: the exit code is 0 when every file
is as expected, 1 when one is not, and a file without an expectation is an
error.`,
		Args:              files,
		ValidArgsFunction: completeFiles,
		RunE: func(cmd *cobra.Command, args []string) error {
			c, err := a.dial()
			if err != nil {
				return err
			}
			defer c.close()
			return a.eachRecord(args, func(in *input) error {
				if expect && in.record.GetExpectation() == nil {
					return &failure{code: exitInput, lines: []string{in.about() + "has no expectation; --expect needs one"}}
				}
				view := pb.ReportView_REPORT_VIEW_BASIC
				if full {
					view = pb.ReportView_REPORT_VIEW_FULL
				}
				answer, err := call(cmd.Context(), c, in.place, c.setups.ValidateSetup, &pb.ValidateSetupRequest{
					Record: in.record, AsOfTime: when.time, KnownTime: known.time, UnitSystem: a.unitSystem(), View: view,
				})
				if err != nil {
					return err
				}
				met, err := a.showReport(in, answer.GetReport(), full, answer)
				if err != nil {
					return err
				}
				a.judge(answer.GetReport().GetVerdict() == pb.Verdict_VERDICT_ACCEPT, met, expect)
				return nil
			})
		},
	}
	addAsOf(cmd, &when, "judge by the sheet of another day than that on which the work was finished")
	addKnown(cmd, &known)
	cmd.Flags().BoolVar(&full, "full", false, "the outcome of every characteristic, and missing readings at length")
	cmd.Flags().BoolVar(&expect, "expect", false, "exit with 0 when every record is as its expectation says")
	return cmd
}

// judge notes what a report means for the exit code.
func (a *app) judge(accepted, asExpected, expect bool) {
	good := accepted
	if expect {
		good = asExpected
	}
	if !good {
		a.worsen(exitVerdict)
	}
}

// showReport shows what came of a record, and whether that is what the record
// expects. The answer is what is shown as JSON; the expectation then goes to
// standard error, where it is not met.
func (a *app) showReport(in *input, report *pb.Report, full bool, answer proto.Message) (met bool, err error) {
	look := a.look()
	var expectation string
	if want := in.record.GetExpectation(); want != nil {
		met, expectation = render.Expectation(want, report, look)
	}
	if a.json() {
		if expectation != "" && !met {
			a.fail(&failure{code: exitAccept, lines: []string{in.about() + oneLine(expectation)}})
		}
		return met, a.showJSON(answer)
	}
	a.show(render.Report(render.Judged{
		Record: in.record,
		Report: report,
		Origin: in.name,
		Where:  in.where,
		Full:   full,
	}, look) + expectation)
	return met, nil
}
