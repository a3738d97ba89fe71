package main

import (
	"github.com/spf13/cobra"

	"github.com/snapgauge/snapgauge/clients/snapgauge/internal/render"
)

func (a *app) specPublishCommand() *cobra.Command {
	var (
		etag   string
		dryRun bool
	)
	cmd := &cobra.Command{
		Use:   "publish FILE",
		Short: "Publish a revision of a sheet",
		Long: `Publishes a revision of a sheet (YAML or JSON; - is standard input): a whole
sheet, or one derived from a published one. From its effective time on it judges.
What is published never changes: a mistake is mended by the next revision, or the
revision is withdrawn.

A sheet that is wrong is refused with every reason, as FILE:LINE:COLUMN. It is
also refused when it does not follow on the newest revision; --etag names the one
that its author saw (snapgauge specs history SPEC -o json has the etags), so that
of two who publish at once the second is told. Without it the newest at this
moment is taken. Publishing an unchanged file again is always safe.`,
		Example: `  snapgauge specs publish --dry-run 2026-eu-r3.yaml
  snapgauge specs publish 2026-eu-r3.yaml`,
		Args:              exactly(1, "want FILE, or - for standard input"),
		ValidArgsFunction: completeFiles,
		RunE: func(cmd *cobra.Command, args []string) error {
			f, err := a.readSpecFile(args[0])
			if err != nil {
				return err
			}
			c, err := a.dial()
			if err != nil {
				return err
			}
			defer c.close()
			answer, err := f.publish(cmd.Context(), c, etag, dryRun)
			if err != nil {
				return err
			}
			if a.json() {
				return a.showJSON(answer)
			}
			a.show(render.Published(answer, dryRun, a.look()))
			return nil
		},
	}
	cmd.Flags().StringVar(&etag, "etag", "", "etag of the newest revision as its author saw it (default: that of the newest there is)")
	cmd.Flags().BoolVar(&dryRun, "dry-run", false, "check the sheet and publish nothing")
	must(cmd.RegisterFlagCompletionFunc("etag", cobra.NoFileCompletions))
	return cmd
}
