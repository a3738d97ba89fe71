package main

import (
	"errors"
	"io"

	"github.com/spf13/cobra"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/status"

	"github.com/snapgauge/snapgauge/clients/snapgauge/internal/layout"
	"github.com/snapgauge/snapgauge/clients/snapgauge/internal/render"
	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

func (a *app) specWatchCommand() *cobra.Command {
	var (
		from   string
		sheets bool
	)
	cmd := &cobra.Command{
		Use:   "watch",
		Short: "Follow what is published and withdrawn, one line a change",
		Long: `Follows what is published and withdrawn, from the first change on or from where
an earlier watch ended, without gaps: one line a change, or with -o json the
API's message, one to a line. It goes on until it is interrupted (exit code 0) or
the server ends it (3); either way it then tells the token to go on from. With
-o json each line carries its own as well.`,
		Example: `  snapgauge specs watch
  snapgauge specs watch --from TOKEN --sheets -o json >>changes.jsonl`,
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			if sheets && !a.json() {
				return usage("--sheets: goes with -o json; a line has no room for a sheet")
			}
			c, err := a.dial()
			if err != nil {
				return err
			}
			defer c.close()
			ctx := cmd.Context()
			token := from
			// ended tells why there is no more, and how to go on.
			ended := func(err error) error {
				f := &failure{code: exitAccept}
				if ctx.Err() == nil {
					f = explain(ctx, err, c, place{})
				}
				if token != "" && f.status != codes.InvalidArgument {
					f.lines = append(f.lines, "snapgauge: to go on from here: --from "+layout.Clean(token))
				}
				return f
			}
			if err := c.reach(ctx); err != nil {
				if ctx.Err() != nil {
					return ended(err)
				}
				return err
			}
			stream, err := c.specs.WatchSpecs(ctx, &pb.WatchSpecsRequest{ResumeToken: from, IncludeSheets: sheets})
			if err != nil {
				return ended(err)
			}
			for {
				change, err := stream.Recv()
				if errors.Is(err, io.EOF) {
					err = status.Error(codes.Internal, "it ended the stream")
				}
				if err != nil {
					return ended(err)
				}
				line := render.Change(change, a.look())
				if a.json() {
					if line, err = lineJSON(change); err != nil {
						return err
					}
				}
				if _, err := a.write([]byte(line)); err != nil {
					return nil // nobody reads on; the caller tells why
				}
				token = change.GetResumeToken()
			}
		},
	}
	cmd.Flags().StringVar(&from, "from", "", "go on after the change that this token came with (default: from the first)")
	cmd.Flags().BoolVar(&sheets, "sheets", false, "the whole sheet with each revision that is published; with -o json")
	must(cmd.RegisterFlagCompletionFunc("from", cobra.NoFileCompletions))
	return cmd
}
