package server

import (
	"context"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"google.golang.org/grpc"
	"google.golang.org/grpc/codes"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/emptypb"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/spec"
)

// watcher reads a stream of changes.
type watcher struct {
	t      testing.TB
	stream grpc.ServerStreamingClient[pb.WatchSpecsResponse]
	cancel context.CancelFunc
}

func (b *bench) watch(t testing.TB, req *pb.WatchSpecsRequest) *watcher {
	t.Helper()
	ctx, cancel := context.WithTimeout(t.Context(), 30*time.Second)
	t.Cleanup(cancel)
	stream, err := b.specs.WatchSpecs(ctx, req)
	if err != nil {
		t.Fatal(err)
	}
	return &watcher{t, stream, cancel}
}

func (w *watcher) next() *pb.WatchSpecsResponse {
	w.t.Helper()
	resp, err := w.stream.Recv()
	if err != nil {
		w.t.Fatal(err)
	}
	return resp
}

// say is a change in short: "PUBLISHED specs/x/revisions/1".
func say(c *pb.WatchSpecsResponse) string {
	return strings.TrimPrefix(c.GetKind().String(), "SPEC_CHANGE_KIND_") + " " + c.GetSpecRevision().GetName()
}

func TestWatchSpecs(t *testing.T) {
	b := newBench(t)
	first := b.specRevisions(t, rill)
	if _, err := b.specs.WithdrawSpecRevision(t.Context(), &pb.WithdrawSpecRevisionRequest{Name: "specs/" + rill + "/revisions/2", Reason: "Wrong."}); err != nil {
		t.Fatal(err)
	}
	w := b.watch(t, &pb.WatchSpecsRequest{IncludeSheets: true})
	var said []string
	tokens := map[string]bool{}
	for range 6 {
		c := w.next()
		said = append(said, say(c))
		tokens[c.GetResumeToken()] = true
		if c.GetKind() == pb.SpecChangeKind_SPEC_CHANGE_KIND_WITHDRAWN {
			if c.Sheet != nil || c.GetSpecRevision().GetWithdrawReason() != "Wrong." || c.GetSpecRevision().WithdrawTime == nil {
				t.Errorf("got %v, want why it was withdrawn, and no sheet", c)
			}
			continue
		}
		digest, err := spec.Digest(c.GetSheet())
		if err != nil || digest != c.GetSpecRevision().GetDigest() || c.GetSpecRevision().WithdrawTime != nil {
			t.Errorf("%s: got a sheet of %s and %v", say(c), digest, err)
		}
		if say(c) == "PUBLISHED specs/"+rill+"/revisions/2" && !proto.Equal(c.GetSpecRevision(), first[0]) {
			t.Errorf("got %v, want it as it was published: %v", c.GetSpecRevision(), first[0])
		}
	}
	want := []string{
		"PUBLISHED specs/brook-250-2027-eu/revisions/1",
		"PUBLISHED specs/rill-125-2026-eu/revisions/1",
		"PUBLISHED specs/rill-125-2026-eu/revisions/2",
		"PUBLISHED specs/rill-125-2026-jp/revisions/1",
		"PUBLISHED specs/rill-125-2026-nz/revisions/1",
		"WITHDRAWN specs/rill-125-2026-eu/revisions/2",
	}
	if fmt.Sprint(said) != fmt.Sprint(want) || len(tokens) != 6 {
		t.Errorf("got %q with %d tokens, want %q", said, len(tokens), want)
	}
	// Then as it happens, and without sheets unless they are asked for.
	plain := b.watch(t, &pb.WatchSpecsRequest{})
	for range 6 {
		if c := plain.next(); c.Sheet != nil {
			t.Errorf("%s: got a sheet that nobody asked for", say(c))
		}
	}
	r := b.publish(t, tarnSheet(t, 1, unchanged))
	for _, w := range []*watcher{w, plain} {
		if c := w.next(); !proto.Equal(c.GetSpecRevision(), r) {
			t.Errorf("got %v, want %v", c, r)
		}
	}
	w.cancel()
	_, err := w.stream.Recv()
	wantStatus(t, err, codes.Canceled, "", "")
}

func (b *bench) specRevisions(t testing.TB, specID string) []*pb.SpecRevision {
	t.Helper()
	resp, err := b.specs.ListSpecRevisions(t.Context(), &pb.ListSpecRevisionsRequest{Parent: "specs/" + specID})
	if err != nil {
		t.Fatal(err)
	}
	return resp.GetSpecRevisions()
}

// Whoever goes on from a token misses nothing and gets nothing twice, also after
// a restart, wherever it stopped.
func TestWatchSpecsResumesOverARestart(t *testing.T) {
	path := filepath.Join(t.TempDir(), "kept.db")
	var all []*pb.WatchSpecsResponse
	t.Run("before", func(t *testing.T) {
		b := newBench(t, withDB(openFile(t, path)))
		w := b.watch(t, &pb.WatchSpecsRequest{})
		for range 5 {
			all = append(all, w.next())
		}
	})
	b := newBench(t, withDB(openFile(t, path)), withSheets(nil))
	b.publish(t, tarnSheet(t, 1, unchanged))
	if _, err := b.specs.WithdrawSpecRevision(t.Context(), &pb.WithdrawSpecRevisionRequest{Name: "specs/" + tarn + "/revisions/1", Reason: "Wrong."}); err != nil {
		t.Fatal(err)
	}
	for i := range all {
		w := b.watch(t, &pb.WatchSpecsRequest{ResumeToken: all[i].GetResumeToken()})
		for _, want := range all[i+1:] {
			if c := w.next(); !proto.Equal(c, want) {
				t.Errorf("from %d: got %v, want %v", i, c, want)
			}
		}
		for _, want := range []string{"PUBLISHED specs/" + tarn + "/revisions/1", "WITHDRAWN specs/" + tarn + "/revisions/1"} {
			if c := w.next(); say(c) != want {
				t.Errorf("from %d: got %s, want %s", i, say(c), want)
			}
		}
		w.cancel()
	}
}

func TestWatchSpecsRefused(t *testing.T) {
	b := newBench(t)
	other := newBench(t, withSheets(nil))
	other.publish(t, tarnSheet(t, 1, unchanged))
	foreign := other.watch(t, &pb.WatchSpecsRequest{}).next().GetResumeToken()
	w := b.watch(t, &pb.WatchSpecsRequest{})
	last := ""
	for range 5 {
		last = w.next().GetResumeToken()
	}
	p, err := decodeResumeToken(last)
	if err != nil {
		t.Fatal(err)
	}
	ahead := sampleChange()
	ahead.Position = p.position + 1
	for name, tc := range map[string]struct{ token, reason string }{
		"noise":             {"zzz", reasonResumeToken},
		"another version":   {"2" + last[1:], reasonResumeToken},
		"a page token":      {encodePageToken("specs ", rill), reasonResumeToken},
		"another store":     {foreign, reasonResumeToken},
		"not there yet":     {encodeResumeToken(ahead), reasonResumeToken},
		"far ahead":         {encodeResumeToken(sampleChange()), reasonResumeToken},
		"too long":          {strings.Repeat("1", 129), "string.max_len"},
		"cut off by a copy": {last[:len(last)-2], reasonResumeToken},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := b.watch(t, &pb.WatchSpecsRequest{ResumeToken: tc.token}).stream.Recv()
			wantStatus(t, err, codes.InvalidArgument, tc.reason, "resume_token")
		})
	}
	t.Run("unreadable", func(t *testing.T) {
		stream, err := b.conn.NewStream(t.Context(), &grpc.StreamDesc{ServerStreams: true},
			pb.SpecService_WatchSpecs_FullMethodName, grpc.ForceCodec(rawCodec{}))
		if err != nil {
			t.Fatal(err)
		}
		noise := []byte{0x0a, 0xff, 0xff}
		if err := errors.Join(stream.SendMsg(&noise), stream.CloseSend()); err != nil {
			t.Fatal(err)
		}
		wantStatus(t, stream.RecvMsg(&emptypb.Empty{}), codes.InvalidArgument, reasonRequestUnreadable, "")
	})
	if got := b.counter(t, "snapgauge_grpc_requests_total", "InvalidArgument"); got != 9 {
		t.Errorf("got %v refused streams counted, want 9", got)
	}
}

// Streams do not keep the service from ending, and say that it does.
func TestWatchSpecsEndsAtShutdown(t *testing.T) {
	b := newBench(t)
	w := b.watch(t, &pb.WatchSpecsRequest{})
	for range 5 {
		w.next()
	}
	ctx, cancel := context.WithTimeout(t.Context(), 10*time.Second)
	defer cancel()
	if err := b.server.Shutdown(ctx); err != nil {
		t.Errorf("got %v, want the stream to end by itself", err)
	}
	_, err := w.stream.Recv()
	wantStatus(t, err, codes.Unavailable, "", "")
}

// A caller who does not read keeps nobody waiting, and misses nothing.
func TestWatchSpecsOfASlowCaller(t *testing.T) {
	b := newBench(t, withSheets(nil))
	slow := b.watch(t, &pb.WatchSpecsRequest{IncludeSheets: true})
	quick := b.watch(t, &pb.WatchSpecsRequest{})
	const revisions = 60
	note := strings.Repeat("Changed. ", 100)
	for n := range int32(revisions) {
		r := b.publish(t, tarnSheet(t, n+1, func(s *pb.SpecSheet) {
			s.Cautions = append(s.Cautions, fmt.Sprint(n), note)
			for range 20 { // more than one stream may have under way
				s.Cautions = append(s.Cautions, note)
			}
		}))
		if c := quick.next(); c.GetSpecRevision().GetName() != r.GetName() {
			t.Fatalf("got %s, want %s", say(c), r.GetName())
		}
	}
	for n := range int32(revisions) {
		if c := slow.next(); c.GetSpecRevision().GetRevision() != n+1 || c.GetSheet().GetRevision() != n+1 {
			t.Fatalf("got %s, want revision %d", say(c), n+1)
		}
	}
}

// The end of the client's own wish is no fault.
func TestWatchSpecsUntilTheDeadline(t *testing.T) {
	b := newBench(t)
	ctx, cancel := context.WithTimeout(t.Context(), 100*time.Millisecond)
	defer cancel()
	stream, err := b.specs.WatchSpecs(ctx, &pb.WatchSpecsRequest{})
	if err != nil {
		t.Fatal(err)
	}
	for err == nil {
		_, err = stream.Recv()
	}
	if errors.Is(err, io.EOF) {
		t.Error("the stream ended by itself")
	}
	wantStatus(t, err, codes.DeadlineExceeded, "", "")
}

// Who waits for the next change knows that the token was taken.
func TestWatchSpecsAnswersAtOnce(t *testing.T) {
	b := newBench(t, withSheets(nil))
	stream, err := b.specs.WatchSpecs(t.Context(), &pb.WatchSpecsRequest{})
	if err != nil {
		t.Fatal(err)
	}
	if header, err := stream.Header(); err != nil || header == nil {
		t.Errorf("got header %v and %v", header, err)
	}
}
