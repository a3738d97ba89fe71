package catalogue

import (
	"context"
	"errors"
	"math/rand/v2"
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"github.com/snapgauge/snapgauge/service/store"
	"github.com/snapgauge/snapgauge/service/store/storetest"
)

// TestWatch follows the changes of two replicas with breaks at random places, and
// as slowly as that what it needs is no longer held.
func TestWatch(t *testing.T) {
	t.Parallel()
	const specs, revisions = 4, 40
	model := storetest.NewModel()
	link := &faulty{SpecStore: model}
	a, b := open(t, model, Config{}), open(t, link, Config{Poll: 5 * time.Millisecond})
	b.index.keep = 8
	follow(t, a)
	follow(t, b)
	ctx, cancel := context.WithTimeout(context.Background(), time.Minute)
	defer cancel()
	var wait sync.WaitGroup
	for n := range specs {
		wait.Go(func() {
			c := []*Catalogue{a, b}[n%2]
			for revision := 1; revision <= revisions; revision++ {
				publish(failLater{t}, c, sheet(n, revision, revision))
				if _, err := c.Withdraw(ctx, storetest.SpecID(n), revision, "misprint"); err != nil {
					t.Error(err)
				}
			}
		})
	}
	const all = specs * revisions * 2
	want := make([]store.Change, 0, all)
	got := make([][]store.Change, 6)
	for i := range got {
		wait.Go(func() {
			c := []*Catalogue{a, b}[i%2]
			random := rand.New(rand.NewPCG(uint64(i), 0))
			after := int64(0)
			for after < all {
				left := random.IntN(40) // until a break
				for change, err := range c.Watch(ctx, after) {
					if err != nil {
						t.Error(err)
						return
					}
					if change.Position != after+1 {
						t.Errorf("got position %d after %d", change.Position, after)
						return
					}
					// Whoever is told is answered by it.
					h, err := c.ByNumber(change.SpecID, change.Revision)
					if err != nil || change.Kind == store.Withdrawn && h.Withdrawn == nil {
						t.Errorf("position %d: got %+v, error %v", change.Position, h, err)
						return
					}
					got[i] = append(got[i], change)
					after = change.Position
					if i >= 4 {
						time.Sleep(time.Millisecond)
					}
					if left--; left < 0 || after == all {
						break
					}
				}
			}
		})
	}
	wait.Wait()
	for after := int64(0); ; {
		page, err := model.SpecChanges(ctx, after, 100)
		if err != nil {
			t.Fatal(err)
		}
		if len(page) == 0 {
			break
		}
		want = append(want, page...)
		after += int64(len(page))
	}
	for i := range got {
		if len(got[i]) != len(want) {
			t.Fatalf("watcher %d got %d changes, wanted %d", i, len(got[i]), len(want))
		}
		for j := range want {
			if got[i][j] != want[j] {
				t.Fatalf("watcher %d: got %+v, wanted %+v", i, got[i][j], want[j])
			}
		}
	}
	if n := len(b.index.recent); n > 16 {
		t.Errorf("%d changes are held, wanted 16 at most", n)
	}
}

// failLater is a test whose failures do not end the goroutine.
type failLater struct{ *testing.T }

func (f failLater) Fatalf(format string, args ...any) { f.Errorf(format, args...) }

func TestWatchEnds(t *testing.T) {
	t.Parallel()
	synctest.Test(t, func(t *testing.T) {
		model := storetest.NewModel()
		fill(t, model, sheet(1, 1, 1))
		link := &faulty{SpecStore: model}
		c := open(t, link, Config{})
		c.index.keep = 1
		first := func(ctx context.Context, after int64) (store.Change, error) {
			for change, err := range c.Watch(ctx, after) {
				return change, err
			}
			return store.Change{}, errors.New("ended without an error")
		}
		ctx := context.Background()
		if _, err := first(ctx, -1); !errors.Is(err, store.ErrInvalidQuery) {
			t.Errorf("below nought: got %v", err)
		}
		var beyond *PositionError
		if _, err := first(ctx, 2); !errors.As(err, &beyond) || beyond.Head != 1 {
			t.Errorf("beyond the head: got %v", err)
		}
		// What another replica has applied, this one finds when it is asked.
		fill(t, model, sheet(1, 2, 2), sheet(1, 3, 3))
		short, cancel := context.WithTimeout(ctx, time.Second)
		defer cancel()
		if _, err := first(short, 2); err != nil {
			t.Errorf("a position that only the store has: %v", err)
		}
		if _, err := first(short, 3); err != context.DeadlineExceeded {
			t.Errorf("got %v, wanted the caller's error", err)
		}
		link.set(down)
		if _, err := first(ctx, 0); !errors.Is(err, errDown) {
			t.Errorf("without the store: got %v", err)
		}
		if change, err := first(ctx, 2); err != nil || change.Position != 3 {
			t.Errorf("what is held, without the store: got %+v, error %v", change, err)
		}
		var stale *StaleError
		if _, err := first(ctx, 4); !errors.As(err, &stale) {
			t.Errorf("a position beyond, without the store: got %v", err)
		}
		link.set(hang)
		if _, err := first(ctx, 0); err == nil || errors.Is(err, context.DeadlineExceeded) {
			t.Errorf("with the store hanging: got %v", err)
		}
		done := make(chan error, 2)
		go func() { _, err := first(ctx, 0); done <- err }()
		go func() { _, err := first(ctx, 3); done <- err }()
		synctest.Wait()
		c.Close()
		for range 2 {
			if err := <-done; err != ErrClosed {
				t.Errorf("closed: got %v", err)
			}
		}
	})
}
