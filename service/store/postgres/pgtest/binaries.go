//go:build unix

package pgtest

import (
	"errors"
	"fmt"
	"os"
	"os/user"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"testing"
)

const binVariable = "SNAPGAUGE_PG_BIN"

// errMissing says that there is no PostgreSQL to be started.
var errMissing = errors.New("PostgreSQL's server is not installed (Debian: apt-get install postgresql-15)")

// need ends a test that err keeps from running: it is skipped where PostgreSQL is
// missing and that may be so, and fails otherwise.
func need(t testing.TB, err error) {
	t.Helper()
	switch {
	case err == nil:
	case errors.Is(err, errMissing) && os.Getenv("CI") != "true":
		t.Skip(err)
	default:
		t.Fatal(err)
	}
}

// binaries returns the directory of the newest server's binaries.
func binaries() (string, error) {
	dirs := []string{os.Getenv(binVariable)}
	if dirs[0] == "" {
		var err error
		if dirs, err = filepath.Glob("/usr/lib/postgresql/*/bin"); err != nil {
			return "", err
		}
	}
	best, newest := "", -1
	for _, dir := range dirs {
		if _, err := os.Stat(filepath.Join(dir, "initdb")); err != nil {
			continue
		}
		if _, err := os.Stat(filepath.Join(dir, "postgres")); err != nil {
			continue
		}
		version, _ := strconv.Atoi(filepath.Base(filepath.Dir(dir))) // nought where it says none
		if version > newest {
			best, newest = dir, version
		}
	}
	if best == "" {
		return "", errMissing
	}
	return best, nil
}

// account is whom the server runs as: PostgreSQL refuses to run as root. Nil
// means as the tests do.
func account() (*syscall.Credential, error) {
	if os.Geteuid() != 0 {
		return nil, nil
	}
	for _, name := range []string{"postgres", "nobody"} {
		u, err := user.Lookup(name)
		if err != nil {
			continue
		}
		uid, uidErr := strconv.ParseUint(u.Uid, 10, 32)
		gid, gidErr := strconv.ParseUint(u.Gid, 10, 32)
		if err := errors.Join(uidErr, gidErr); err != nil {
			return nil, fmt.Errorf("user %s: %w", name, err)
		}
		return &syscall.Credential{Uid: uint32(uid), Gid: uint32(gid)}, nil
	}
	return nil, errors.New("found neither user postgres nor nobody to run the server as")
}

// environment is the tests' without what libpq and the locale would make of it.
func environment() []string {
	var kept []string
	for _, v := range os.Environ() {
		if !strings.HasPrefix(v, "PG") && !strings.HasPrefix(v, "LC_") && !strings.HasPrefix(v, "LANG") {
			kept = append(kept, v)
		}
	}
	return append(kept, "LC_ALL=C.UTF-8", "TZ=UTC")
}
