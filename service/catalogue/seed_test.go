package catalogue

import (
	"context"
	"errors"
	"path/filepath"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/snapgauge/snapgauge/service/spec"
	"github.com/snapgauge/snapgauge/service/store"
	"github.com/snapgauge/snapgauge/service/store/sqlite"
	"github.com/snapgauge/snapgauge/service/store/storetest"
	"github.com/snapgauge/snapgauge/specs"
)

// demo returns the revisions of the demonstration sheets.
func demo(t testing.TB) []*spec.Revision {
	t.Helper()
	revisions, err := spec.Load(specs.FS)
	if err != nil {
		t.Fatal(err)
	}
	return revisions
}

func TestSeed(t *testing.T) {
	t.Parallel()
	revisions := demo(t)
	c := open(t, storetest.NewModel(), Config{})
	ctx := context.Background()
	if n, err := c.Seed(ctx, revisions); err != nil || n != len(revisions) {
		t.Fatalf("got %d, error %v, wanted %d", n, err, len(revisions))
	}
	position := c.Position()
	if n, err := c.Seed(ctx, revisions); err != nil || n != 0 || c.Position() != position {
		t.Errorf("again: got %d, error %v", n, err)
	}
	for _, r := range revisions {
		engine, err := c.Engine(ctx, r.SpecID(), r.Number())
		if err != nil || engine.Revision().Digest() != r.Digest() {
			t.Errorf("%s: %v", r.Name(), err)
		}
	}
	// What is withdrawn stays so, what was published besides is left alone.
	r := revisions[0]
	if _, err := c.Withdraw(ctx, r.SpecID(), r.Number(), "misprint"); err != nil {
		t.Fatal(err)
	}
	publish(t, c, sheet(1, 1, 1))
	if n, err := c.Seed(ctx, revisions); err != nil || n != 0 {
		t.Errorf("once more: got %d, error %v", n, err)
	}
	if h, err := c.ByNumber(r.SpecID(), r.Number()); err != nil || h.Withdrawn == nil {
		t.Errorf("got %+v, error %v, wanted it withdrawn", h, err)
	}
	if n, err := c.Seed(ctx, nil); err != nil || n != 0 {
		t.Errorf("nothing: got %d, error %v", n, err)
	}
}

func TestSeedConflict(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	other := sheet(1, 2, 2)
	other.ChangeNote = "Another content."
	for name, publishWhen := range map[string]func(before func()) func(context.Context, string) error{
		"Before": func(before func()) func(context.Context, string) error { before(); return nil },
		"Meanwhile": func(before func()) func(context.Context, string) error {
			once := sync.OnceFunc(before)
			return func(_ context.Context, method string) error {
				if method == "PublishSpec" {
					once()
				}
				return nil
			}
		},
	} {
		model := storetest.NewModel()
		fill(t, model, sheet(1, 1, 1))
		link := &faulty{SpecStore: model}
		c := open(t, link, Config{})
		link.set(publishWhen(func() { fill(t, model, other) }))
		seeds := []*spec.Revision{mustRevision(t, sheet(1, 3, 3)), mustRevision(t, sheet(1, 2, 2)), mustRevision(t, sheet(1, 1, 1))}
		_, err := c.Seed(ctx, seeds)
		var conflict *SeedConflictError
		if !errors.As(err, &conflict) || conflict.Name != "specs/tarn-1-2026-eu/revisions/2" || conflict.Seed != seeds[1].Digest() {
			t.Errorf("%s: got %v, wanted a SeedConflictError", name, err)
		}
	}
	// A number left out cannot be stored.
	c := open(t, storetest.NewModel(), Config{})
	if _, err := c.Seed(ctx, []*spec.Revision{mustRevision(t, sheet(1, 1, 1)), mustRevision(t, sheet(1, 3, 3))}); !errors.Is(err, store.ErrRevisionNumber) {
		t.Errorf("got %v, wanted ErrRevisionNumber", err)
	}
	if _, err := c.ByNumber(storetest.SpecID(1), 1); err == nil {
		t.Log("what was published before is known without being waited for")
	}
}

// TestSeedRaces lets several replicas seed one database at once, one of them with
// more, while somebody withdraws.
func TestSeedRaces(t *testing.T) {
	t.Parallel()
	var seeds []*spec.Revision
	for n := range 6 {
		for revision := range 5 {
			seeds = append(seeds, mustRevision(t, sheet(n, revision+1, revision)))
		}
	}
	for round := range 3 {
		path := filepath.Join(t.TempDir(), "specs.db")
		ctx, cancel := context.WithCancel(context.Background())
		var wait, withdrawing sync.WaitGroup
		var published atomic.Int64
		var last *Catalogue
		for replica := range 4 {
			s, err := sqlite.Open(ctx, path)
			if err != nil {
				t.Fatal(err)
			}
			t.Cleanup(func() { _ = s.Close() })
			c := open(t, s, Config{CallTimeout: time.Minute}) // busy as they are
			last = c
			wait.Go(func() {
				mine := seeds[:20]
				if replica == round {
					mine = seeds
				}
				n, err := c.Seed(ctx, mine)
				if err != nil {
					t.Errorf("replica %d: %v", replica, err)
				}
				published.Add(int64(n))
				for _, r := range mine {
					if h, err := c.ByNumber(r.SpecID(), r.Number()); err != nil || h.Digest != r.Digest() {
						t.Errorf("replica %d does not answer by %s: %v", replica, r.Name(), err)
					}
				}
			})
			if replica == 0 {
				withdrawing.Go(func() {
					for ctx.Err() == nil {
						for n := range 6 {
							_, _ = c.Withdraw(ctx, storetest.SpecID(n), 1, "misprint")
						}
					}
				})
			}
		}
		wait.Wait()
		cancel()
		withdrawing.Wait()
		if published.Load() != int64(len(seeds)) {
			t.Errorf("%d were published, wanted %d", published.Load(), len(seeds))
		}
		changes := storetest.CheckSpecs(t, last.store.(*sqlite.Store))
		if len(changes) < len(seeds) || len(changes) > len(seeds)+6 {
			t.Errorf("got %d changes", len(changes))
		}
	}
}
