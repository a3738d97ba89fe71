package catalogue

import (
	"context"
	"errors"
	"fmt"
	"sync"
	"sync/atomic"
	"testing"
	"testing/synctest"
	"time"

	"pgregory.net/rapid"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/spec"
	"github.com/snapgauge/snapgauge/service/store"
	"github.com/snapgauge/snapgauge/service/store/storetest"
)

func TestEnginesAreBoundedAndMadeOnce(t *testing.T) {
	t.Parallel()
	model := storetest.NewModel()
	for n := range 5 {
		fill(t, model, sheet(n, 1, 1))
	}
	link := &faulty{SpecStore: model}
	c := open(t, link, Config{MaxEngines: 2})
	read := link.count("Spec")
	var wait sync.WaitGroup
	engines := make([]any, 50)
	for i := range engines {
		wait.Go(func() {
			e, err := c.Engine(context.Background(), storetest.SpecID(0), 1)
			if err != nil {
				t.Error(err)
			}
			engines[i] = e
		})
	}
	wait.Wait()
	for _, e := range engines {
		if e != engines[0] {
			t.Fatal("got two engines of one revision")
		}
	}
	if n := link.count("Spec") - read; n != 1 {
		t.Errorf("the sheet was read %d times, wanted once", n)
	}
	for n := range 5 {
		e, err := c.Engine(context.Background(), storetest.SpecID(n), 1)
		if err != nil || e.Revision().SpecID() != storetest.SpecID(n) {
			t.Fatalf("%d: error %v", n, err)
		}
		if kept := c.Stats().Engines; kept > 2 || c.sheets.len() > 2 {
			t.Fatalf("%d engines and %d sheets are kept, wanted 2 at most", kept, c.sheets.len())
		}
	}
	// The last two are there, the others are read again.
	for _, test := range []struct {
		n    int
		want int64
	}{{4, 0}, {3, 0}, {0, 1}, {3, 0}, {1, 1}} {
		read := link.count("Spec")
		if _, err := c.Engine(context.Background(), storetest.SpecID(test.n), 1); err != nil {
			t.Fatal(err)
		}
		if got := link.count("Spec") - read; got != test.want {
			t.Errorf("spec %d was read %d times, wanted %d", test.n, got, test.want)
		}
	}
	r, err := c.Revision(context.Background(), storetest.SpecID(1), 1)
	if err != nil || r.SpecID() != storetest.SpecID(1) {
		t.Errorf("got %v, error %v", r, err)
	}
}

// TestCacheAgainstModel holds the cache to a list of keys.
func TestCacheAgainstModel(t *testing.T) {
	t.Parallel()
	errForGood, errPassing := errors.New("for good"), errors.New("passing")
	rapid.Check(t, func(t *rapid.T) {
		limit := rapid.IntRange(1, 4).Draw(t, "limit")
		c := newCache[string](limit)
		var kept []string // last used first
		use := func(key string) (there bool) {
			for i, k := range kept {
				if k == key {
					kept, there = append(kept[:i:i], kept[i+1:]...), true
					break
				}
			}
			kept = append([]string{key}, kept...)
			kept = kept[:min(limit, len(kept))]
			return there
		}
		for range 30 {
			key := rapid.SampledFrom([]string{"a", "b", "c", "d", "e", "good", "passing"}).Draw(t, "key")
			made := 0
			value, there, err := c.get(context.Background(), key, func(f func()) error { go f(); return nil },
				func(err error) bool { return err == errForGood },
				func() (string, error) {
					made++
					switch key {
					case "good":
						return "", errForGood
					case "passing":
						return "", errPassing
					}
					return "value of " + key, nil
				})
			switch key {
			case "passing":
				if there || made != 1 || err != errPassing {
					t.Fatalf("got %q, there %t, made %d times, error %v", value, there, made, err)
				}
				continue
			case "good":
				if err != errForGood {
					t.Fatalf("got error %v", err)
				}
			default:
				if err != nil || value != "value of "+key {
					t.Fatalf("got %q, error %v", value, err)
				}
			}
			if want := use(key); there != want || made == 1 == want || c.len() != len(kept) {
				t.Fatalf("%s: there %t, made %d times, %d kept; wanted there %t, %d kept", key, there, made, c.len(), want, len(kept))
			}
		}
	})
}

// TestUnfit stores what cannot be used: it harms nobody else.
func TestUnfit(t *testing.T) {
	t.Parallel()
	model := storetest.NewModel()
	bad := sheet(2, 1, 1)
	bad.Rules = append(bad.Rules, &pb.Rule{Id: "broken", Expression: "nothing >", Severity: pb.Severity_SEVERITY_FUNCTION}) // the store does not look
	old := sheet(5, 1, 1)
	old.Characteristics[0].Source = ""   // which publishing refuses today
	old.Examples = []*pb.SetupRecord{{}} // which disagrees with everything
	fill(t, model, sheet(1, 1, 1), sheet(1, 2, 2), bad, sheet(3, 1, 1), old)
	link := &corrupt{faulty: faulty{SpecStore: model}}
	link.name.Store("specs/tarn-1-2026-eu/revisions/2")
	c := open(t, link, Config{})
	ctx := context.Background()
	judge := func(n int) error { _, _, err := c.Judge(ctx, about(n)); return err }
	var unfit *UnfitError
	var sheetError *spec.SheetError
	if err := judge(5); err != nil {
		t.Errorf("published before sources were required: got %v, wanted it in force still", err)
	}
	if err := judge(3); err != nil {
		t.Errorf("got %v", err)
	}
	if err := judge(2); !errors.As(err, &unfit) || !errors.As(err, &sheetError) || unfit.Name != "specs/tarn-2-2026-eu/revisions/1" {
		t.Errorf("got %v, wanted an UnfitError with what is wrong", err)
	}
	read := link.count("Spec")
	if err := judge(2); !errors.As(err, &unfit) || link.count("Spec") != read {
		t.Errorf("got %v after %d reads, wanted it remembered", err, link.count("Spec")-read)
	}
	// The corrupt one is in force; the one before it must not take its place.
	if err := judge(1); !errors.As(err, &unfit) || !errors.Is(err, store.ErrCorrupt) {
		t.Errorf("got %v, wanted an UnfitError for corruption", err)
	}
	q := about(1)
	q.AsOf = day0(1)
	if choice, _, err := c.Judge(ctx, q); err != nil || choice.Revision != 1 {
		t.Errorf("got %+v, error %v", choice, err)
	}
	// It could be the one for any VIN, so that no other is chosen for certain.
	fill(t, model, running(4, 1, 2, "", serial(4999)))
	if err := c.Level(ctx); err != nil {
		t.Fatal(err)
	}
	var ambiguous *AmbiguousError
	if err := judge(1); !errors.As(err, &ambiguous) {
		t.Errorf("got %v, wanted an AmbiguousError", err)
	}
	if _, err := c.Withdraw(ctx, storetest.SpecID(4), 1, "misprint"); err != nil {
		t.Fatal(err)
	}
	link.name.Store("") // mended
	if err := judge(1); err != nil {
		t.Errorf("mended: %v", err)
	}
}

// corrupt is a store of which one revision is corrupt.
type corrupt struct {
	faulty
	name atomic.Value
}

func (s *corrupt) Spec(ctx context.Context, specID string, revision int) (store.PublishedSpec, error) {
	if s.name.Load() == store.RevisionName(specID, revision) {
		return store.PublishedSpec{}, fmt.Errorf("%w: digest", store.ErrCorrupt)
	}
	return s.faulty.Spec(ctx, specID, revision)
}

// TestLoading has those who wait for an engine give up, the store fail, and
// changes come while an engine is made.
func TestLoading(t *testing.T) {
	t.Parallel()
	synctest.Test(t, func(t *testing.T) {
		model := storetest.NewModel()
		fill(t, model, sheet(1, 1, 1), sheet(1, 2, 2), sheet(3, 1, 1))
		link := &faulty{SpecStore: model}
		c := open(t, link, Config{})
		slow := func(ctx context.Context, method string) error {
			if method == "Spec" {
				time.Sleep(3 * time.Second)
			}
			return nil
		}
		link.set(slow)
		ctx, cancel := context.WithTimeout(context.Background(), time.Second)
		defer cancel()
		if _, err := c.Engine(ctx, storetest.SpecID(1), 1); err != context.DeadlineExceeded {
			t.Errorf("got %v, wanted the caller's error", err)
		}
		read := link.count("Spec")
		if _, err := c.Engine(context.Background(), storetest.SpecID(1), 1); err != nil || link.count("Spec") != read {
			t.Errorf("got %v after %d reads, wanted what was begun for another", err, link.count("Spec")-read)
		}
		// Withdrawn while the engine is made: the choice is made again.
		go func() {
			time.Sleep(time.Second)
			if _, err := model.WithdrawSpec(context.Background(), storetest.SpecID(1), 2, "misprint", time.Now()); err != nil {
				t.Error(err)
			}
		}()
		choice, engine, err := c.Judge(context.Background(), about(1))
		if err != nil || choice.Revision != 1 || engine.Revision().Number() != 1 {
			t.Errorf("got %+v, error %v, wanted revision 1", choice, err)
		}
		var load *LoadError
		link.set(func(ctx context.Context, method string) error {
			if method == "Spec" {
				return hang(ctx, method)
			}
			return nil
		})
		began := time.Now()
		if _, err := c.Revision(context.Background(), storetest.SpecID(3), 1); !errors.As(err, &load) || time.Since(began) != 10*time.Second {
			t.Errorf("got %v after %v, wanted a LoadError", err, time.Since(began))
		}
		if errors.Is(err, context.DeadlineExceeded) {
			t.Errorf("%v looks like the caller's", err)
		}
		link.set(down)
		if _, err := c.Engine(context.Background(), storetest.SpecID(3), 1); !errors.As(err, &load) || !errors.Is(err, errDown) {
			t.Errorf("got %v, wanted a LoadError", err)
		}
		link.set(nil)
		if _, err := c.Engine(context.Background(), storetest.SpecID(3), 1); err != nil {
			t.Errorf("afterwards: %v", err)
		}
		// Closing frees those who wait.
		fill(t, model, sheet(2, 1, 1))
		time.Sleep(2 * time.Second)
		if _, err := c.InForce(context.Background(), about(2)); err != nil {
			t.Fatal(err)
		}
		link.set(hang)
		done := make(chan error)
		go func() { _, err := c.Engine(context.Background(), storetest.SpecID(2), 1); done <- err }()
		synctest.Wait()
		c.Close()
		if err := <-done; err != ErrClosed {
			t.Errorf("got %v, wanted ErrClosed", err)
		}
		if _, err := c.Engine(context.Background(), storetest.SpecID(2), 1); err != ErrClosed {
			t.Errorf("got %v, wanted ErrClosed", err)
		}
		time.Sleep(2 * time.Second)
		if _, err := c.InForce(context.Background(), about(2)); err != ErrClosed {
			t.Errorf("got %v, wanted ErrClosed", err)
		}
	})
}
