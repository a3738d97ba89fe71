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

// TestCutOff takes the store away in several ways while a revision is withdrawn
// on another replica.
func TestCutOff(t *testing.T) {
	t.Parallel()
	for name, fault := range map[string]func(context.Context, string) error{
		"Down": down,
		"Hang": hang,
		"Slow": slow(900 * time.Millisecond),
		"Late": nil, // see below
		"HeadsOnly": func(ctx context.Context, method string) error {
			if method == "Spec" {
				return errDown
			}
			return hang(ctx, method)
		},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			synctest.Test(t, func(t *testing.T) {
				model := storetest.NewModel()
				fill(t, model, sheet(1, 1, 1), sheet(1, 2, 2))
				link := &faulty{SpecStore: model}
				c := open(t, link, Config{})
				stop := follow(t, c)
				time.Sleep(3 * time.Second)
				link.set(fault)
				if name == "Late" {
					// An answer is as old as it was when it was read.
					link.setAfter(slow(900 * time.Millisecond))
				}
				time.Sleep(300 * time.Millisecond)
				if _, err := model.WithdrawSpec(context.Background(), storetest.SpecID(1), 2, "misprint", time.Now()); err != nil {
					t.Fatal(err)
				}
				withdrawn := time.Now()
				stale := 0
				for time.Since(withdrawn) < 5*time.Second {
					choice, err := c.InForce(context.Background(), about(1))
					var old *StaleError
					switch {
					case errors.As(err, &old):
						stale++
						if old.Age <= old.Max || old.Max != time.Second {
							t.Errorf("got a StaleError of %v, at most %v", old.Age, old.Max)
						}
					case err != nil:
						t.Fatal(err)
					case choice.Revision == 2 && time.Since(withdrawn) > time.Second:
						t.Fatalf("judged by the withdrawn revision after %v", time.Since(withdrawn))
					}
					time.Sleep(10 * time.Millisecond)
				}
				if name != "Slow" && name != "Late" && stale == 0 {
					t.Error("wanted a StaleError")
				}
				link.set(nil)
				link.setAfter(nil)
				time.Sleep(2 * time.Second) // what hangs has to time out
				if choice, err := c.InForce(context.Background(), about(1)); err != nil || choice.Revision != 1 {
					t.Errorf("afterwards: got %+v, error %v, wanted revision 1", choice, err)
				}
				stop()
				c.Close()
			})
		})
	}
}

// TestBoundUnderRandomFaults holds every answer to the bound: what had changed
// more than MaxStale before it was given is in it.
func TestBoundUnderRandomFaults(t *testing.T) {
	t.Parallel()
	for seed := range uint64(20) {
		synctest.Test(t, func(t *testing.T) {
			random := rand.New(rand.NewPCG(seed, 1))
			model := storetest.NewModel()
			fill(t, model, sheet(1, 1, 1))
			link := &faulty{SpecStore: model}
			c := open(t, link, Config{})
			stop := follow(t, c)
			ctx, end := context.WithCancel(context.Background())
			var wait sync.WaitGroup
			// When each newest revision was published.
			var mu sync.Mutex
			published := []time.Time{time.Now()}
			wait.Go(func() { // another replica
				for revision := 2; ; revision++ {
					select {
					case <-ctx.Done():
						return
					case <-time.After(time.Duration(random.IntN(2000)) * time.Millisecond):
					}
					fill(t, model, sheet(1, revision, revision))
					mu.Lock()
					published = append(published, time.Now())
					mu.Unlock()
				}
			})
			answers, refusals := 0, 0
			judge := func(pause time.Duration) {
				for ctx.Err() == nil {
					choice, err := c.InForce(ctx, about(1))
					now := time.Now()
					mu.Lock()
					due := 0
					for due < len(published) && now.Sub(published[due]) > time.Second {
						due++
					}
					var old *StaleError
					switch {
					case ctx.Err() != nil:
					case errors.As(err, &old):
						refusals++
					case err != nil:
						t.Errorf("seed %d: %v", seed, err)
					case choice.Revision < due:
						t.Errorf("seed %d: got revision %d, and %d was published more than the bound ago", seed, choice.Revision, due)
					default:
						answers++
					}
					mu.Unlock()
					time.Sleep(pause)
				}
			}
			wait.Go(func() { judge(7 * time.Millisecond) })
			wait.Go(func() { judge(1300 * time.Millisecond) })
			faults := []func(context.Context, string) error{nil, nil, down, hang}
			faultRandom := rand.New(rand.NewPCG(seed, 2))
			for range 40 {
				link.set(faults[faultRandom.IntN(len(faults))])
				if link.setAfter(nil); faultRandom.IntN(3) == 0 {
					link.setAfter(slow(time.Duration(faultRandom.IntN(1200)) * time.Millisecond))
				}
				time.Sleep(time.Duration(faultRandom.IntN(1500)) * time.Millisecond)
			}
			end()
			wait.Wait()
			if answers == 0 {
				t.Errorf("seed %d: no answers, %d refusals", seed, refusals)
			}
			stop()
			c.Close()
		})
	}
}

// TestConfirmsWhenAsked judges by a catalogue that nobody runs: it asks the store
// when it is too old, and not before.
func TestConfirmsWhenAsked(t *testing.T) {
	t.Parallel()
	synctest.Test(t, func(t *testing.T) {
		model := storetest.NewModel()
		fill(t, model, sheet(1, 1, 1))
		link := &faulty{SpecStore: model}
		c := open(t, link, Config{})
		fill(t, model, sheet(1, 2, 2))
		asked := link.count("SpecChanges")
		time.Sleep(time.Second)
		if choice, err := c.InForce(context.Background(), about(1)); err != nil || choice.Revision != 1 {
			t.Fatalf("at the bound: got %+v, error %v", choice, err)
		}
		if n := link.count("SpecChanges"); n != asked {
			t.Fatalf("the store was asked %d times for nothing", n-asked)
		}
		time.Sleep(time.Nanosecond)
		// A slow store, so that all of them wait together.
		link.set(func(context.Context, string) error { time.Sleep(10 * time.Millisecond); return nil })
		var wait sync.WaitGroup
		for range 100 {
			wait.Go(func() {
				if choice, err := c.InForce(context.Background(), about(1)); err != nil || choice.Revision != 2 {
					t.Errorf("past the bound: got %+v, error %v, wanted revision 2", choice, err)
				}
			})
		}
		wait.Wait()
		if n := link.count("SpecChanges") - asked; n != 2 { // one with the change, one with none
			t.Errorf("100 callers asked the store %d times, wanted 2", n)
		}
	})
}

// TestChoiceIsAsOldAsItsReading confirms the index, and lets time pass, while an
// answer is chosen that was read before.
func TestChoiceIsAsOldAsItsReading(t *testing.T) {
	t.Parallel()
	synctest.Test(t, func(t *testing.T) {
		c := open(t, storetest.NewModel(), Config{})
		chosen := 0
		got, err := fresh(context.Background(), c, func() (int, error) {
			if chosen++; chosen == 1 {
				time.Sleep(1500 * time.Millisecond)
				c.index.confirm(time.Now())
			}
			return chosen, nil
		})
		if err != nil || got != 2 {
			t.Errorf("got answer %d, error %v, wanted the second", got, err)
		}
		_, err = fresh(context.Background(), c, func() (int, error) {
			time.Sleep(1500 * time.Millisecond)
			return 0, nil
		})
		var stale *StaleError
		if !errors.As(err, &stale) {
			t.Errorf("got %v for what is never chosen in time", err)
		}
	})
}

// TestLevelIsLaterThanItsCall asks while an answer is under way that was read
// before: it is waited for, and then asked again.
func TestLevelIsLaterThanItsCall(t *testing.T) {
	t.Parallel()
	synctest.Test(t, func(t *testing.T) {
		model := storetest.NewModel()
		link := &faulty{SpecStore: model}
		c := open(t, link, Config{})
		link.setAfter(slow(100 * time.Millisecond))
		go func() { _ = c.Level(context.Background()) }()
		time.Sleep(10 * time.Millisecond)
		fill(t, model, sheet(1, 1, 1))
		if err := c.Level(context.Background()); err != nil || c.Position() != 1 {
			t.Errorf("got position %d, error %v", c.Position(), err)
		}
	})
}

// TestRefusesQuickly sees that callers of a store that fails at once are not kept
// waiting, and do not each ask it.
func TestRefusesQuickly(t *testing.T) {
	t.Parallel()
	synctest.Test(t, func(t *testing.T) {
		model := storetest.NewModel()
		fill(t, model, sheet(1, 1, 1))
		link := &faulty{SpecStore: model}
		c := open(t, link, Config{})
		time.Sleep(2 * time.Second)
		link.set(down)
		asked := link.count("SpecChanges")
		for range 1000 {
			began := time.Now()
			_, err := c.InForce(context.Background(), about(1))
			var old *StaleError
			if !errors.As(err, &old) || !errors.Is(err, errDown) || time.Since(began) != 0 {
				t.Fatalf("got %v after %v", err, time.Since(began))
			}
			time.Sleep(time.Millisecond)
		}
		if n := link.count("SpecChanges") - asked; n > 25 {
			t.Errorf("1000 callers in a second asked the store %d times", n)
		}
		link.set(hang)
		time.Sleep(time.Second)
		began := time.Now()
		if _, err := c.InForce(context.Background(), about(1)); err == nil || time.Since(began) != 500*time.Millisecond {
			t.Errorf("got %v after %v, wanted a refusal after 500ms", err, time.Since(began))
		}
		ctx, cancel := context.WithTimeout(context.Background(), 10*time.Millisecond)
		defer cancel()
		if _, err := c.InForce(ctx, about(1)); err != context.DeadlineExceeded {
			t.Errorf("got %v, wanted the caller's own error", err)
		}
	})
}

// TestClock sees that a jump of the wall clock alone, as after a suspension,
// makes the catalogue ask again, and that setting it back does not make it young.
func TestClock(t *testing.T) {
	t.Parallel()
	model := storetest.NewModel()
	fill(t, model, sheet(1, 1, 1))
	link := &faulty{SpecStore: model}
	var mu sync.Mutex
	now := time.Now()
	clock := func() time.Time { mu.Lock(); defer mu.Unlock(); return now }
	set := func(t time.Time) { mu.Lock(); defer mu.Unlock(); now = t }
	c := open(t, link, Config{Now: clock})
	opened := now
	link.set(down)
	judge := func() error { _, err := c.InForce(context.Background(), about(1)); return err }
	if err := judge(); err != nil {
		t.Errorf("at once: %v", err)
	}
	set(opened.Add(time.Second + 1))
	if err := judge(); !errors.Is(err, errDown) {
		t.Errorf("after more than the bound: got %v, wanted a refusal", err)
	}
	// Without a monotonic reading, Sub compares wall clocks: an hour later.
	set(opened.Round(0).Add(time.Hour))
	if err := judge(); !errors.Is(err, errDown) {
		t.Errorf("an hour later by the wall clock: got %v, wanted a refusal", err)
	}
	if c.age(opened) != time.Hour {
		t.Errorf("got an age of %v, wanted an hour", c.age(opened))
	}
	set(opened.Round(0).Add(-time.Hour))
	if age := c.age(opened); age != 0 {
		t.Errorf("got an age of %v for a time to come", age)
	}
}

// TestDiverged puts other changes in place of those that were applied.
func TestDiverged(t *testing.T) {
	t.Parallel()
	for name, swap := range map[string]func(t *testing.T) *storetest.Model{
		"Emptied": func(*testing.T) *storetest.Model { return storetest.NewModel() },
		"Behind": func(t *testing.T) *storetest.Model {
			m := storetest.NewModel()
			fill(t, m, sheet(1, 1, 1))
			return m
		},
		"OtherOfThatLength": func(t *testing.T) *storetest.Model {
			m := storetest.NewModel()
			fill(t, m, sheet(1, 1, 1), sheet(3, 1, 1))
			return m
		},
		"Other": func(t *testing.T) *storetest.Model {
			m := storetest.NewModel()
			fill(t, m, sheet(1, 1, 1), sheet(3, 1, 1), sheet(3, 2, 2))
			return m
		},
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			synctest.Test(t, func(t *testing.T) {
				model := storetest.NewModel()
				fill(t, model, sheet(1, 1, 1), sheet(1, 2, 2))
				other := &swapped{SpecStore: model}
				c := open(t, other, Config{})
				other.SpecStore = swap(t)
				var diverged *DivergedError
				ctx, cancel := context.WithTimeout(context.Background(), time.Minute)
				defer cancel()
				if err := c.Run(ctx); !errors.As(err, &diverged) {
					t.Errorf("Run: got %v, wanted a DivergedError", err)
				}
				time.Sleep(2 * time.Second)
				if _, err := c.InForce(context.Background(), about(1)); !errors.As(err, &diverged) {
					t.Errorf("InForce: got %v, wanted a DivergedError", err)
				}
				if _, _, err := c.Publish(context.Background(), sheet(9, 1, 1), "", false); !errors.As(err, &diverged) {
					t.Errorf("Publish: got %v, wanted a DivergedError", err)
				}
			})
		})
	}
}

// swapped is a store that another can be put in place of while nobody asks it.
type swapped struct{ store.SpecStore }

func TestStoreClosed(t *testing.T) {
	t.Parallel()
	model := storetest.NewModel()
	c := open(t, model, Config{Poll: time.Millisecond})
	if err := model.Close(); err != nil {
		t.Fatal(err)
	}
	if err := c.Run(context.Background()); !errors.Is(err, store.ErrClosed) {
		t.Errorf("got %v, wanted store.ErrClosed", err)
	}
}
