package server

import (
	"context"
	"path/filepath"
	"sync/atomic"
	"testing"
	"time"

	"google.golang.org/protobuf/types/known/timestamppb"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/store"
)

// slowStore takes its time over one revision: it says when it was asked, and
// answers when it may.
type slowStore struct {
	store.DB
	revision *atomic.Int32 // nought: none
	asked    chan struct{}
	answer   chan struct{}
}

func (s slowStore) Spec(ctx context.Context, specID string, revision int) (store.PublishedSpec, error) {
	if s.revision.Load() == int32(revision) {
		s.asked <- struct{}{}
		<-s.answer
		time.Sleep(2 * longLoad)
	}
	return s.DB.Spec(ctx, specID, revision)
}

// A sheet that is withdrawn while it is loaded is not answered by.
func TestWithdrawnWhileItIsLoaded(t *testing.T) {
	asOf := timestamppb.New(time.Date(2026, 6, 1, 0, 0, 0, 0, time.UTC))
	name := "specs/" + rill + "/revisions/"
	for label, call := range map[string]func(*bench) (string, error){
		"ValidateSetup": func(b *bench) (string, error) {
			resp, err := b.setups.ValidateSetup(t.Context(), &pb.ValidateSetupRequest{Record: goodRecord(), AsOfTime: asOf})
			return resp.GetReport().GetSpecRevision(), err
		},
		"PlanSetup": func(b *bench) (string, error) {
			resp, err := b.setups.PlanSetup(t.Context(), &pb.PlanSetupRequest{Model: "rill", Market: "EU", AsOfTime: asOf})
			return resp.GetPlan().GetSpecRevision(), err
		},
		"GetSpec": func(b *bench) (string, error) {
			resp, err := b.specs.GetSpec(t.Context(), &pb.GetSpecRequest{Name: "specs/" + rill, AsOfTime: asOf})
			return resp.GetSpecRevision().GetName(), err
		},
	} {
		t.Run(label, func(t *testing.T) {
			path := filepath.Join(t.TempDir(), "shared.db")
			first := newBench(t, withDB(openFile(t, path)))
			slow := slowStore{openFile(t, path), &atomic.Int32{}, make(chan struct{}), make(chan struct{})}
			b := newBench(t, withDB(slow), withSheets(nil))
			slow.revision.Store(2)
			type answer struct {
				revision string
				err      error
			}
			answered := make(chan answer, 1)
			go func() {
				revision, err := call(b)
				answered <- answer{revision, err}
			}()
			<-slow.asked
			if _, err := first.live.Withdraw(t.Context(), rill, 2, "Wrong."); err != nil {
				t.Fatal(err)
			}
			eventually(t, "the other server knows", func() bool { return b.live.Position() == first.live.Position() })
			close(slow.answer)
			if a := <-answered; a.err != nil || a.revision != name+"1" {
				t.Errorf("got %s and %v, want revision 1", a.revision, a.err)
			}
		})
	}
}

// The first instant that a stamp can say is one, and not the end of time.
func TestInstantOf(t *testing.T) {
	if got := instantOf(nil); !got.IsZero() {
		t.Errorf("of nothing: got %v", got)
	}
	first := &timestamppb.Timestamp{Seconds: -62135596800}
	if got := instantOf(first); got.IsZero() || got.Sub(first.AsTime()) > time.Microsecond {
		t.Errorf("of the first: got %v", got)
	}
	if got := instantOf(timestamppb.New(testNow)); !got.Equal(testNow) {
		t.Errorf("got %v, want %v", got, testNow)
	}
}
