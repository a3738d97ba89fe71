package main

import (
	"github.com/google/uuid"
	"github.com/spf13/cobra"

	"github.com/snapgauge/snapgauge/clients/snapgauge/internal/layout"
	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

// requests is the name space of request identifiers that are made from records.
// It never changes: a record that was submitted years ago still gets the same.
var requests = uuid.NewSHA1(uuid.NameSpaceURL, []byte("https://github.com/snapgauge/snapgauge/requests"))

// requestID is the same for the same bytes (UUID version 5, RFC 9562).
func requestID(record []byte) string { return uuid.NewSHA1(requests, record).String() }

func (a *app) submitCommand() *cobra.Command {
	var id string
	cmd := &cobra.Command{
		Use:   "submit FILE...",
		Short: "Judge set-up records and store them, whatever the verdict",
		Long: `Judges set-up records (YAML or JSON; - is standard input) and stores them with
their reports, whatever the verdict. A stored record never changes; a correction
is a new record that names the old one in its field "supersedes".

Each request carries an identifier, so that it can be repeated: the second time
nothing new is stored and the first answer is shown again. Unless --request-id
gives one, it is made from the bytes of the record (a UUID, version 5), so that
submitting an unchanged file again is always safe. Whoever changes as much as a
comment submits another record.`,
		Args:              files,
		ValidArgsFunction: completeFiles,
		RunE: func(cmd *cobra.Command, args []string) error {
			given := cmd.Flags().Changed("request-id")
			if given && len(args) > 1 {
				return usage("--request-id: got %d files, want one", len(args))
			}
			if given && uuid.Validate(id) != nil {
				return usage("--request-id: got %q, want a UUID", id)
			}
			c, err := a.dial()
			if err != nil {
				return err
			}
			defer c.close()
			return a.eachRecord(args, func(in *input) error {
				request := &pb.SubmitSetupRequest{Record: in.record, RequestId: id, UnitSystem: a.unitSystem()}
				if !given {
					request.RequestId = requestID(in.data)
				}
				answer, err := call(cmd.Context(), c, in.place, c.setups.SubmitSetup, request)
				if err != nil {
					return err
				}
				report := answer.GetSetup().GetReport()
				if _, err := a.showReport(in, report, false, answer); err != nil {
					return err
				}
				if !a.json() {
					_, _ = a.write([]byte("stored as " + layout.Clean(answer.GetSetup().GetName()) + "\n"))
				}
				a.judge(report.GetVerdict() == pb.Verdict_VERDICT_ACCEPT, false, false)
				return nil
			})
		},
	}
	cmd.Flags().StringVar(&id, "request-id", "", "identifier of the request, a UUID (default: made from the record's bytes)")
	must(cmd.RegisterFlagCompletionFunc("request-id", cobra.NoFileCompletions))
	return cmd
}
