//go:build unix

package pgtest

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"github.com/jackc/pgx/v5"
)

// Options say how a server is to be run.
type Options struct {
	// Durable forces every commit to the disk, as a server in use does. Without
	// it a killed process still loses nothing, but a machine may.
	Durable bool
	// Settings are further options of the server, such as
	// "max_connections=50".
	Settings []string
}

// Server is a private PostgreSQL server. Its methods are for one goroutine.
type Server struct {
	bin     string
	dir     string // of the socket and the data
	as      *syscall.Credential
	options Options

	process *process
}

// startTime is what a server is given to become ready, recovery included.
const startTime = 60 * time.Second

// Start starts a server for one test, which stops and removes it at its end.
func Start(t testing.TB, o Options) *Server {
	t.Helper()
	s, err := create(o)
	need(t, err)
	t.Cleanup(func() {
		if err := s.remove(); err != nil {
			t.Errorf("stop PostgreSQL: %v", err)
		}
	})
	return s
}

// create makes a server and starts it.
func create(o Options) (_ *Server, err error) {
	s := &Server{options: o}
	if s.bin, err = binaries(); err != nil {
		return nil, err
	}
	if s.as, err = account(); err != nil {
		return nil, err
	}
	// A socket's path must be short, which a test's own directory is not.
	if s.dir, err = os.MkdirTemp("", "pgtest-"); err != nil {
		return nil, err
	}
	defer func() {
		if err != nil {
			err = errors.Join(err, s.remove())
		}
	}()
	if s.as != nil {
		if err := os.Chown(s.dir, int(s.as.Uid), int(s.as.Gid)); err != nil {
			return nil, err
		}
	}
	initdb := s.command("initdb", "--pgdata", s.data(), "--username", "snapgauge", "--auth", "trust",
		"--encoding", "UTF8", "--locale", "C.UTF-8", "--no-sync")
	if output, err := initdb.CombinedOutput(); err != nil {
		return nil, fmt.Errorf("initdb: %w\n%s", err, output)
	}
	if err := s.Restart(); err != nil {
		return nil, err
	}
	return s, nil
}

func (s *Server) data() string { return filepath.Join(s.dir, "data") }

func (s *Server) command(name string, args ...string) *exec.Cmd {
	cmd := exec.Command(filepath.Join(s.bin, name), args...)
	cmd.Dir, cmd.Env = s.dir, environment()
	cmd.SysProcAttr = &syscall.SysProcAttr{Credential: s.as}
	return cmd
}

// DSN returns how to connect to a database of the server, as its owner.
func (s *Server) DSN(database string) string {
	return fmt.Sprintf("host=%s port=5432 user=snapgauge dbname=%s sslmode=disable", s.dir, database)
}

// Create makes an empty database.
func (s *Server) Create(ctx context.Context, database string) error {
	return s.execute(ctx, "CREATE DATABASE "+pgx.Identifier{database}.Sanitize())
}

// Drop removes a database and whoever is connected to it.
func (s *Server) Drop(ctx context.Context, database string) error {
	return s.execute(ctx, "DROP DATABASE IF EXISTS "+pgx.Identifier{database}.Sanitize()+" WITH (FORCE)")
}

func (s *Server) execute(ctx context.Context, statement string) error {
	conn, err := pgx.Connect(ctx, s.DSN("postgres"))
	if err != nil {
		return err
	}
	_, err = conn.Exec(ctx, statement)
	return errors.Join(err, conn.Close(ctx))
}

// Restart starts a server that was killed, and waits until it has recovered.
func (s *Server) Restart() error {
	if s.process != nil {
		return errors.New("the server runs")
	}
	onOff := map[bool]string{true: "on", false: "off"}[s.options.Durable]
	args := []string{"-D", s.data(), "-k", s.dir, "-p", "5432"}
	for _, setting := range append([]string{
		"listen_addresses=", "max_connections=400", "shared_buffers=64MB", "log_min_messages=warning",
		"fsync=" + onOff, "full_page_writes=" + onOff, "synchronous_commit=on",
	}, s.options.Settings...) {
		args = append(args, "-c", setting)
	}
	var last error
	for deadline := time.Now().Add(startTime); time.Now().Before(deadline); time.Sleep(20 * time.Millisecond) {
		if s.process == nil {
			p, err := start(s.command("postgres", args...))
			if err != nil {
				return err
			}
			s.process = p
		}
		// Right after a kill a new server may find the memory of the old one
		// still in use, and end: then the next one is tried.
		if s.process.ended() {
			last = fmt.Errorf("postgres ended: %s", s.process.log())
			s.process = nil
			continue
		}
		ctx, cancel := context.WithTimeout(context.Background(), time.Second)
		last = s.execute(ctx, "SELECT 1")
		cancel()
		if last == nil {
			return nil
		}
	}
	return fmt.Errorf("PostgreSQL was not ready in %v: %w", startTime, last)
}

// Kill ends the postmaster as kill -9 does. Its children see that and end by
// themselves.
func (s *Server) Kill() error { return s.stop(syscall.SIGKILL) }

func (s *Server) stop(signal syscall.Signal) error {
	if s.process == nil {
		return nil
	}
	p := s.process
	s.process = nil
	if err := p.cmd.Process.Signal(signal); err != nil && !errors.Is(err, os.ErrProcessDone) {
		return err
	}
	select {
	case <-p.done:
		return nil
	case <-time.After(startTime):
		return fmt.Errorf("postgres did not end after %v", signal)
	}
}

func (s *Server) remove() error {
	// Immediate: the data goes with it.
	return errors.Join(s.stop(syscall.SIGQUIT), os.RemoveAll(s.dir))
}

// process is a running postmaster.
type process struct {
	cmd    *exec.Cmd
	done   chan struct{}
	output *buffer
}

// start starts a command that ends when this process does, even where it is
// killed.
func start(cmd *exec.Cmd) (*process, error) {
	p := &process{cmd: cmd, done: make(chan struct{}), output: new(buffer)}
	cmd.Stdout, cmd.Stderr = p.output, p.output
	dieWithParent(cmd.SysProcAttr)
	started := make(chan error)
	go func() {
		// The kernel takes the end of the thread that started the child for
		// that of the parent: this one must last as long as the child.
		runtime.LockOSThread()
		defer runtime.UnlockOSThread()
		err := cmd.Start()
		started <- err
		if err == nil {
			_ = cmd.Wait() // how it ended is in its log
			close(p.done)
		}
	}()
	return p, <-started
}

func (p *process) ended() bool {
	select {
	case <-p.done:
		return true
	default:
		return false
	}
}

func (p *process) log() string { return strings.TrimSpace(p.output.String()) }

// buffer keeps the end of what is written to it.
type buffer struct {
	mu  sync.Mutex
	buf bytes.Buffer
}

const maxLog = 64 << 10

func (b *buffer) Write(p []byte) (int, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.buf.Len()+len(p) > maxLog {
		b.buf.Reset()
	}
	return b.buf.Write(p)
}

func (b *buffer) String() string {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.buf.String()
}
