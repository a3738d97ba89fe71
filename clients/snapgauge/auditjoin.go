package main

import (
	"context"
	"errors"
	"io"

	"github.com/spf13/cobra"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

func (a *app) auditJoinCommand() *cobra.Command {
	var files auditFileFlags
	cmd := &cobra.Command{
		Use:   "join A.audit B.audit...",
		Short: "Join audits of parts to one",
		Long: `Joins audits of parts, each saved with snapgauge audit --save, to one: the
summary is that of all their records, in the order in which the parts are given.
They must have been judged alike; give the audit of each the same --known, so
that what was known is the same as well. What a record shows in the light of one
in another part is counted as far as it can be known.

Exit codes are those of snapgauge audit.`,
		Example: `  snapgauge audit join june.audit july.audit --out quarter.html --save quarter.audit`,
		Args:    atLeast(1, "want at least one saved audit"),
		ValidArgsFunction: func(*cobra.Command, []string, string) ([]cobra.Completion, cobra.ShellCompDirective) {
			return completeSaved(nil, nil, "")
		},
		RunE: func(cmd *cobra.Command, args []string) error {
			if err := eachFileOnce(args); err != nil {
				return err
			}
			// A part may be written over: it is read whole before that, and so an
			// audit can be added to.
			out, err := files.open(false, nil)
			if err != nil {
				return err
			}
			defer out.discard()
			// A file that is no saved audit is told before anything is sent.
			for _, name := range args {
				if err := eachSaved(name, func(*pb.AuditCheckpoint) error { return nil }); err != nil {
					return err
				}
			}
			c, err := a.dial()
			if err != nil {
				return err
			}
			defer c.close()
			done, err := a.join(cmd.Context(), c, args, files.html(), out)
			if err != nil {
				return err
			}
			return a.showAudit(done, out, nil)
		},
	}
	files.add(cmd, "write the report (.html) or the summary (.json) to this file; repeat for more", "html", "json")
	return cmd
}

func completeSaved(*cobra.Command, []string, string) ([]cobra.Completion, cobra.ShellCompDirective) {
	return []cobra.Completion{"audit"}, cobra.ShellCompDirectiveFilterFileExt
}

// join sends the saved audits, one after the other, and takes what comes of them.
// It is not tried again: it takes seconds. The error is a *failure.
func (a *app) join(ctx context.Context, c *client, names []string, html bool, out *auditOutput) (*audited, error) {
	if err := c.reach(ctx); err != nil {
		return nil, err
	}
	ctx, cancel := context.WithCancelCause(ctx)
	defer cancel(nil)
	stream, err := openAudit(ctx, c, auditJoined)
	if err != nil {
		return nil, explain(ctx, err, c, place{})
	}
	sent := make(chan struct{})
	go func() {
		defer close(sent)
		for _, name := range names {
			err := eachSaved(name, func(part *pb.AuditCheckpoint) error {
				return stream.SendMsg(&pb.JoinAuditsRequest{Checkpoint: part, HtmlReport: html})
			})
			if errors.Is(err, io.EOF) {
				return // who receives finds out why
			}
			if err != nil {
				cancel(err)
				return
			}
		}
		_ = stream.CloseSend() // its error is that of the stream, which who receives has
	}()
	defer func() {
		cancel(nil)
		<-sent
	}()
	r := &auditRun{client: c, kind: auditJoined, out: out, line: &progress{}}
	for {
		event, err := stream.event()
		switch {
		case errors.Is(err, io.EOF):
			if err := r.ended(); err != nil {
				return nil, err
			}
			return &r.done, nil
		case err != nil:
			if f := (*failure)(nil); errors.As(context.Cause(ctx), &f) {
				return nil, f // that of who sends tells more
			}
			return nil, explain(ctx, err, c, place{})
		}
		if e := event.GetCheckpoint(); e != nil {
			r.received = e.GetRecordCount() // of records of which no results come
		}
		if err := r.take(event); err != nil {
			return nil, err
		}
	}
}
