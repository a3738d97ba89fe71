package sqlite

import (
	"database/sql"
	"net/url"
	"strings"

	_ "modernc.org/sqlite" // the driver
)

// access is what connections are for.
type access int

const (
	toInspect access = iota // change nothing, not even the journal mode
	toWrite
	toRead
)

// dsn names the database file with what is to be set on every connection.
func dsn(path string, a access) string {
	pragmas := []string{"busy_timeout(5000)"}
	switch a {
	case toInspect:
		pragmas = append(pragmas, "query_only(1)")
	case toWrite:
		pragmas = append(pragmas, "journal_mode(WAL)", "synchronous(FULL)", "foreign_keys(1)",
			"journal_size_limit(67108864)", "temp_store(MEMORY)")
	case toRead:
		pragmas = append(pragmas, "query_only(1)", "foreign_keys(1)", "temp_store(MEMORY)")
	}
	query := make(url.Values)
	for _, p := range pragmas {
		query.Add("_pragma", p)
	}
	// Only these three mean something in a file: URI of SQLite.
	escaped := strings.NewReplacer("%", "%25", "?", "%3f", "#", "%23").Replace(path)
	return "file:" + escaped + "?" + query.Encode()
}

// open makes a pool of at most so many connections, which stay open.
func open(path string, a access, connections int) (*sql.DB, error) {
	db, err := sql.Open("sqlite", dsn(path, a))
	if err != nil {
		return nil, err
	}
	db.SetMaxOpenConns(connections)
	db.SetMaxIdleConns(connections)
	return db, nil
}
