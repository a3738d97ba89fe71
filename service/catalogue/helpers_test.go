package catalogue

import (
	"context"
	"errors"
	"fmt"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"google.golang.org/protobuf/types/known/timestamppb"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/spec"
	"github.com/snapgauge/snapgauge/service/store"
	"github.com/snapgauge/snapgauge/service/store/storetest"
)

// tester is what a test and a property of rapid have in common.
type tester interface {
	Helper()
	Errorf(format string, args ...any)
	Fatalf(format string, args ...any)
}

// unit is a machine that every [storetest.Sheet] covers.
const unit = "0VS0000A0T0000123"

// open opens a catalogue that is closed with the test.
func open(t testing.TB, s store.SpecStore, cfg Config) *Catalogue {
	t.Helper()
	c, err := Open(context.Background(), s, cfg)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(c.Close)
	return c
}

// follow runs a catalogue until the test ends, or the function that it returns
// is called.
func follow(t testing.TB, c *Catalogue) (stop func()) {
	t.Helper()
	ctx, cancel := context.WithCancel(context.Background())
	done := make(chan error, 1)
	go func() { done <- c.Run(ctx) }()
	stop = sync.OnceFunc(func() {
		cancel()
		if err := <-done; err != nil {
			t.Errorf("Run: %v", err)
		}
	})
	t.Cleanup(stop)
	return stop
}

func publish(t tester, c *Catalogue, sheet *pb.SpecSheet) *Head {
	t.Helper()
	etag := ""
	if history, err := c.History(sheet.GetSpecId()); err == nil {
		etag = history[0].Etag
	}
	h, created, err := c.Publish(context.Background(), sheet, etag, false)
	if err != nil || !created {
		t.Fatalf("publish %s: created %t, error %v", sheet.GetSpecId(), created, err)
	}
	return h
}

// fill publishes in a store, past any catalogue.
func fill(t tester, s store.SpecStore, sheets ...*pb.SpecSheet) {
	t.Helper()
	for _, sheet := range sheets {
		etag := ""
		if history, err := s.SpecHistory(context.Background(), sheet.GetSpecId()); err == nil {
			etag = history[0].Etag
		}
		p := store.PublishedSpec{Sheet: sheet, RecordedTime: sheet.GetEffectiveTime().AsTime().Add(-time.Hour)}
		if _, created, err := s.PublishSpec(context.Background(), p, etag); err != nil || !created {
			t.Fatalf("fill %s revision %d: created %t, error %v", sheet.GetSpecId(), sheet.GetRevision(), created, err)
		}
	}
}

func mustRevision(t tester, sheet *pb.SpecSheet) *spec.Revision {
	t.Helper()
	r, err := spec.NewRevision(sheet)
	if err != nil {
		t.Fatalf("%s: %v", sheet.GetSpecId(), err)
	}
	return r
}

// sheet is the [storetest.Sheet] with one characteristic, begun so many days
// after the first of March 2026.
func sheet(n, revision, day int) *pb.SpecSheet {
	s := storetest.Sheet(n, revision, 1)
	s.EffectiveTime = timestamppb.New(day0(day))
	return s
}

func day0(day int) time.Time {
	return time.Date(2026, 3, 1+day, 0, 0, 0, 0, time.UTC)
}

// about asks for the model of a [storetest.Sheet].
func about(n int) Query {
	return Query{Model: fmt.Sprintf("Tarn %d", n), ModelYear: 2026, Market: "EU", VIN: unit, AsOf: day0(1000)}
}

// errDown is how a store fails that is told to.
var errDown = errors.New("connection refused")

// faulty is a store that fails, hangs or is slow as it is told to, and counts.
type faulty struct {
	store.SpecStore
	before atomic.Pointer[func(ctx context.Context, method string) error]
	after  atomic.Pointer[func(ctx context.Context, method string) error]
	calls  sync.Map // method to *atomic.Int64
}

func (f *faulty) set(before func(ctx context.Context, method string) error) {
	if before == nil {
		f.before.Store(nil)
		return
	}
	f.before.Store(&before)
}

// setAfter is set for after what was asked was read.
func (f *faulty) setAfter(after func(ctx context.Context, method string) error) {
	if after == nil {
		f.after.Store(nil)
		return
	}
	f.after.Store(&after)
}

// slow takes so long.
func slow(d time.Duration) func(context.Context, string) error {
	return func(ctx context.Context, _ string) error {
		select {
		case <-time.After(d):
			return nil
		case <-ctx.Done():
			return ctx.Err()
		}
	}
}

// down fails at once.
func down(context.Context, string) error { return errDown }

// hang answers when the caller gives up.
func hang(ctx context.Context, _ string) error {
	<-ctx.Done()
	return ctx.Err()
}

func (f *faulty) count(method string) int64 {
	n, _ := f.calls.LoadOrStore(method, new(atomic.Int64))
	return n.(*atomic.Int64).Load()
}

func (f *faulty) call(ctx context.Context, method string) error {
	n, _ := f.calls.LoadOrStore(method, new(atomic.Int64))
	n.(*atomic.Int64).Add(1)
	if before := f.before.Load(); before != nil {
		return (*before)(ctx, method)
	}
	return nil
}

func (f *faulty) PublishSpec(ctx context.Context, p store.PublishedSpec, ifMatch string) (store.PublishedSpec, bool, error) {
	if err := f.call(ctx, "PublishSpec"); err != nil {
		return store.PublishedSpec{}, false, err
	}
	return f.SpecStore.PublishSpec(ctx, p, ifMatch)
}

func (f *faulty) WithdrawSpec(ctx context.Context, specID string, revision int, reason string, at time.Time) (store.Change, error) {
	if err := f.call(ctx, "WithdrawSpec"); err != nil {
		return store.Change{}, err
	}
	return f.SpecStore.WithdrawSpec(ctx, specID, revision, reason, at)
}

func (f *faulty) Spec(ctx context.Context, specID string, revision int) (store.PublishedSpec, error) {
	if err := f.call(ctx, "Spec"); err != nil {
		return store.PublishedSpec{}, err
	}
	return f.SpecStore.Spec(ctx, specID, revision)
}

func (f *faulty) SpecChanges(ctx context.Context, after int64, limit int) ([]store.Change, error) {
	if err := f.call(ctx, "SpecChanges"); err != nil {
		return nil, err
	}
	changes, err := f.SpecStore.SpecChanges(ctx, after, limit)
	if after := f.after.Load(); after != nil {
		if err := (*after)(ctx, "SpecChanges"); err != nil {
			return nil, err
		}
	}
	return changes, err
}

func (f *faulty) WatchSpecHead(ctx context.Context) (<-chan struct{}, error) {
	if err := f.call(ctx, "WatchSpecHead"); err != nil {
		return nil, err
	}
	return f.SpecStore.WatchSpecHead(ctx)
}
