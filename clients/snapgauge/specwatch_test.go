package main

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"testing"
	"time"

	"google.golang.org/grpc"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/status"
	"google.golang.org/protobuf/encoding/protojson"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

var errShutDown = status.Error(codes.Unavailable, "the service is shutting down")

// sendChanges sends the changes t1 to tN that come after a token.
func sendChanges(stream grpc.ServerStreamingServer[pb.WatchSpecsResponse], token string, last int) error {
	var after int
	if token != "" {
		if _, err := fmt.Sscanf(token, "t%d", &after); err != nil {
			return err
		}
	}
	for i := after + 1; i <= last; i++ {
		change := &pb.WatchSpecsResponse{
			Kind: pb.SpecChangeKind_SPEC_CHANGE_KIND_PUBLISHED, SpecRevision: testRevisions()[0], ResumeToken: fmt.Sprintf("t%d", i),
		}
		if err := stream.Send(change); err != nil {
			return err
		}
	}
	return nil
}

// However often the server goes away, each change is told once.
func TestWatchGoesOn(t *testing.T) {
	f := newFake(t)
	ends := status.Error(codes.Internal, "enough")
	f.watchDies = func(call int, token string, stream grpc.ServerStreamingServer[pb.WatchSpecsResponse]) error {
		switch call {
		case 0: // gone before the first change
			return errShutDown
		case 1:
			if err := sendChanges(stream, token, 2); err != nil {
				return err
			}
			return errShutDown
		case 2: // there, without a word
			if err := stream.SendHeader(nil); err != nil {
				return err
			}
			return errShutDown
		}
		if err := sendChanges(stream, token, 4); err != nil {
			return err
		}
		return ends
	}
	code, out, errs := watch(t, f, "-o", "json")
	var tokens []string
	for line := range strings.Lines(out) {
		change := new(pb.WatchSpecsResponse)
		if err := protojson.Unmarshal([]byte(line), change); err != nil {
			t.Fatal(err)
		}
		tokens = append(tokens, change.GetResumeToken())
	}
	if got := strings.Join(tokens, " "); code != 3 || got != "t1 t2 t3 t4" {
		t.Errorf("exit code %d, changes %s, standard error %q", code, got, errs)
	}
	at := "snapgauge: no snapgauge server answers at " + f.address + ": it is shutting down; lost after "
	want := at + "0 changes, trying for 1m0s to go on\n" +
		"snapgauge: the server is back; going on from the beginning\n" +
		at + "2 changes, trying for 1m0s to go on\n" +
		"snapgauge: the server is back; going on after 2 changes\n" +
		"snapgauge: the server is back; going on after 2 changes\n" +
		"snapgauge: the server at " + f.address + " failed: enough\n" +
		"snapgauge: to go on from here: --from t4\n"
	if errs != want {
		t.Errorf("standard error:\n%s\nwant:\n%s", errs, want)
	}
}

func TestWatchGivesUp(t *testing.T) {
	f := newFake(t)
	f.watchDies = func(_ int, token string, stream grpc.ServerStreamingServer[pb.WatchSpecsResponse]) error {
		if err := sendChanges(stream, token, 3); err != nil {
			return err
		}
		return errShutDown
	}
	code, out, errs := watch(t, f, "--retry", "300ms", "--from", "t1")
	if code != 3 || strings.Count(out, "\n") != 2 || !strings.Contains(errs, "lost after 2 changes, trying for 300ms to go on\n") ||
		!strings.HasSuffix(errs, "\nsnapgauge: gave up after 300ms\nsnapgauge: to go on from here: --from t3\n") {
		t.Errorf("exit code %d, standard error %q, standard output:\n%s", code, errs, out)
	}
	if f.watches < 2 || f.watches > 10 {
		t.Errorf("asked %d times, want a few", f.watches)
	}
}

// A history that is another one after the loss ends the watch: to begin again is
// for whoever keeps the copy.
func TestWatchOfAnotherHistory(t *testing.T) {
	f := newFake(t)
	f.watchDies = func(call int, token string, stream grpc.ServerStreamingServer[pb.WatchSpecsResponse]) error {
		if call > 0 {
			return badRequest("resume_token", "RESUME_TOKEN_INVALID", "it was given for another history")
		}
		if err := sendChanges(stream, token, 1); err != nil {
			return err
		}
		return errShutDown
	}
	code, _, errs := watch(t, f)
	if code != 2 || !strings.HasSuffix(errs, "to go on\nsnapgauge: --from: it was given for another history\n") || f.watches != 2 {
		t.Errorf("exit code %d, asked %d times, standard error %q", code, f.watches, errs)
	}
}

// A watch that is interrupted while the server is away ends as one that is
// interrupted while it is there.
func TestWatchInterruptedWhileWaiting(t *testing.T) {
	f := newFake(t)
	ctx, cancel := context.WithCancel(t.Context())
	defer cancel()
	f.watchDies = func(call int, token string, stream grpc.ServerStreamingServer[pb.WatchSpecsResponse]) error {
		if call == 1 {
			time.AfterFunc(50*time.Millisecond, cancel)
		}
		if err := sendChanges(stream, token, 1); err != nil {
			return err
		}
		return errShutDown
	}
	var out, errs strings.Builder
	a := &app{
		in: strings.NewReader(""), out: &out, err: &errs,
		env:      func(string) string { return "" },
		terminal: func() (int, bool) { return 0, false },
	}
	code := a.run(ctx, []string{"specs", "watch", "--server", f.address})
	if code != 0 || !strings.HasSuffix(errs.String(), "\nsnapgauge: to go on from here: --from t1\n") {
		t.Errorf("exit code %d, standard error %q", code, errs.String())
	}
}

func TestWatchRefusesALossOfLessThanNothing(t *testing.T) {
	code, _, errs := run(t, world{}, "specs", "watch", "--retry", "-1s")
	if code != 2 || errs != "snapgauge: --retry: got -1s, want nought or more\n" {
		t.Errorf("exit code %d, standard error %q", code, errs)
	}
}

// A server that was there for long has all the time again when it goes away, and
// one that only shows itself has not.
func TestRetryingCountsAnew(t *testing.T) {
	c, err := (&app{server: "127.0.0.1:1", timeout: defaultTimeout}).dial()
	if err != nil {
		t.Fatal(err)
	}
	defer c.close()
	for _, test := range []struct {
		stood time.Duration
		lost  int
	}{{mostPause + 1, 5}, {mostPause, 1}} {
		lost, tries := 0, 0
		r := &retrying{client: c, limit: time.Hour, far: func() int64 { return 0 }, unit: "change", reached: true, say: func(string) { lost++ }}
		err := r.run(t.Context(), func(context.Context, bool) error {
			r.pause = 0
			if tries++; tries > 5 {
				return &failure{code: exitServer}
			}
			r.stood(test.stood)
			return errShutDown
		})
		if f := (*failure)(nil); !errors.As(err, &f) || lost != test.lost {
			t.Errorf("stood for %s each time: lost %d times, want %d; %v", test.stood, lost, test.lost, err)
		}
	}
}
