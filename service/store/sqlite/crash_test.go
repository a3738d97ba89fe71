package sqlite

import (
	"bufio"
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"github.com/snapgauge/snapgauge/service/store"
	"github.com/snapgauge/snapgauge/service/store/storetest"
)

var crashRounds = flag.Int("crash.rounds", 20, "how often TestCrash kills its helper")

// The test binary runs itself as the process that is to be killed, told by these
// variables.
const (
	crashPathVariable  = "SNAPGAUGE_TEST_CRASH_PATH"
	crashFirstVariable = "SNAPGAUGE_TEST_CRASH_FIRST"
)

func TestMain(m *testing.M) {
	if path := os.Getenv(crashPathVariable); path != "" {
		first, err := strconv.Atoi(os.Getenv(crashFirstVariable))
		if err == nil {
			err = crashHelper(path, first)
		}
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
	os.Exit(m.Run())
}

// crashSetup is what the helper submits as number n, and the test expects.
func crashSetup(n int) store.Setup {
	if n%5 == 0 {
		return storetest.Sample(n)
	}
	return storetest.Small(n)
}

// crashHelper submits from several goroutines and prints the number of each
// set-up once it has been acknowledged. It ends only when it is killed or its
// parent has gone.
func crashHelper(path string, first int) error {
	go func() {
		_, _ = io.Copy(io.Discard, os.Stdin) // ends with the parent
		os.Exit(2)
	}()
	s, err := Open(context.Background(), path)
	if err != nil {
		return err
	}
	var next atomic.Int64
	next.Store(int64(first))
	failed := make(chan error)
	for range 6 {
		go func() {
			for {
				n := int(next.Add(1)) - 1
				if _, created, err := s.Submit(context.Background(), crashSetup(n)); err != nil || !created {
					failed <- fmt.Errorf("submit %d: created %t, error %w", n, created, err)
					return
				}
				if _, err := fmt.Println(n); err != nil {
					failed <- err
					return
				}
			}
		}()
	}
	return <-failed
}

// TestCrash kills a process that is storing, again and again on one file, and
// sees that nothing acknowledged is lost and nothing is broken. It shows that a
// killed process does no harm; that synchronous=FULL holds when the power goes
// is SQLite's and the disk's word.
func TestCrash(t *testing.T) {
	t.Parallel()
	const perFile = 5 // every so often from a new file, to meet the migration too
	total := 0
	var path string
	var acknowledged []int
	for round := range *crashRounds {
		if round%perFile == 0 {
			path, acknowledged = filepath.Join(t.TempDir(), "crash.db"), nil
		}
		delay := time.Duration(rand.IntN(100)) * time.Millisecond
		// Some are killed while they open the file, and perhaps migrate it.
		opening := round%perFile == 0 || round%perFile == 3
		numbers := crash(t, path, round*1_000_000, delay, opening)
		acknowledged = append(acknowledged, numbers...)
		total += len(numbers)

		s := openAt(t, path)
		checkIntegrity(t, s)
		for _, n := range acknowledged {
			got, err := s.Get(context.Background(), crashSetup(n).ID)
			if err != nil {
				t.Fatalf("round %d, killed after %v: acknowledged %d: %v", round, delay, n, err)
			}
			if got.RequestID != crashSetup(n).RequestID || len(got.Record.GetReadings()) != len(crashSetup(n).Record.GetReadings()) {
				t.Fatalf("round %d: acknowledged %d: got another set-up", round, n)
			}
		}
		stored := 0
		for q := (store.Query{Limit: store.MaxLimit}); ; {
			page, next, err := s.List(context.Background(), q)
			if err != nil {
				t.Fatalf("round %d: a stored set-up is broken: %v", round, err)
			}
			stored += len(page)
			if next.IsZero() {
				break
			}
			q.After = next
		}
		if stored < len(acknowledged) {
			t.Fatalf("round %d: got %d set-ups, wanted at least %d", round, stored, len(acknowledged))
		}
		if err := s.Close(); err != nil {
			t.Fatalf("round %d: Close: %v", round, err)
		}
	}
	t.Logf("%d set-ups acknowledged in %d rounds", total, *crashRounds)
	if total == 0 && *crashRounds > 1 {
		t.Error("no round stored anything")
	}
}

// crash runs the helper and kills it after the delay, counted from its start or
// from the first set-up that it acknowledges. It returns what was acknowledged.
func crash(t *testing.T, path string, first int, delay time.Duration, fromStart bool) []int {
	t.Helper()
	executable, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	helper := exec.Command(executable)
	helper.Env = append(os.Environ(), crashPathVariable+"="+path, crashFirstVariable+"="+strconv.Itoa(first))
	helper.Stderr = os.Stderr
	stdin, err := helper.StdinPipe()
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
	kill := sync.OnceFunc(func() {
		time.AfterFunc(delay, func() {
			_ = helper.Process.Kill() // SIGKILL; it may have failed by itself, which Wait tells
		})
	})
	if fromStart {
		kill()
	}
	var numbers []int
	for lines := bufio.NewScanner(stdout); lines.Scan(); {
		kill()
		n, err := strconv.Atoi(lines.Text())
		if err != nil {
			t.Fatalf("helper: got line %q", lines.Text())
		}
		numbers = append(numbers, n)
	}
	err = helper.Wait()
	if exit := (*exec.ExitError)(nil); !errors.As(err, &exit) || exit.Exited() {
		t.Fatalf("helper: got %v, wanted it killed", err)
	}
	return numbers
}

// checkIntegrity asks SQLite whether the file is sound.
func checkIntegrity(t testing.TB, s *Store) {
	t.Helper()
	var verdict string
	if err := s.readers.QueryRow(`PRAGMA integrity_check`).Scan(&verdict); err != nil || verdict != "ok" {
		t.Errorf("integrity check: got %q, error %v", verdict, err)
	}
	rows, err := s.readers.Query(`PRAGMA foreign_key_check`)
	if err != nil {
		t.Fatal(err)
	}
	defer rows.Close()
	if rows.Next() {
		t.Error("foreign key check: got a row that points nowhere")
	}
	if err := rows.Err(); err != nil {
		t.Error(err)
	}
	var halves int
	err = s.readers.QueryRow(`SELECT (SELECT count(*) FROM supersession) -
		(SELECT count(DISTINCT x.new_id) FROM supersession x JOIN setups s ON s.id = x.new_id)`).Scan(&halves)
	if err != nil || halves != 0 {
		t.Errorf("got %d half-written set-ups, error %v", halves, err)
	}
}
