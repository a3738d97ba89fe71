package main

import (
	"context"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

func (a *app) sheetCommand() *cobra.Command {
	cmd := &cobra.Command{
		Use:   "sheet",
		Short: "Draw the job sheet or the handover sheet, to print",
		RunE: func(_ *cobra.Command, args []string) error {
			if len(args) > 0 {
				return usage("sheet: unknown command %q; want job or handover", args[0])
			}
			return usage("sheet: want a command: job or handover")
		},
	}
	cmd.AddCommand(a.sheetJobCommand(), a.sheetHandoverCommand())
	return cmd
}

// fileHelp says where a sheet goes.
const fileHelp = `The sheet is one HTML file that needs nothing else, or with --pdf a PDF, which
--out FILE.pdf implies. It is written to the current directory under the name
that the server gives it; --out says another, or - for standard output. A file
that is there already is left alone without --force.`

func (a *app) sheetJobCommand() *cobra.Command {
	var (
		job           jobFlags
		file          sheetFile
		record, setup string
	)
	cmd := &cobra.Command{
		Use:   "job [MODEL]",
		Short: "The sheet that is filled in at the bench",
		Long: `Draws the sheet that is filled in at the bench. It needs one of three: a MODEL,
for a sheet to fill in, with the same flags as snapgauge plan; --record, a file
with a set-up record (- is standard input), or --setup, the name of a stored
one, for a sheet that is filled in.

` + fileHelp + `

` + jobFlagsHelp,
		Example: `  snapgauge sheet job "scree 200i" --rider 82+11
  snapgauge sheet job --record record.yaml --out job.pdf`,
		Args:              cobra.MaximumNArgs(1),
		ValidArgsFunction: a.completeModel,
		RunE: func(cmd *cobra.Command, args []string) error {
			from := []string{}
			if len(args) > 0 {
				from = append(from, "MODEL")
			}
			for _, name := range []string{"record", "setup"} {
				if cmd.Flags().Changed(name) {
					from = append(from, "--"+name)
				}
			}
			if len(from) != 1 {
				return usage("sheet job: got %s, want one of MODEL, --record FILE and --setup NAME\nsee %s --help", orNothing(from), cmd.CommandPath())
			}
			if from[0] != "MODEL" {
				for _, name := range job.names() {
					if cmd.Flags().Changed(name) {
						return usage("--%s: goes with MODEL, not with %s: that says it itself", name, from[0])
					}
				}
			}
			request := &pb.RenderSheetRequest{Kind: pb.SheetKind_SHEET_KIND_JOB}
			switch from[0] {
			case "MODEL":
				plan, err := job.request(args[0], a.unitSystem())
				if err != nil {
					return err
				}
				request.Subject = &pb.RenderSheetRequest_Plan{Plan: plan}
				return a.drawSheet(cmd.Context(), request, place{}, file)
			case "--setup":
				request.Subject = &pb.RenderSheetRequest_Setup{Setup: setupName(setup)}
				return a.drawSheet(cmd.Context(), request, place{}, file)
			}
			return a.drawRecord(cmd.Context(), request, record, file)
		},
	}
	job.add(cmd)
	file.add(cmd)
	cmd.Flags().StringVar(&record, "record", "", "file with a set-up record, for a sheet filled in")
	must(cmd.RegisterFlagCompletionFunc("record", completeFiles))
	a.addSetup(cmd, &setup)
	return cmd
}

func (a *app) sheetHandoverCommand() *cobra.Command {
	var (
		file  sheetFile
		setup string
	)
	cmd := &cobra.Command{
		Use:   "handover [FILE]",
		Short: "The sheet that the customer keeps",
		Long: `Draws the sheet that the customer keeps: how the machine was judged, its settings
as delivered, what is due at the first service, and what to beware of. It needs
a FILE with a set-up record (- is standard input), which is judged and not
stored, or --setup, the name of a stored one.

` + fileHelp,
		Example: `  snapgauge sheet handover record.yaml --pdf
  snapgauge sheet handover --setup 0198c0de-7f3a-7aaa-8bbb-0123456789ab --paper letter`,
		Args:              cobra.MaximumNArgs(1),
		ValidArgsFunction: completeFiles,
		RunE: func(cmd *cobra.Command, args []string) error {
			request := &pb.RenderSheetRequest{Kind: pb.SheetKind_SHEET_KIND_HANDOVER}
			given := cmd.Flags().Changed("setup")
			switch {
			case given == (len(args) > 0):
				return usage("sheet handover: want either FILE or --setup NAME\nsee %s --help", cmd.CommandPath())
			case given:
				request.Subject = &pb.RenderSheetRequest_Setup{Setup: setupName(setup)}
				return a.drawSheet(cmd.Context(), request, place{}, file)
			}
			return a.drawRecord(cmd.Context(), request, args[0], file)
		},
	}
	file.add(cmd)
	a.addSetup(cmd, &setup)
	return cmd
}

func (a *app) addSetup(cmd *cobra.Command, setup *string) {
	cmd.Flags().StringVar(setup, "setup", "", "a stored set-up, as snapgauge list shows it")
	must(cmd.RegisterFlagCompletionFunc("setup", func(cmd *cobra.Command, _ []string, typed string) ([]cobra.Completion, cobra.ShellCompDirective) {
		return a.completeSetup(cmd, nil, typed)
	}))
}

func orNothing(words []string) string {
	if len(words) == 0 {
		return "none"
	}
	return strings.Join(words, " and ")
}

// drawRecord draws the sheet of a record in a file.
func (a *app) drawRecord(ctx context.Context, request *pb.RenderSheetRequest, file string, to sheetFile) error {
	in, err := a.readRecord(file)
	if err != nil {
		return err
	}
	request.Subject = &pb.RenderSheetRequest_Record{Record: in.record}
	return a.drawSheet(ctx, request, in.place, to)
}

// drawSheet has a sheet drawn and puts it where it belongs. Faults of the request
// are told with their place.
func (a *app) drawSheet(ctx context.Context, request *pb.RenderSheetRequest, p place, to sheetFile) error {
	if err := to.check(a); err != nil {
		return err
	}
	request.Format, request.Paper, request.UnitSystem = to.format(), to.paperSize(a.unitSystem()), a.unitSystem()
	c, err := a.dial()
	if err != nil {
		return err
	}
	defer c.close()
	answer, err := call(ctx, c, p, c.setups.RenderSheet, request)
	if err != nil {
		return err
	}
	if a.json() {
		return a.showJSON(answer)
	}
	if to.out == "-" {
		_, _ = a.write(answer.GetContent())
		return nil
	}
	name, err := to.write(answer)
	if err != nil {
		return err
	}
	a.show(fmt.Sprintf("wrote %s, %s\n", name, size(len(answer.GetContent()))))
	return nil
}

// size says a number of bytes, rounded up.
func size(bytes int) string {
	if bytes < 1000 {
		return fmt.Sprintf("%d B", bytes)
	}
	return fmt.Sprintf("%d kB", (bytes+999)/1000)
}
