package catalogue

import (
	"bytes"
	"context"
	"errors"
	"log/slog"
	"maps"
	"path/filepath"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"testing/synctest"
	"time"

	"google.golang.org/protobuf/types/known/timestamppb"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/gauge"
	"github.com/snapgauge/snapgauge/service/store"
	"github.com/snapgauge/snapgauge/service/store/sqlite"
	"github.com/snapgauge/snapgauge/service/store/storetest"
)

// record is one that can be judged by a [storetest.Sheet].
func record(n int) *pb.SetupRecord {
	return &pb.SetupRecord{
		Unit:       &pb.Unit{Vin: unit, Model: about(n).Model, ModelYear: 2026, Market: "EU"},
		Phase:      pb.Phase_PHASE_PRE_DELIVERY,
		StartTime:  timestamppb.New(day0(999)),
		FinishTime: timestamppb.New(day0(999)),
	}
}

// serverPairs opens two stores over one database of a server, where this system
// has one.
var serverPairs map[string]func(t *testing.T) (a, b store.SpecStore)

// TestTwoReplicas changes specs on one replica while the other judges. The other
// is held to what it promises: an answer that was asked for more than MaxStale
// after a change has it in it, or is refused.
func TestTwoReplicas(t *testing.T) {
	t.Parallel()
	pairs := map[string]func(t *testing.T) (a, b store.SpecStore){
		// A second handle sees no signals, as a second process.
		"SQLite": func(t *testing.T) (a, b store.SpecStore) {
			path := filepath.Join(t.TempDir(), "specs.db")
			var handles [2]*sqlite.Store
			for i := range handles {
				s, err := sqlite.Open(context.Background(), path)
				if err != nil {
					t.Fatal(err)
				}
				t.Cleanup(func() { _ = s.Close() })
				handles[i] = s
			}
			return handles[0], handles[1]
		},
		// A second Model over the same data sees signals, as PostgreSQL gives them.
		"Signals": func(t *testing.T) (a, b store.SpecStore) {
			m := storetest.NewModel()
			return m, m.Reopen()
		},
	}
	maps.Copy(pairs, serverPairs)
	for name, two := range pairs {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			onA, onB := two(t)
			a, b := open(t, onA, Config{CallTimeout: time.Minute}), open(t, onB, Config{CallTimeout: time.Minute})
			follow(t, a)
			follow(t, b)
			publish(t, a, sheet(1, 1, 1))
			ctx, cancel := context.WithCancel(context.Background())
			defer cancel()
			var due atomic.Int64 // the newest revision that b must judge by
			due.Store(1)
			var judged, refused atomic.Int64
			var wait sync.WaitGroup
			begin := time.Now()
			for range 4 {
				wait.Go(func() {
					for ctx.Err() == nil {
						want := due.Load()
						choice, engine, err := b.Judge(ctx, about(1))
						var stale *StaleError
						switch {
						case ctx.Err() != nil:
							return
						case errors.As(err, &stale):
							refused.Add(1)
							continue
						case err != nil:
							if time.Since(begin) > time.Second { // before, it need not know the spec
								t.Error(err)
								return
							}
							continue
						case int64(choice.Revision) < want:
							t.Errorf("judged by revision %d when %d was due", choice.Revision, want)
							return
						}
						if _, err := engine.Gauge(record(1), gauge.Options{AsOf: day0(1000)}); err != nil {
							t.Error(err)
							return
						}
						judged.Add(1)
					}
				})
			}
			rounds := 6
			if testing.Short() {
				rounds = 2
			}
			var slowest time.Duration
			for revision := int64(2); revision < int64(rounds+2); revision++ {
				publish(t, a, sheet(1, int(revision), int(revision)))
				if _, err := a.Withdraw(ctx, storetest.SpecID(1), int(revision)-1, "misprint"); err != nil {
					t.Fatal(err)
				}
				made := time.Now()
				time.AfterFunc(time.Second+time.Millisecond, func() {
					for {
						was := due.Load()
						if was >= revision || due.CompareAndSwap(was, revision) {
							return
						}
					}
				})
				for {
					choice, err := b.InForce(ctx, about(1))
					if err == nil && choice.Revision == int(revision) {
						break
					}
					if time.Since(made) > 30*time.Second {
						t.Fatalf("revision %d did not arrive: %+v, %v", revision, choice, err)
					}
					time.Sleep(time.Millisecond)
				}
				slowest = max(slowest, time.Since(made))
			}
			time.Sleep(1100 * time.Millisecond) // the last one is due
			cancel()
			wait.Wait()
			t.Logf("slowest of %d changes: %v; %d judged, %d refused", rounds, slowest, judged.Load(), refused.Load())
			if judged.Load() == 0 {
				t.Error("nothing was judged")
			}
		})
	}
}

// TestPropagation has a clock of its own: with signals a change is there at once,
// without them at the next poll.
func TestPropagation(t *testing.T) {
	t.Parallel()
	for name, test := range map[string]struct {
		link   func(context.Context, string) error
		within time.Duration
	}{
		"Signals": {nil, 0},
		"Poll": {func(_ context.Context, method string) error {
			if method == "WatchSpecHead" {
				return errDown
			}
			return nil
		}, 250 * time.Millisecond},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			synctest.Test(t, func(t *testing.T) {
				model := storetest.NewModel()
				link := &faulty{SpecStore: model}
				link.set(test.link)
				c := open(t, link, Config{})
				stop := follow(t, c)
				for n := range 20 {
					time.Sleep(time.Duration(n*37) * time.Millisecond)
					fill(t, model, sheet(n, 1, 1))
					made := time.Now()
					for {
						synctest.Wait()
						if _, err := c.ByNumber(storetest.SpecID(n), 1); err == nil {
							break
						}
						time.Sleep(time.Millisecond)
					}
					if took := time.Since(made); took > test.within {
						t.Errorf("change %d took %v, wanted %v at most", n, took, test.within)
					}
				}
				stop()
				c.Close()
			})
		})
	}
}

// TestOpensMany reads more changes than one page has, with a store that fails
// once and is then asked again.
func TestOpensMany(t *testing.T) {
	t.Parallel()
	model := storetest.NewModel()
	for n := range 150 {
		fill(t, model, sheet(n, 1, 1), sheet(n, 2, 2), sheet(n, 3, 3))
		if _, err := model.WithdrawSpec(context.Background(), storetest.SpecID(n), 2, "misprint", day0(9)); err != nil {
			t.Fatal(err)
		}
	}
	link := &faulty{SpecStore: model}
	var calls atomic.Int64
	link.set(func(_ context.Context, method string) error {
		if method == "Spec" && calls.Add(1) == 300 {
			return errDown
		}
		return nil
	})
	if c, err := Open(context.Background(), link, Config{}); !errors.Is(err, errDown) || c != nil {
		t.Fatalf("got %v, wanted the store's error", err)
	}
	c := open(t, link, Config{})
	if c.Position() != 600 || len(c.SpecIDs()) != 150 {
		t.Errorf("got position %d, %d specs", c.Position(), len(c.SpecIDs()))
	}
	for n := range 150 {
		q := about(n)
		q.AsOf = day0(2)
		if choice, err := c.InForce(context.Background(), q); err != nil || choice.Revision != 1 {
			t.Fatalf("got %+v, error %v", choice, err)
		}
	}
	// Following, a page that cannot be read whole is applied as far as it can.
	for n := range 20 {
		fill(t, model, sheet(1000+n, 1, 1))
	}
	link.set(func(_ context.Context, method string) error {
		if method == "Spec" && calls.Add(1)%7 == 0 {
			return errDown
		}
		return nil
	})
	for range 100 {
		if err := c.Level(context.Background()); err == nil {
			break
		}
		time.Sleep(retryPause)
	}
	if c.Position() != 620 {
		t.Errorf("got position %d, wanted 620", c.Position())
	}
	cancelled, cancel := context.WithCancel(context.Background())
	cancel()
	if _, err := Open(cancelled, model, Config{}); err != context.Canceled {
		t.Errorf("got %v, wanted the context's error", err)
	}
}

// TestLife ends everything in every order; a bubble with a goroutine left fails.
func TestLife(t *testing.T) {
	t.Parallel()
	for name, end := range map[string]func(c *Catalogue, cancel func()){
		"CloseAlone":      func(c *Catalogue, _ func()) { c.Close() },
		"CancelThenClose": func(c *Catalogue, cancel func()) { cancel(); c.Close() },
		"CloseTwice":      func(c *Catalogue, _ func()) { go c.Close(); c.Close() },
	} {
		for linkName, fault := range map[string]func(context.Context, string) error{"Well": nil, "Hanging": hang, "Down": down} {
			t.Run(name+linkName, func(t *testing.T) {
				t.Parallel()
				synctest.Test(t, func(t *testing.T) {
					link := &faulty{SpecStore: storetest.NewModel()}
					c := open(t, link, Config{})
					link.set(fault)
					ctx, cancel := context.WithCancel(context.Background())
					defer cancel()
					done := make(chan error, 2)
					go func() { done <- c.Run(ctx) }()
					go func() {
						for _, err := range c.Watch(ctx, 0) {
							done <- err
						}
					}()
					time.Sleep(3 * time.Second)
					end(c, cancel)
					for range 2 {
						if err := <-done; err != nil && err != ErrClosed && err != context.Canceled {
							t.Errorf("got %v", err)
						}
					}
					if err := c.Run(context.Background()); err != nil {
						t.Errorf("Run of what is closed: %v", err)
					}
				})
			})
		}
	}
}

// TestLog sees that losing the store is told once, and so is its return.
func TestLog(t *testing.T) {
	t.Parallel()
	synctest.Test(t, func(t *testing.T) {
		var buffer bytes.Buffer
		link := &faulty{SpecStore: storetest.NewModel()}
		c := open(t, link, Config{Log: slog.New(slog.NewTextHandler(&buffer, nil))})
		stop := follow(t, c)
		time.Sleep(time.Second)
		link.set(down)
		time.Sleep(5 * time.Second)
		link.set(nil)
		time.Sleep(5 * time.Second)
		stop()
		c.Close()
		lines := strings.Split(strings.TrimSpace(buffer.String()), "\n")
		if len(lines) != 2 || !strings.Contains(lines[0], "does not answer") || !strings.Contains(lines[1], "answers again") {
			t.Errorf("got\n%s", buffer.String())
		}
	})
}
