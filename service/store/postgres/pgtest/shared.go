//go:build unix

package pgtest

import (
	"context"
	"fmt"
	"os"
	"sync"
	"sync/atomic"
	"testing"
)

// shared is the server of this test binary.
var shared struct {
	once   sync.Once
	server *Server
	err    error
	names  atomic.Int64
}

// Run runs the tests of a package and then stops the server that they shared, if
// one of them has asked for it. It returns the exit code.
func Run(m *testing.M) int {
	code := m.Run()
	if shared.server != nil {
		if err := shared.server.remove(); err != nil {
			fmt.Fprintln(os.Stderr, "stop PostgreSQL:", err)
			return max(code, 1)
		}
	}
	return code
}

// Shared returns the server of this test binary, which it starts when it is asked
// for the first time. TestMain must call [Run].
func Shared(t testing.TB) *Server {
	t.Helper()
	shared.once.Do(func() { shared.server, shared.err = create(Options{}) })
	need(t, shared.err)
	return shared.server
}

// Database returns how to connect to a new, empty database of the shared server.
// It goes away with the test.
func Database(t testing.TB) string {
	t.Helper()
	server := Shared(t)
	name := fmt.Sprintf("test_%d", shared.names.Add(1))
	if err := server.Create(context.Background(), name); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() {
		if err := server.Drop(context.Background(), name); err != nil {
			t.Errorf("drop database: %v", err)
		}
	})
	return server.DSN(name)
}
