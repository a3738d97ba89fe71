// Package pgtest gives tests a real PostgreSQL: a private server, started from
// the binaries of Debian's package (postgresql-15 or later) on a Unix socket in
// a temporary directory, and stopped when the tests end. Nothing of it outlives
// the test process, even one that is killed.
//
// A package shares one server and gives each test a database of its own:
//
//	func TestMain(m *testing.M) { os.Exit(pgtest.Run(m)) }
//
//	func TestSomething(t *testing.T) {
//		s, err := postgres.Open(ctx, pgtest.Database(t))
//
// Where the binaries are missing, tests are skipped; in continuous integration
// (CI=true) they fail. SNAPGAUGE_PG_BIN names another directory of binaries.
package pgtest
