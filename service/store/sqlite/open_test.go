package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"sync/atomic"
	"testing"

	"github.com/snapgauge/snapgauge/service/store"
	"github.com/snapgauge/snapgauge/service/store/storetest"
)

func TestOpenRefuses(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	dir := t.TempDir()
	for _, path := range []string{"", ":memory:", dir, filepath.Join(dir, "none", "a.db")} {
		if _, err := Open(ctx, path); err == nil {
			t.Errorf("%q: opened", path)
		}
	}

	noise := filepath.Join(dir, "noise.db")
	if err := os.WriteFile(noise, []byte(strings.Repeat("no database ", 1000)), 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := Open(ctx, noise); err == nil || !strings.Contains(err.Error(), "not a database") {
		t.Errorf("noise: got %v", err)
	}

	foreign := filepath.Join(dir, "foreign.db")
	db, err := open(foreign, toWrite, 1)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := db.Exec(`CREATE TABLE setups (a)`); err != nil {
		t.Fatal(err)
	}
	if err := db.Close(); err != nil {
		t.Fatal(err)
	}
	if _, err := Open(ctx, foreign); !errors.Is(err, ErrForeignDatabase) {
		t.Errorf("foreign: got %v", err)
	}

	cancelled, cancel := context.WithCancel(ctx)
	cancel()
	if _, err := Open(cancelled, filepath.Join(dir, "cancelled.db")); !errors.Is(err, context.Canceled) {
		t.Errorf("cancelled: got %v", err)
	}
}

// TestOpenNames opens files whose names mean something in a URI.
func TestOpenNames(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	for _, name := range []string{"a b.db", "100%.db", "what?.db", "no#1.db", "%41.db", "ö.db", "a&mode=memory.db"} {
		path := filepath.Join(dir, name)
		s := openAt(t, path)
		if _, _, err := s.Submit(context.Background(), storetest.Small(1)); err != nil {
			t.Errorf("%s: %v", name, err)
		}
		if err := s.Close(); err != nil {
			t.Errorf("%s: %v", name, err)
		}
		info, err := os.Stat(path)
		if err != nil || info.Size() == 0 || info.Mode().Perm() != 0o600 {
			t.Errorf("%s: got %v, error %v, wanted the database there for its owner alone", name, info, err)
		}
	}
	left, err := os.ReadDir(dir)
	if err != nil || len(left) != 7 {
		t.Errorf("got files %v, error %v, wanted the seven databases without side files", left, err)
	}
}

func TestPragmas(t *testing.T) {
	t.Parallel()
	s := openAt(t, filepath.Join(t.TempDir(), "test.db"))
	for _, test := range []struct {
		name, writer, reader string
	}{
		{"journal_mode", "wal", "wal"},
		{"synchronous", "2", ""}, // FULL; readers never write
		{"foreign_keys", "1", "1"},
		{"busy_timeout", "5000", "5000"},
		{"query_only", "0", "1"},
		{"application_id", fmt.Sprint(applicationID), ""},
	} {
		var writer, reader string
		if err := s.writer.conn.QueryRowContext(context.Background(), "PRAGMA "+test.name).Scan(&writer); err != nil {
			t.Fatal(err)
		}
		if err := s.readers.QueryRow("PRAGMA " + test.name).Scan(&reader); err != nil {
			t.Fatal(err)
		}
		if writer != test.writer || test.reader != "" && reader != test.reader {
			t.Errorf("%s: got %s for writing and %s for reading, wanted %s and %s",
				test.name, writer, reader, test.writer, test.reader)
		}
	}
}

func TestAppendOnly(t *testing.T) {
	t.Parallel()
	path := filepath.Join(t.TempDir(), "test.db")
	s := openAt(t, path)
	for i := 0; i <= 3; i += 3 {
		setup := storetest.Small(i)
		if i > 0 {
			setup.Record.Supersedes = store.Name(storetest.Small(0).ID)
		}
		if _, _, err := s.Submit(context.Background(), setup); err != nil {
			t.Fatal(err)
		}
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	// As some other program would, without our settings.
	db, err := sql.Open("sqlite", path)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	const columns = `request_id, shop, create_time, technician, vin, model, model_year, market, phase, verdict,
		spec_revision, finish_time, record_digest, report, record`
	for _, statement := range []string{
		`UPDATE setups SET verdict = 'ACCEPT'`,
		`UPDATE OR REPLACE setups SET id = 'x' WHERE seq = 1`,
		`DELETE FROM setups`,
		`DELETE FROM setups WHERE id = '` + storetest.Small(0).ID + `'`,
		`REPLACE INTO setups (id, ` + columns + `) SELECT id, ` + columns + ` FROM setups`,
		`REPLACE INTO setups (id, ` + columns + `) SELECT id || 'x', ` + columns + ` FROM setups`,
		`REPLACE INTO setups (seq, id, ` + columns + `) SELECT seq, id || 'x', request_id || 'x', ` +
			strings.TrimPrefix(columns, "request_id, ") + ` FROM setups`,
		`INSERT INTO setups SELECT * FROM setups WHERE true ON CONFLICT (id) DO UPDATE SET verdict = 'ACCEPT'`,
		`UPDATE supersession SET new_id = old_id`,
		`DELETE FROM supersession`,
		`REPLACE INTO supersession SELECT old_id, new_id FROM supersession`,
		`REPLACE INTO supersession SELECT old_id || 'x', new_id FROM supersession`,
	} {
		if _, err := db.Exec(statement); err == nil || !strings.Contains(err.Error(), "append-only") {
			t.Errorf("%.60s: got %v, wanted it refused", statement, err)
		}
	}
}

func TestSpecsAppendOnly(t *testing.T) {
	t.Parallel()
	path := filepath.Join(t.TempDir(), "test.db")
	s := openAt(t, path)
	ctx := context.Background()
	first, _, err := s.PublishSpec(ctx, storetest.Revision(1, 1), "")
	if err != nil {
		t.Fatal(err)
	}
	if _, _, err := s.PublishSpec(ctx, storetest.Revision(1, 2), first.Etag); err != nil {
		t.Fatal(err)
	}
	if _, err := s.WithdrawSpec(ctx, storetest.SpecID(1), 1, "misprint", storetest.Base.AddDate(1, 0, 0)); err != nil {
		t.Fatal(err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	db, err := sql.Open("sqlite", path)
	if err != nil {
		t.Fatal(err)
	}
	defer db.Close()
	const rest = `make, model, model_year, market, change_note, source_document, characteristic_count, effective_time, sheet`
	for _, statement := range []string{
		`UPDATE spec_revisions SET effective_time = 0`,
		`UPDATE OR REPLACE spec_revisions SET revision = 2 WHERE revision = 1`,
		`DELETE FROM spec_revisions`,
		`REPLACE INTO spec_revisions (spec_id, revision, digest, ` + rest + `) SELECT spec_id, revision, digest, ` + rest + ` FROM spec_revisions`,
		`REPLACE INTO spec_revisions (spec_id, revision, digest, ` + rest + `) SELECT spec_id, 3, digest, ` + rest + ` FROM spec_revisions LIMIT 1`,
		`REPLACE INTO spec_revisions (seq, spec_id, revision, digest, ` + rest + `) SELECT seq, spec_id, 3, zeroblob(32), ` + rest + ` FROM spec_revisions LIMIT 1`,
		`INSERT INTO spec_revisions (spec_id, revision, digest, ` + rest + `) SELECT spec_id, 4, zeroblob(32), ` + rest + ` FROM spec_revisions LIMIT 1`,
		`INSERT INTO spec_revisions SELECT * FROM spec_revisions WHERE true ON CONFLICT (spec_id, revision) DO UPDATE SET make = 'x'`,
		`UPDATE spec_changes SET reason = 'x'`,
		`DELETE FROM spec_changes WHERE kind = 'WITHDRAWN'`,
		`REPLACE INTO spec_changes SELECT * FROM spec_changes`,
		`REPLACE INTO spec_changes SELECT 4, kind, spec_id, revision, recorded_time, reason FROM spec_changes WHERE kind = 'WITHDRAWN'`,
		`INSERT INTO spec_changes SELECT 5, kind, spec_id, 2, recorded_time, reason FROM spec_changes WHERE kind = 'WITHDRAWN'`,
		`INSERT INTO spec_changes SELECT 4, kind, spec_id, 2, recorded_time - 1, reason FROM spec_changes WHERE kind = 'WITHDRAWN'`,
	} {
		if _, err := db.Exec(statement); err == nil || !strings.Contains(err.Error(), "append-only") {
			t.Errorf("%.80s: got %v, wanted it refused", statement, err)
		}
	}
}

// TestCorrupt damages what is stored, as a disk may.
func TestCorrupt(t *testing.T) {
	t.Parallel()
	for name, damage := range map[string]string{
		"sheet, one byte": `UPDATE spec_revisions SET sheet = CAST(replace(CAST(sheet AS TEXT), 'Sample Works', 'Simple Works') AS BLOB)`,
		"sheet, cut":      `UPDATE spec_revisions SET sheet = substr(sheet, 1, length(sheet) - 1)`,
		"sheet, empty":    `UPDATE spec_revisions SET sheet = x''`,
		"digest":          `UPDATE spec_revisions SET digest = zeroblob(32)`,
		"effective time":  `UPDATE spec_revisions SET effective_time = effective_time + 1`,
		"other spec's":    `UPDATE spec_revisions SET (sheet, digest) = (SELECT sheet, digest FROM spec_drafts)`,
	} {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			s := openAt(t, filepath.Join(t.TempDir(), "test.db"))
			ctx := context.Background()
			if _, _, err := s.PublishSpec(ctx, storetest.Revision(1, 1), ""); err != nil {
				t.Fatal(err)
			}
			other := store.Draft{SpecID: storetest.SpecID(2), Sheet: storetest.Sheet(2, 1, 3), UpdateTime: storetest.Base}
			if _, err := s.SaveDraft(ctx, other, ""); err != nil {
				t.Fatal(err)
			}
			if _, err := s.Spec(ctx, storetest.SpecID(1), 1); err != nil {
				t.Fatal(err)
			}
			for _, statement := range []string{`DROP TRIGGER spec_revisions_never_change`, damage} {
				if _, err := s.writer.conn.ExecContext(ctx, statement); err != nil {
					t.Fatal(err)
				}
			}
			if p, err := s.Spec(ctx, storetest.SpecID(1), 1); !errors.Is(err, store.ErrCorrupt) || p.Sheet != nil {
				t.Errorf("got %v, error %v, wanted ErrCorrupt", p.Sheet, err)
			}
			if history, err := s.SpecHistory(ctx, storetest.SpecID(1)); err != nil || len(history) != 1 {
				t.Errorf("history: got %d, error %v", len(history), err)
			}
		})
	}
}

func TestCorruptDraft(t *testing.T) {
	t.Parallel()
	s := openAt(t, filepath.Join(t.TempDir(), "test.db"))
	ctx := context.Background()
	draft := store.Draft{SpecID: storetest.SpecID(2), Sheet: storetest.Sheet(2, 1, 3), UpdateTime: storetest.Base}
	if _, err := s.SaveDraft(ctx, draft, ""); err != nil {
		t.Fatal(err)
	}
	const damage = `UPDATE spec_drafts SET sheet = CAST(replace(CAST(sheet AS TEXT), 'Sample', 'Simple') AS BLOB)`
	if _, err := s.writer.conn.ExecContext(ctx, damage); err != nil {
		t.Fatal(err)
	}
	if _, err := s.GetDraft(ctx, storetest.SpecID(2)); !errors.Is(err, store.ErrCorrupt) {
		t.Errorf("got %v, wanted ErrCorrupt", err)
	}
}

// TestOpenTogether opens one file of schema 1 many times at once, and one that is
// not there yet.
func TestOpenTogether(t *testing.T) {
	t.Parallel()
	for round := range 4 {
		path := filepath.Join(t.TempDir(), "test.db")
		if round%2 == 0 {
			if err := os.WriteFile(path, readFrozen(t, "v1.sqlite"), 0o600); err != nil {
				t.Fatal(err)
			}
		}
		var wait sync.WaitGroup
		for range 8 {
			wait.Go(func() {
				s, err := Open(context.Background(), path)
				if err != nil {
					t.Errorf("Open: %v", err)
					return
				}
				if err := s.Close(); err != nil {
					t.Errorf("Close: %v", err)
				}
			})
		}
		wait.Wait()
		checkIntegrity(t, openAt(t, path))
	}
}

// TestTwoProcesses opens one file twice, as two processes would.
func TestTwoProcesses(t *testing.T) {
	t.Parallel()
	path := filepath.Join(t.TempDir(), "test.db")
	stores := []*Store{openAt(t, path), openAt(t, path)}
	const submits = 60
	var wait sync.WaitGroup
	for i := range submits {
		wait.Go(func() {
			if _, _, err := stores[i%2].Submit(context.Background(), storetest.Small(i/2)); err != nil {
				t.Errorf("submit %d: %v", i, err)
			}
		})
	}
	wait.Wait()
	for _, s := range stores {
		page, _, err := s.List(context.Background(), store.Query{Limit: 100})
		if err != nil || len(page) != submits/2 {
			t.Errorf("got %d set-ups, error %v, wanted %d", len(page), err, submits/2)
		}
	}
}

// TestTwoProcessesPublish publishes through two stores on one file: positions are
// one order, and of two that want the same revision one gets it.
func TestTwoProcessesPublish(t *testing.T) {
	t.Parallel()
	path := filepath.Join(t.TempDir(), "test.db")
	stores := []*Store{openAt(t, path), openAt(t, path)}
	const specs = 20
	var won atomic.Int64
	var wait sync.WaitGroup
	for i := range 2 * specs {
		wait.Go(func() {
			p := storetest.Revision(i/2, 1)
			p.Sheet.ChangeNote = fmt.Sprintf("by %d", i%2)
			_, _, err := stores[i%2].PublishSpec(context.Background(), p, "")
			switch {
			case err == nil:
				won.Add(1)
			case !errors.Is(err, store.ErrSpecChanged):
				t.Errorf("publish %d: %v", i, err)
			}
		})
	}
	wait.Wait()
	for _, s := range stores {
		if changes := storetest.CheckSpecs(t, s); len(changes) != specs || won.Load() != specs {
			t.Errorf("got %d changes, %d published, wanted %d", len(changes), won.Load(), specs)
		}
	}
}
