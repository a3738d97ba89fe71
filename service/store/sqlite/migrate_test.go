package sqlite

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"github.com/google/go-cmp/cmp"
	"google.golang.org/protobuf/encoding/protojson"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/testing/protocmp"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/store"
	"github.com/snapgauge/snapgauge/service/store/storetest"
)

var freeze = flag.Bool("migrate.freeze", false,
	"write testdata/v{N}.sqlite and .json for the schema of today, if they do not exist yet")

// frozen are the databases of released schemas, and the SHA-256 of each file.
// They were written once and never change. A new schema adds a line.
var frozen = map[string]string{
	"v1.sqlite": "d88ebeb95c08cbf6c6bb31f69d5a0ea64abd35db849c4847ab82b1107ebe0623",
	"v1.json":   "ac2776712dd27091b3ca4dcaae52c8f9758f33ad8123fb063d1795c257372a03",
	"v2.sqlite": "9c672640216bd0252534f8ef4b1d2e16f6dd0362638976281910580eb1a9dce9",
	"v2.json":   "813977838264a43b5ed0acd01c1c0abecde71a51586e79a9e9d367148b3003eb",
}

// frozenContent is the JSON beside a frozen database. That of version 1 is its
// list of set-ups alone.
type frozenContent struct {
	Setups  []frozenSetup
	Specs   []frozenSpec
	Changes []store.Change
	Drafts  []frozenSpec
}

// frozenSpec is a revision or a draft; of a draft only the sheet counts.
type frozenSpec struct {
	Head  store.PublishedSpec
	Sheet json.RawMessage
}

// frozenSetup is a set-up in the JSON beside a frozen database.
type frozenSetup struct {
	ID, RequestID, Shop string
	CreateTime          time.Time
	SupersededBy        string
	Record, Report      json.RawMessage
}

// TestMigrate opens a copy of each frozen database with the code of today.
func TestMigrate(t *testing.T) {
	t.Parallel()
	if *freeze {
		writeFrozen(t)
	}
	for version := 1; version <= schemaVersion; version++ {
		name := fmt.Sprintf("v%d", version)
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			path := filepath.Join(t.TempDir(), "copy.db")
			if err := os.WriteFile(path, readFrozen(t, name+".sqlite"), 0o600); err != nil {
				t.Fatal(err)
			}
			content := readFrozen(t, name+".json")
			if version == 1 {
				content = slices.Concat([]byte(`{"Setups":`), content, []byte(`}`))
			}
			all, want := parseFrozen(t, content)
			s := openAt(t, path)
			checkIntegrity(t, s)
			got, _, err := s.List(context.Background(), store.Query{Limit: store.MaxLimit})
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(want, got, protocmp.Transform()); diff != "" {
				t.Errorf("(-frozen +got)\n%s", diff)
			}
			checkFrozenSpecs(t, s, all)
			if diff := cmp.Diff(schema(t, openAt(t, filepath.Join(t.TempDir(), "new.db"))), schema(t, s)); diff != "" {
				t.Errorf("the schema is not that of a new database: (-new +migrated)\n%s", diff)
			}
			// What was stored then is still recognised, and more can be added.
			again := want[len(want)-1]
			again.SupersededBy = ""
			if stored, created, err := s.Submit(context.Background(), again); err != nil || created || stored.ID != again.ID {
				t.Errorf("again: got %s, created %t, error %v", stored.ID, created, err)
			}
			if _, created, err := s.Submit(context.Background(), storetest.Sample(1000)); err != nil || !created {
				t.Errorf("new: created %t, error %v", created, err)
			}
		})
	}
}

func readFrozen(t *testing.T, name string) []byte {
	t.Helper()
	content, err := os.ReadFile(filepath.Join("testdata", name))
	if err != nil {
		t.Fatal(err)
	}
	sum := sha256.Sum256(content)
	if got := hex.EncodeToString(sum[:]); got != frozen[name] {
		t.Errorf("testdata/%s is frozen: got SHA-256 %s, wanted %s", name, got, frozen[name])
	}
	return content
}

func parseFrozen(t *testing.T, content []byte) (frozenContent, []store.Setup) {
	t.Helper()
	var all frozenContent
	if err := json.Unmarshal(content, &all); err != nil {
		t.Fatal(err)
	}
	var setups []store.Setup
	for _, f := range all.Setups {
		s := store.Setup{
			ID: f.ID, RequestID: f.RequestID, Shop: f.Shop, CreateTime: f.CreateTime, SupersededBy: f.SupersededBy,
			Record: new(pb.SetupRecord), Report: new(pb.Report),
		}
		if err := errors.Join(protojson.Unmarshal(f.Record, s.Record), protojson.Unmarshal(f.Report, s.Report)); err != nil {
			t.Fatal(err)
		}
		setups = append(setups, s)
	}
	return all, setups
}

func parseSheet(t *testing.T, content json.RawMessage) *pb.SpecSheet {
	t.Helper()
	sheet := new(pb.SpecSheet)
	if err := protojson.Unmarshal(content, sheet); err != nil {
		t.Fatal(err)
	}
	return sheet
}

// checkFrozenSpecs looks for what was stored of specs, and adds to it.
func checkFrozenSpecs(t *testing.T, s *Store, all frozenContent) {
	t.Helper()
	ctx := context.Background()
	if diff := cmp.Diff(all.Changes, storetest.CheckSpecs(t, s)); diff != "" {
		t.Errorf("changes: (-frozen +got)\n%s", diff)
	}
	for _, f := range all.Specs {
		f.Head.Sheet = parseSheet(t, f.Sheet)
		got, err := s.Spec(ctx, f.Head.SpecID, f.Head.Revision)
		if diff := cmp.Diff(f.Head, got, protocmp.Transform()); err != nil || diff != "" {
			t.Errorf("%s: error %v (-frozen +got)\n%s", f.Head.Name(), err, diff)
		}
		// Its digest is what it was, so the same content is still the same.
		again := store.PublishedSpec{Sheet: f.Head.Sheet, RecordedTime: storetest.Base}
		if got, created, err := s.PublishSpec(ctx, again, ""); err != nil || created || got.Digest != f.Head.Digest {
			t.Errorf("%s again: got digest %s, created %t, error %v", f.Head.Name(), got.Digest, created, err)
		}
	}
	for _, f := range all.Drafts {
		sheet := parseSheet(t, f.Sheet)
		if got, err := s.GetDraft(ctx, sheet.GetSpecId()); err != nil || !proto.Equal(sheet, got.Sheet) {
			t.Errorf("draft of %s: got %v, error %v", sheet.GetSpecId(), got.Sheet, err)
		}
	}
	p, created, err := s.PublishSpec(ctx, storetest.Revision(1000, 1), "")
	if err != nil || !created || p.Position != int64(len(all.Changes))+1 {
		t.Errorf("new: got position %d, created %t, error %v", p.Position, created, err)
	}
}

// writeFrozenSpecs stores some of everything and returns it.
func writeFrozenSpecs(t *testing.T, s *Store) frozenContent {
	t.Helper()
	ctx := context.Background()
	for n := range 2 {
		etag := ""
		for revision := 1; revision <= 3; revision++ {
			p, _, err := s.PublishSpec(ctx, storetest.Revision(n, revision), etag)
			if err != nil {
				t.Fatal(err)
			}
			etag = p.Etag
		}
	}
	if _, err := s.WithdrawSpec(ctx, storetest.SpecID(1), 2, "Invented misprint", storetest.Base.AddDate(1, 0, 0)); err != nil {
		t.Fatal(err)
	}
	draft := store.Draft{SpecID: storetest.SpecID(1), Sheet: storetest.Sheet(1, 4, 1), UpdateTime: storetest.Base}
	if _, err := s.SaveDraft(ctx, draft, ""); err != nil {
		t.Fatal(err)
	}
	all := frozenContent{Changes: storetest.CheckSpecs(t, s)}
	marshal := func(sheet *pb.SpecSheet) json.RawMessage {
		content, err := protojson.Marshal(sheet)
		if err != nil {
			t.Fatal(err)
		}
		return content
	}
	for _, c := range all.Changes {
		if c.Kind == store.Published {
			p, err := s.Spec(ctx, c.SpecID, c.Revision)
			if err != nil {
				t.Fatal(err)
			}
			f := frozenSpec{Head: p, Sheet: marshal(p.Sheet)}
			f.Head.Sheet = nil
			all.Specs = append(all.Specs, f)
		}
	}
	all.Drafts = append(all.Drafts, frozenSpec{Sheet: marshal(draft.Sheet)})
	return all
}

func writeFrozen(t *testing.T) {
	t.Helper()
	path := filepath.Join("testdata", fmt.Sprintf("v%d.sqlite", schemaVersion))
	if _, err := os.Stat(path); !errors.Is(err, fs.ErrNotExist) {
		t.Fatalf("%s exists, and is frozen", path)
	}
	s, err := Open(context.Background(), path)
	if err != nil {
		t.Fatal(err)
	}
	for i := range 12 {
		setup := storetest.Small(i)
		if i == 5 {
			setup = storetest.Sample(i)
		}
		if i >= 6 && i%3 == 0 { // 6 and 9 belong to the shop of 3
			setup.Record.Supersedes = store.Name(storetest.Small(i - 3).ID)
		}
		if _, _, err := s.Submit(context.Background(), setup); err != nil {
			t.Fatal(err)
		}
	}
	setups, _, err := s.List(context.Background(), store.Query{Limit: 100})
	if err != nil {
		t.Fatal(err)
	}
	all := writeFrozenSpecs(t, s)
	for _, s := range setups {
		record, err := protojson.Marshal(s.Record)
		if err != nil {
			t.Fatal(err)
		}
		report, err := protojson.Marshal(s.Report)
		if err != nil {
			t.Fatal(err)
		}
		all.Setups = append(all.Setups, frozenSetup{s.ID, s.RequestID, s.Shop, s.CreateTime, s.SupersededBy, record, report})
	}
	content, err := json.MarshalIndent(all, "", " ")
	if err != nil {
		t.Fatal(err)
	}
	if err := errors.Join(s.Close(), os.WriteFile(strings.TrimSuffix(path, ".sqlite")+".json", append(content, '\n'), 0o644)); err != nil {
		t.Fatal(err)
	}
}

// schema is the text of everything in the database.
func schema(t *testing.T, s *Store) []string {
	t.Helper()
	rows, err := s.readers.Query(`SELECT type || ' ' || name || ': ' || coalesce(sql, '') FROM sqlite_schema ORDER BY 1`)
	if err != nil {
		t.Fatal(err)
	}
	defer rows.Close()
	var lines []string
	for rows.Next() {
		var line string
		if err := rows.Scan(&line); err != nil {
			t.Fatal(err)
		}
		lines = append(lines, line)
	}
	if err := rows.Err(); err != nil {
		t.Fatal(err)
	}
	return lines
}

// laterSchema is the schema of today and one file more.
func laterSchema(t *testing.T, text string) fs.FS {
	t.Helper()
	files := make(fstest.MapFS)
	names, err := fs.Glob(migrations(), "*.sql")
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range names {
		content, err := fs.ReadFile(migrations(), name)
		if err != nil {
			t.Fatal(err)
		}
		files[name] = &fstest.MapFile{Data: content}
	}
	files[fmt.Sprintf("%05d_later.sql", schemaVersion+1)] = &fstest.MapFile{
		Data: []byte("-- +goose Up\n" + fmt.Sprintf(text, schemaVersion+1)),
	}
	return files
}

func migrateAt(t *testing.T, path string, files fs.FS, want int) error {
	t.Helper()
	db, err := open(path, toWrite, 1)
	if err != nil {
		t.Fatal(err)
	}
	return errors.Join(migrate(context.Background(), db, files, want), db.Close())
}

// TestNewerSchema goes one schema ahead and comes back with the code of today.
func TestNewerSchema(t *testing.T) {
	t.Parallel()
	path := filepath.Join(t.TempDir(), "test.db")
	s := openAt(t, path)
	if _, _, err := s.Submit(context.Background(), storetest.Small(1)); err != nil {
		t.Fatal(err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	// A file that fails in its middle leaves nothing behind.
	broken := laterSchema(t, `ALTER TABLE setups ADD COLUMN bay TEXT NOT NULL DEFAULT '';
UPDATE meta SET schema_version = %[1]d;
INSERT INTO no_such_table VALUES (1);`)
	if err := migrateAt(t, path, broken, schemaVersion+1); err == nil {
		t.Fatal("a broken migration went well")
	}
	s = openAt(t, path)
	checkIntegrity(t, s)
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	// A file that forgets its number is found out.
	forgetful := laterSchema(t, `CREATE TABLE bay%[1]d (a);`)
	if err := migrateAt(t, filepath.Join(t.TempDir(), "forgetful.db"), forgetful, schemaVersion+1); err == nil {
		t.Error("a migration without its number went well")
	}
	later := laterSchema(t, `ALTER TABLE setups ADD COLUMN bay TEXT NOT NULL DEFAULT '';
UPDATE meta SET schema_version = %[1]d;`)
	if err := migrateAt(t, path, later, schemaVersion+1); err != nil {
		t.Fatal(err)
	}
	before, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	_, err = Open(context.Background(), path)
	if !errors.Is(err, ErrNewerSchema) || !strings.Contains(err.Error(), fmt.Sprintf("got %d, wanted at most %d", schemaVersion+1, schemaVersion)) {
		t.Errorf("got %v, wanted ErrNewerSchema with both versions", err)
	}
	after, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if !bytes.Equal(before, after) {
		t.Error("the refused file was changed")
	}
}

// TestMigrationsNumbered holds the file names and the constant together.
func TestMigrationsNumbered(t *testing.T) {
	t.Parallel()
	names, err := fs.Glob(migrations(), "*.sql")
	if err != nil {
		t.Fatal(err)
	}
	if len(names) != schemaVersion {
		t.Errorf("got %d migrations, wanted %d", len(names), schemaVersion)
	}
	for i, name := range names {
		if prefix := fmt.Sprintf("%05d_", i+1); !strings.HasPrefix(name, prefix) {
			t.Errorf("got %s, wanted %s...", name, prefix)
		}
		content, err := fs.ReadFile(migrations(), name)
		if err != nil {
			t.Fatal(err)
		}
		if strings.Contains(string(content), "+goose Down") {
			t.Errorf("%s goes backward", name)
		}
	}
}
