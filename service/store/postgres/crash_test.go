package postgres

import (
	"context"
	"flag"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"strconv"
	"testing"
	"time"

	"github.com/snapgauge/snapgauge/service/store/postgres/pgtest"
	"github.com/snapgauge/snapgauge/service/store/storetest"
)

var crashRounds = flag.Int("crash.rounds", 10, "how often TestCrash kills its helper or the server")

// The test binary runs itself as the process that is to be killed, told by these
// variables.
const (
	crashDSNVariable    = "SNAPGAUGE_TEST_CRASH_DSN"
	crashRoundVariable  = "SNAPGAUGE_TEST_CRASH_ROUND"
	crashServerVariable = "SNAPGAUGE_TEST_CRASH_SERVER" // the server is killed first
)

// crashHelper ends only when it is killed or its parent has gone, or with an
// error. Errors are to be expected where the server goes: then it waits for its
// own end.
func crashHelper(dsn string) error {
	storetest.EndWithParent()
	round, err := strconv.Atoi(os.Getenv(crashRoundVariable))
	if err != nil {
		return err
	}
	s, err := Open(context.Background(), dsn)
	if err == nil {
		err = storetest.CrashLoad(s, round)
	}
	if os.Getenv(crashServerVariable) != "" {
		select {}
	}
	return err
}

// TestCrash kills a process that is submitting, publishing and withdrawing, or
// the server under it, again and again, and sees that nothing acknowledged is
// lost and nothing is broken. That fsync holds when the power goes is the disk's
// word.
func TestCrash(t *testing.T) {
	t.Parallel()
	const perDatabase = 5 // every so often a new one, to meet the migration too
	server := pgtest.Start(t, pgtest.Options{Durable: true})
	executable, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	total, serverKills := 0, 0
	var dsn string
	var acknowledged *storetest.Acknowledged
	for round := range *crashRounds {
		if round%perDatabase == 0 {
			database := fmt.Sprintf("crash_%d", round)
			if err := server.Create(context.Background(), database); err != nil {
				t.Fatal(err)
			}
			dsn, acknowledged = server.DSN(database), new(storetest.Acknowledged)
		}
		helper := exec.Command(executable)
		helper.Env = append(os.Environ(), crashDSNVariable+"="+dsn, crashRoundVariable+"="+strconv.Itoa(1+round))
		delay := time.Duration(rand.IntN(150)) * time.Millisecond
		// Some are killed while they connect, and perhaps migrate.
		opening := round%perDatabase == 0 || round%perDatabase == 3
		var kill func()
		if round%3 == 1 {
			serverKills++
			helper.Env = append(helper.Env, crashServerVariable+"=1")
			kill = func() {
				if err := server.Kill(); err != nil {
					t.Errorf("kill the server: %v", err)
				}
			}
		}
		before := acknowledged.Count()
		acknowledged.KillDuring(t, helper, delay, opening, kill)
		total += acknowledged.Count() - before
		if kill != nil {
			if err := server.Restart(); err != nil {
				t.Fatal(err)
			}
		}

		s := openAt(t, dsn)
		acknowledged.Check(t, s)
		checkHalves(t, s)
		if t.Failed() {
			t.Fatalf("in round %d, killed after %v", round, delay)
		}
		if err := s.Close(); err != nil {
			t.Fatalf("round %d: Close: %v", round, err)
		}
	}
	t.Logf("%d writes acknowledged in %d rounds, the server killed in %d", total, *crashRounds, serverKills)
	if total == 0 && *crashRounds > 1 {
		t.Error("no round stored anything")
	}
}

// checkHalves looks for what a transaction has left in its middle.
func checkHalves(t *testing.T, s *Store) {
	t.Helper()
	var halves int
	err := s.pool.QueryRow(context.Background(), `SELECT count(*) FROM spec_revisions r WHERE NOT EXISTS
		(SELECT 1 FROM spec_changes c WHERE c.spec_id = r.spec_id AND c.revision = r.revision AND c.kind = 'PUBLISHED')`).Scan(&halves)
	if err != nil || halves != 0 {
		t.Errorf("got %d half-written revisions, error %v", halves, err)
	}
}
