package sqlite

import (
	"context"
	"flag"
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"testing"
	"time"

	"github.com/snapgauge/snapgauge/service/store/storetest"
)

var crashRounds = flag.Int("crash.rounds", 10, "how often TestCrash kills its helper")

// The test binary runs itself as the process that is to be killed, told by these
// variables.
const (
	crashPathVariable  = "SNAPGAUGE_TEST_CRASH_PATH"
	crashRoundVariable = "SNAPGAUGE_TEST_CRASH_ROUND"
)

func TestMain(m *testing.M) {
	if path := os.Getenv(crashPathVariable); path != "" {
		fmt.Fprintln(os.Stderr, crashHelper(path))
		os.Exit(1)
	}
	os.Exit(m.Run())
}

// crashHelper ends only when it is killed or its parent has gone, or with an
// error.
func crashHelper(path string) error {
	storetest.EndWithParent()
	round, err := strconv.Atoi(os.Getenv(crashRoundVariable))
	if err != nil {
		return err
	}
	s, err := Open(context.Background(), path)
	if err != nil {
		return err
	}
	return storetest.CrashLoad(s, round)
}

// TestCrash kills a process that is submitting, publishing and withdrawing, again
// and again on one file, and sees that nothing acknowledged is lost and nothing is
// broken. It shows that a killed process does no harm; that synchronous=FULL holds
// when the power goes is SQLite's and the disk's word.
func TestCrash(t *testing.T) {
	t.Parallel()
	const perFile = 5 // every so often from a new file, to meet the migration too
	executable, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	total := 0
	var path string
	var acknowledged *storetest.Acknowledged
	for round := range *crashRounds {
		if round%perFile == 0 {
			path, acknowledged = filepath.Join(t.TempDir(), "crash.db"), new(storetest.Acknowledged)
			if round%(2*perFile) == perFile { // from the schema before
				if err := os.WriteFile(path, readFrozen(t, "v1.sqlite"), 0o600); err != nil {
					t.Fatal(err)
				}
			}
		}
		helper := exec.Command(executable)
		helper.Env = append(os.Environ(), crashPathVariable+"="+path, crashRoundVariable+"="+strconv.Itoa(1+round))
		delay := time.Duration(rand.IntN(100)) * time.Millisecond
		// Some are killed while they open the file, and perhaps migrate it.
		opening := round%perFile == 0 || round%perFile == 3
		before := acknowledged.Count()
		acknowledged.KillDuring(t, helper, delay, opening, nil)
		total += acknowledged.Count() - before

		s := openAt(t, path)
		checkIntegrity(t, s)
		acknowledged.Check(t, s)
		if t.Failed() {
			t.Fatalf("in round %d, killed after %v", round, delay)
		}
		if err := s.Close(); err != nil {
			t.Fatalf("round %d: Close: %v", round, err)
		}
	}
	t.Logf("%d writes acknowledged in %d rounds", total, *crashRounds)
	if total == 0 && *crashRounds > 1 {
		t.Error("no round stored anything")
	}
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
	err = s.readers.QueryRow(`SELECT count(*) FROM spec_revisions r WHERE NOT EXISTS
		(SELECT 1 FROM spec_changes c WHERE c.spec_id = r.spec_id AND c.revision = r.revision AND c.kind = 'PUBLISHED')`).Scan(&halves)
	if err != nil || halves != 0 {
		t.Errorf("got %d half-written revisions, error %v", halves, err)
	}
}
