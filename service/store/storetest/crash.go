package storetest

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/snapgauge/snapgauge/service/store"
)

// sharedSpec is the spec that all rounds of a crash test publish to; each round
// has others of its own.
const sharedSpec = 0

const (
	setupsPerRound = 1_000_000
	specsPerRound  = 10
)

// crashSetup is what is submitted as number n.
func crashSetup(n int) store.Setup {
	if n%5 == 0 {
		return Sample(n)
	}
	return Small(n)
}

// CrashLoad submits, publishes and withdraws from several goroutines, for ever,
// and prints a line to the standard output for each write that has been
// acknowledged. It returns only with an error. It is what a process does that a
// crash test kills: [KillDuring] reads the lines. Rounds count from 1.
func CrashLoad(s store.DB, round int) error {
	ctx := context.Background()
	failed := make(chan error)
	loop := func(step func() error) {
		go func() {
			for {
				if err := step(); err != nil {
					failed <- err
					return
				}
			}
		}()
	}
	acknowledge := func(format string, args ...any) error {
		_, err := fmt.Printf(format+"\n", args...)
		return err
	}
	var next atomic.Int64
	next.Store(int64(round * setupsPerRound))
	for range 3 {
		loop(func() error {
			n := int(next.Add(1)) - 1
			if _, created, err := s.Submit(ctx, crashSetup(n)); err != nil || !created {
				return fmt.Errorf("submit %d: created %t, error %w", n, created, err)
			}
			return acknowledge("submitted %d", n)
		})
	}
	for i := range 3 {
		n, revision, etag := round*specsPerRound+i, 0, ""
		loop(func() error {
			revision++
			p, created, err := s.PublishSpec(ctx, Revision(n, revision), etag)
			if err != nil || !created {
				return fmt.Errorf("publish %d, %d: created %t, error %w", n, revision, created, err)
			}
			etag = p.Etag
			if err := acknowledge("published %d %d", n, revision); err != nil || revision%3 != 0 {
				return err
			}
			if _, err := s.WithdrawSpec(ctx, p.SpecID, revision-1, "misprint", Base); err != nil {
				return err
			}
			return acknowledge("withdrawn %d %d", n, revision-1)
		})
	}
	for i := range 2 { // these race with each other
		loop(func() error {
			history, err := s.SpecHistory(ctx, SpecID(sharedSpec))
			revision, etag := 1, ""
			switch {
			case err == nil:
				revision, etag = history[0].Revision+1, history[0].Etag
			case !errors.Is(err, store.ErrNotFound):
				return err
			}
			p := Revision(sharedSpec, revision)
			p.Sheet.ChangeNote = fmt.Sprintf("by %d in round %d", i, round)
			_, _, err = s.PublishSpec(ctx, p, etag)
			switch {
			case errors.Is(err, store.ErrSpecChanged):
				return nil
			case err != nil:
				return err
			}
			return acknowledge("published %d %d", sharedSpec, revision)
		})
	}
	return <-failed
}

// Acknowledged is what processes that were killed had been told is stored.
type Acknowledged struct {
	setups               []int
	published, withdrawn [][2]int
}

// Count is the number of writes.
func (a *Acknowledged) Count() int { return len(a.setups) + len(a.published) + len(a.withdrawn) }

// KillDuring runs a process that calls [CrashLoad], kills it, and adds what it
// acknowledged. The delay counts from its start or from the first thing that it
// acknowledges. kill is called instead of killing the process where it is not
// nil; the process is killed after it.
func (a *Acknowledged) KillDuring(t *testing.T, helper *exec.Cmd, delay time.Duration, fromStart bool, kill func()) {
	t.Helper()
	helper.Stderr = os.Stderr
	stdin, err := helper.StdinPipe() // ends with this process, which the helper sees
	if err != nil {
		t.Fatal(err)
	}
	defer stdin.Close()
	stdout, err := helper.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := helper.Start(); err != nil {
		t.Fatal(err)
	}
	arm := sync.OnceFunc(func() {
		time.AfterFunc(delay, func() {
			if kill != nil {
				kill()
			}
			_ = helper.Process.Kill() // SIGKILL; it may have failed by itself, which Wait tells
		})
	})
	if fromStart {
		arm()
	}
	for lines := bufio.NewScanner(stdout); lines.Scan(); {
		arm()
		var n, revision int
		switch line := lines.Text(); {
		case scan(line, "submitted %d", &n):
			a.setups = append(a.setups, n)
		case scan(line, "published %d %d", &n, &revision):
			a.published = append(a.published, [2]int{n, revision})
		case scan(line, "withdrawn %d %d", &n, &revision):
			a.withdrawn = append(a.withdrawn, [2]int{n, revision})
		default:
			t.Fatalf("helper: got line %q", line)
		}
	}
	err = helper.Wait()
	if exit := (*exec.ExitError)(nil); !errors.As(err, &exit) || exit.Exited() {
		t.Fatalf("helper: got %v, wanted it killed", err)
	}
}

func scan(line, format string, args ...any) bool {
	n, err := fmt.Sscanf(line, format, args...)
	return err == nil && n == len(args)
}

// EndWithParent ends this process when the one that started it has ended. It is
// for the helper of [Acknowledged.KillDuring].
func EndWithParent() {
	go func() {
		_, _ = io.Copy(io.Discard, os.Stdin)
		os.Exit(2)
	}()
}

// Check sees that everything acknowledged is stored, and that nothing is stored
// by halves.
func (a *Acknowledged) Check(t *testing.T, s store.DB) {
	t.Helper()
	ctx := context.Background()
	for _, n := range a.setups {
		want := crashSetup(n)
		got, err := s.Get(ctx, want.ID)
		if err != nil {
			t.Fatalf("acknowledged set-up %d: %v", n, err)
		}
		if got.RequestID != want.RequestID || len(got.Record.GetReadings()) != len(want.Record.GetReadings()) {
			t.Fatalf("acknowledged set-up %d: got another set-up", n)
		}
	}
	if stored := len(all(t, s, store.Query{Limit: store.MaxLimit})); stored < len(a.setups) {
		t.Fatalf("got %d set-ups, wanted at least %d", stored, len(a.setups))
	}
	changes := CheckSpecs(t, s)
	there := make(map[store.ChangeKind]map[string]bool)
	for _, c := range changes {
		if there[c.Kind] == nil {
			there[c.Kind] = make(map[string]bool)
		}
		there[c.Kind][c.Name()] = true
	}
	for _, p := range a.published {
		if name := store.RevisionName(SpecID(p[0]), p[1]); !there[store.Published][name] {
			t.Errorf("acknowledged publication of %s is gone", name)
		}
	}
	for _, w := range a.withdrawn {
		if name := store.RevisionName(SpecID(w[0]), w[1]); !there[store.Withdrawn][name] {
			t.Errorf("acknowledged withdrawal of %s is gone", name)
		}
	}
}
