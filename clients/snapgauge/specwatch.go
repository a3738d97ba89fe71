package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"time"

	"github.com/spf13/cobra"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/status"

	"github.com/snapgauge/snapgauge/clients/snapgauge/internal/layout"
	"github.com/snapgauge/snapgauge/clients/snapgauge/internal/render"
	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/phrase"
)

func (a *app) specWatchCommand() *cobra.Command {
	var (
		from   string
		sheets bool
		retry  time.Duration
	)
	cmd := &cobra.Command{
		Use:   "watch",
		Short: "Follow what is published and withdrawn, one line a change",
		Long: `Follows what is published and withdrawn, from the first change on or from where
an earlier watch ended, without gaps: one line a change, or with -o json the
API's message, one to a line. When the server goes away, the watch goes on when it
is back, after the last change that was told: nothing is missed and nothing told
twice. It goes on until it is interrupted (exit code 0), or the server ends it or
is lost for longer than --retry (3); either way it then tells the token to go on
from. With -o json each line carries its own as well. A token of another history,
such as that of a server whose store was put back, ends it (2): its copies are to
be made anew.`,
		Example: `  snapgauge specs watch
  snapgauge specs watch --from TOKEN --sheets -o json >>changes.jsonl
  snapgauge specs watch --retry 1h`,
		Args: cobra.NoArgs,
		RunE: func(cmd *cobra.Command, _ []string) error {
			if sheets && !a.json() {
				return usage("--sheets: goes with -o json; a line has no room for a sheet")
			}
			if err := checkRetry(retry); err != nil {
				return err
			}
			c, err := a.dial()
			if err != nil {
				return err
			}
			defer c.close()
			w := &specWatch{app: a, client: c, from: from, token: from, sheets: sheets}
			return w.run(cmd.Context(), retry)
		},
	}
	cmd.Flags().StringVar(&from, "from", "", "go on after the change that this token came with (default: from the first)")
	cmd.Flags().BoolVar(&sheets, "sheets", false, "the whole sheet with each revision that is published; with -o json")
	addRetry(cmd, &retry)
	must(cmd.RegisterFlagCompletionFunc("from", cobra.NoFileCompletions))
	return cmd
}

// specWatch is one watch under way.
type specWatch struct {
	app    *app
	client *client
	// from is the token that was typed.
	from   string
	sheets bool

	token string // of the last change that was written
	told  int64  // changes that were written
}

// run follows changes until it is interrupted, or the server ends it or is lost.
// The error is a *failure that tells why there is no more and how to go on; nil
// where nobody reads on, which the app tells itself.
func (w *specWatch) run(ctx context.Context, retry time.Duration) error {
	server := &retrying{
		client: w.client, limit: retry, far: func() int64 { return w.told }, unit: "change",
		say: func(line string) { fmt.Fprintln(w.app.err, line) },
	}
	err := server.run(ctx, func(ctx context.Context, again bool) error { return w.attempt(ctx, server, again) })
	if err == nil {
		return nil
	}
	f := asFailure(err)
	if ctx.Err() != nil {
		f = &failure{code: exitAccept}
	}
	if w.token != "" && f.status != codes.InvalidArgument {
		f.lines = append(f.lines, "snapgauge: to go on from here: --from "+layout.Clean(w.token))
	}
	return f
}

// attempt follows changes after the last that was written, until the stream ends.
// The error is that of the stream, or a *failure; nil where nobody reads on.
func (w *specWatch) attempt(ctx context.Context, server *retrying, again bool) error {
	if err := server.reach(ctx); err != nil {
		return err
	}
	ctx, cancel := context.WithCancel(ctx)
	defer cancel()
	stream, err := w.client.specs.WatchSpecs(ctx, &pb.WatchSpecsRequest{ResumeToken: w.token, IncludeSheets: w.sheets})
	if err != nil {
		return err
	}
	// The header says that the server takes the token, however long the first
	// change is in coming. Without one there is an error, which Recv tells.
	if header, err := stream.Header(); err == nil && header != nil {
		began := time.Now()
		defer func() { server.stood(time.Since(began)) }()
		if again {
			server.back(w.where())
		}
	}
	for {
		change, err := stream.Recv()
		if errors.Is(err, io.EOF) {
			err = status.Error(codes.Internal, "it ended the stream")
		}
		if err != nil {
			return err
		}
		line := render.Change(change, w.app.look())
		if w.app.json() {
			if line, err = lineJSON(change); err != nil {
				return asFailure(err)
			}
		}
		if _, err := w.app.write([]byte(line)); err != nil {
			return nil
		}
		w.token = change.GetResumeToken()
		w.told++
	}
}

// where says in words from where the watch goes on.
func (w *specWatch) where() string {
	switch {
	case w.told > 0:
		return "after " + phrase.Many(w.told, "change")
	case w.from != "":
		return "after the change of --from"
	}
	return "from the beginning"
}
