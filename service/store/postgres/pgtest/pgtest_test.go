package pgtest_test

import (
	"bufio"
	"context"
	"fmt"
	"os"
	"os/exec"
	"strings"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"

	"github.com/snapgauge/snapgauge/service/store/postgres/pgtest"
)

const helperVariable = "SNAPGAUGE_TEST_PGTEST_HELPER"

func TestMain(m *testing.M) { os.Exit(pgtest.Run(m)) }

func TestDatabases(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	one, two := pgtest.Database(t), pgtest.Database(t)
	for i, dsn := range []string{one, two} {
		conn, err := pgx.Connect(ctx, dsn)
		if err != nil {
			t.Fatal(err)
		}
		defer conn.Close(ctx)
		var name, encoding string
		err = conn.QueryRow(ctx, `SELECT current_database(), current_setting('server_encoding')`).Scan(&name, &encoding)
		if err != nil || !strings.Contains(dsn, "dbname="+name+" ") || encoding != "UTF8" {
			t.Errorf("%d: got database %s in %s, error %v", i, name, encoding, err)
		}
	}
	if one == two {
		t.Error("two tests share one database")
	}
}

// TestKill kills a server and starts it again: what was committed is there.
func TestKill(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	s := pgtest.Start(t, pgtest.Options{Durable: true})
	execute := func(text string) (n int, err error) {
		conn, err := pgx.Connect(ctx, s.DSN("postgres"))
		if err != nil {
			return 0, err
		}
		defer conn.Close(ctx)
		err = conn.QueryRow(ctx, text).Scan(&n)
		return n, err
	}
	if _, err := execute(`SELECT 1 FROM (SELECT pg_sleep(0)) x`); err != nil {
		t.Fatal(err)
	}
	conn, err := pgx.Connect(ctx, s.DSN("postgres"))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := conn.Exec(ctx, `CREATE TABLE kept (n int)`); err != nil {
		t.Fatal(err)
	}
	for i := range 3 {
		if n, err := execute(fmt.Sprintf(`INSERT INTO kept VALUES (%d) RETURNING n`, i)); err != nil || n != i {
			t.Fatalf("got %d, error %v", n, err)
		}
		if err := s.Kill(); err != nil {
			t.Fatal(err)
		}
		if err := s.Restart(); err != nil {
			t.Fatal(err)
		}
		if n, err := execute(`SELECT count(*)::int FROM kept`); err != nil || n != i+1 {
			t.Errorf("got %d rows, error %v, wanted %d", n, err, i+1)
		}
	}
}

// TestOrphan is the helper of TestDiesWithTests.
func TestOrphan(t *testing.T) {
	if os.Getenv(helperVariable) == "" {
		t.Skip("for TestDiesWithTests")
	}
	fmt.Println("DSN", pgtest.Database(t))
	time.Sleep(time.Minute)
}

// TestDiesWithTests kills a test process and sees its server gone.
func TestDiesWithTests(t *testing.T) {
	t.Parallel()
	pgtest.Shared(t) // or skip
	executable, err := os.Executable()
	if err != nil {
		t.Fatal(err)
	}
	helper := exec.Command(executable, "-test.run=^TestOrphan$", "-test.v")
	helper.Env = append(os.Environ(), helperVariable+"=1")
	stdout, err := helper.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := helper.Start(); err != nil {
		t.Fatal(err)
	}
	dsn := ""
	for lines := bufio.NewScanner(stdout); dsn == "" && lines.Scan(); {
		if rest, ok := strings.CutPrefix(lines.Text(), "DSN "); ok {
			dsn = rest
		}
	}
	if dsn == "" {
		t.Fatal("the helper started no server")
	}
	dir, _, _ := strings.Cut(strings.TrimPrefix(dsn, "host="), " ")
	t.Cleanup(func() { _ = os.RemoveAll(dir) })
	connect := func() error {
		ctx, cancel := context.WithTimeout(context.Background(), time.Second)
		defer cancel()
		conn, err := pgx.Connect(ctx, dsn)
		if err != nil {
			return err
		}
		return conn.Close(ctx)
	}
	if err := connect(); err != nil {
		t.Fatal(err)
	}
	if err := helper.Process.Kill(); err != nil {
		t.Fatal(err)
	}
	_ = helper.Wait() // killed
	for deadline := time.Now().Add(20 * time.Second); connect() == nil; time.Sleep(10 * time.Millisecond) {
		if time.Now().After(deadline) {
			t.Fatal("the server outlives its tests")
		}
	}
}
