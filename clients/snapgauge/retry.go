package main

import (
	"context"
	"errors"
	"fmt"
	"time"

	"github.com/spf13/cobra"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/connectivity"
	"google.golang.org/grpc/status"

	"github.com/snapgauge/snapgauge/service/phrase"
)

const (
	// defaultRetry is how long a server may be away: as long as one takes to be
	// started again.
	defaultRetry = time.Minute
	// firstPause is how long to wait before the server is tried again; it doubles
	// each time, up to mostPause.
	firstPause = 100 * time.Millisecond
	mostPause  = 5 * time.Second
)

// addRetry adds the flag that says how long a lost server is tried.
func addRetry(cmd *cobra.Command, limit *time.Duration) {
	cmd.Flags().DurationVar(limit, "retry", defaultRetry, "how long to try when the server goes away; 0 does not")
	must(cmd.RegisterFlagCompletionFunc("retry", cobra.NoFileCompletions))
}

// checkRetry refuses a flag that means nothing.
func checkRetry(limit time.Duration) error {
	if limit < 0 {
		return usage("--retry: got %s, want nought or more", limit)
	}
	return nil
}

// retrying does something that lasts, and goes on with it when the server was
// lost on the way. A server that never answered is not waited for.
type retrying struct {
	client *client
	// limit is how long the server may be away.
	limit time.Duration
	// place is what faults are told of.
	place place
	// far is how much was taken of the server, counted in units of that name.
	far  func() int64
	unit string
	// say tells on standard error what becomes of the server.
	say func(string)
	// waits is called before each pause; nil where nobody needs to know.
	waits func()

	reached  bool      // there was a connection once
	lost     time.Time // when the server was first missed, since it last counted as back; zero before
	farthest int64
	pause    time.Duration
}

// run does it until it ends, or fails in a way that waiting does not mend. attempt
// goes on from where it is; again says that the server was lost before. Its
// error is that of a call, or a *failure, which ends it. The error of run is a
// *failure.
func (r *retrying) run(ctx context.Context, attempt func(ctx context.Context, again bool) error) error {
	for {
		err := attempt(ctx, !r.lost.IsZero())
		if err == nil {
			return nil
		}
		var f *failure
		if errors.As(err, &f) {
			return f
		}
		f = explain(ctx, err, r.client, r.place)
		if ctx.Err() != nil || f.status != codes.Unavailable || !r.reached {
			return f
		}
		// Only what is new counts: a server that dies of the same thing again and
		// again is not tried for ever.
		if now, far := time.Now(), r.far(); r.lost.IsZero() || far > r.farthest {
			if r.limit > 0 {
				r.say(fmt.Sprintf("%s; lost after %s, trying for %s to go on", f.Error(), phrase.Many(far, r.unit), r.limit))
			}
			r.lost, r.farthest, r.pause = now, far, firstPause
		}
		left := r.limit - time.Since(r.lost)
		if left <= 0 {
			if r.limit > 0 {
				f.lines = append(f.lines, fmt.Sprintf("snapgauge: gave up after %s", r.limit))
			}
			return f
		}
		if r.waits != nil {
			r.waits()
		}
		select {
		case <-time.After(min(r.pause, left)):
		case <-ctx.Done():
			return explain(ctx, ctx.Err(), r.client, place{})
		}
		r.pause = min(2*r.pause, mostPause)
		r.client.conn.ResetConnectBackoff()
	}
}

// reach waits for a connection at the beginning of an attempt. That a server
// that was there before does not answer in time means that it is away.
func (r *retrying) reach(ctx context.Context) error {
	if err := r.client.reach(ctx); err != nil {
		if r.reached && ctx.Err() == nil {
			return status.Error(codes.Unavailable, "no connection")
		}
		return err
	}
	r.reached = r.reached || r.client.conn.GetState() == connectivity.Ready
	return nil
}

// back tells that the server answers again, and from where it goes on.
func (r *retrying) back(from string) { r.say("snapgauge: the server is back; going on " + from) }

// stood says for how long the server has answered without a word. Long enough,
// it counts as back although nothing is new: where new things are rare, one that
// goes away once a week would else be given up in the second.
func (r *retrying) stood(long time.Duration) {
	if long > mostPause {
		r.lost = time.Time{}
	}
}
