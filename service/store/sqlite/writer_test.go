package sqlite

import (
	"context"
	"errors"
	"path/filepath"
	"sync"
	"testing"

	"github.com/snapgauge/snapgauge/service/store"
	"github.com/snapgauge/snapgauge/service/store/internal/row"
	"github.com/snapgauge/snapgauge/service/store/storetest"
)

func jobOf(t *testing.T, ctx context.Context, setup store.Setup) *job {
	t.Helper()
	r, _, err := row.Encode(setup)
	if err != nil {
		t.Fatal(err)
	}
	return &job{ctx: ctx, op: &submission{row: r}, done: make(chan result, 1)}
}

// TestGroupFate commits a group by hand in which one row makes the database
// itself fail and one has been given up.
func TestGroupFate(t *testing.T) {
	t.Parallel()
	s := openAt(t, filepath.Join(t.TempDir(), "test.db"))
	ctx := context.Background()
	cancelled, cancel := context.WithCancel(ctx)
	cancel()
	group := []*job{
		jobOf(t, ctx, storetest.Small(0)),
		jobOf(t, ctx, storetest.Small(1)),
		jobOf(t, cancelled, storetest.Small(2)),
		jobOf(t, ctx, storetest.Small(3)),
		jobOf(t, ctx, storetest.Small(0)),
	}
	group[1].op.(*submission).row.Report = nil // NOT NULL
	s.writer.commit(group)
	results := make([]result, len(group))
	for i, j := range group {
		results[i] = <-j.done
	}
	for _, i := range []int{0, 3} {
		if results[i] != (result{}) {
			t.Errorf("%d: got %+v, wanted it stored", i, results[i])
		}
	}
	if err := results[1].err; err == nil || errors.Is(err, store.ErrIDTaken) {
		t.Errorf("1: got %v, wanted the database's error", err)
	}
	if err := results[2].err; err != context.Canceled {
		t.Errorf("2: got %v, wanted context.Canceled", err)
	}
	if want := (result{earlier: storetest.Small(0).ID, same: true}); results[4] != want {
		t.Errorf("4: got %+v, wanted %+v", results[4], want)
	}
	page, _, err := s.List(ctx, store.Query{Limit: 10})
	if err != nil || len(page) != 2 {
		t.Errorf("got %d set-ups, error %v, wanted 2", len(page), err)
	}
	// The writer is as good as new.
	if _, created, err := s.Submit(ctx, storetest.Small(9)); err != nil || !created {
		t.Errorf("after: created %t, error %v", created, err)
	}
}

// TestRollbackWithout rolls back where SQLite has done so by itself.
func TestRollbackWithout(t *testing.T) {
	t.Parallel()
	s := openAt(t, filepath.Join(t.TempDir(), "test.db"))
	if err := s.writer.stmts.rollback(); err != nil {
		t.Error(err)
	}
}

// TestGroups sees that waiting submits share commits.
func TestGroups(t *testing.T) {
	t.Parallel()
	s := openAt(t, filepath.Join(t.TempDir(), "test.db"))
	const submits = 400
	var wait sync.WaitGroup
	for i := range submits {
		wait.Go(func() {
			if _, _, err := s.Submit(context.Background(), storetest.Small(i)); err != nil {
				t.Error(err)
			}
		})
	}
	wait.Wait()
	if stats := s.Stats(); stats.Rows != submits || stats.Groups > submits/2 || stats.Groups < 2 {
		t.Errorf("got %+v, wanted %d rows in much fewer groups, none above %d", stats, submits, maxGroup)
	}
}
