package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"time"
)

const (
	startTimeout = 30 * time.Second
	stopTimeout  = 10 * time.Second
)

// server is a running snapgauged.
type server struct {
	address string
	cmd     *exec.Cmd
	log     string        // path of what it writes
	ended   chan struct{} // closed when it has ended
	err     error         // how, once ended
}

// start runs the server in dir and waits until it answers.
func start(ctx context.Context, program, dir string) (*server, error) {
	addressFile := filepath.Join(dir, "address")
	s := &server{log: filepath.Join(dir, "server.log"), ended: make(chan struct{})}
	log, err := os.Create(s.log)
	if err != nil {
		return nil, err
	}
	defer func() { _ = log.Close() }() // the server has it open for itself
	// Not with the context: the server is stopped, not killed.
	s.cmd = exec.Command(program,
		"--listen", "127.0.0.1:0",
		"--metrics-listen", "",
		"--store", filepath.Join(dir, "store.db"),
		"--address-file", addressFile,
	)
	s.cmd.Dir = dir
	s.cmd.Env = environment()
	s.cmd.Stdout, s.cmd.Stderr = log, log
	if err := s.cmd.Start(); err != nil {
		return nil, fmt.Errorf("the server does not start: %w", err)
	}
	go func() {
		s.err = s.cmd.Wait()
		close(s.ended)
	}()
	if err := s.wait(ctx, addressFile); err != nil {
		return nil, errors.Join(err, s.stop())
	}
	return s, nil
}

// wait reads the address once the server has written it: it does so when it
// answers calls.
func (s *server) wait(ctx context.Context, addressFile string) error {
	timeout := time.NewTimer(startTimeout)
	defer timeout.Stop()
	tick := time.NewTicker(20 * time.Millisecond)
	defer tick.Stop()
	for {
		if data, err := os.ReadFile(addressFile); err == nil && strings.TrimSpace(string(data)) != "" {
			s.address = strings.TrimSpace(string(data))
			return nil
		}
		select {
		case <-ctx.Done():
			return ctx.Err()
		case <-s.ended:
			return fmt.Errorf("the server ended at once:\n%s", s.lastWords())
		case <-timeout.C:
			return fmt.Errorf("the server does not answer after %s:\n%s", startTimeout, s.lastWords())
		case <-tick.C:
		}
	}
}

// stop asks the server to end and waits; one that does not is killed, and that
// is an error. Stopping one that has ended is none.
func (s *server) stop() error {
	select {
	case <-s.ended:
		return nil
	default:
	}
	if err := s.cmd.Process.Signal(os.Interrupt); err != nil {
		_ = s.cmd.Process.Kill() // there are systems without interrupts
		<-s.ended
		return nil
	}
	timeout := time.NewTimer(stopTimeout)
	defer timeout.Stop()
	select {
	case <-s.ended:
		if s.err != nil {
			return fmt.Errorf("the server ended badly: %w\n%s", s.err, s.lastWords())
		}
		return nil
	case <-timeout.C:
		_ = s.cmd.Process.Kill()
		<-s.ended
		return fmt.Errorf("the server did not stop within %s", stopTimeout)
	}
}

// lastWords is the end of what the server wrote.
func (s *server) lastWords() string {
	const most = 20
	data, err := os.ReadFile(s.log)
	if err != nil {
		return ""
	}
	lines := strings.Split(strings.TrimSpace(string(data)), "\n")
	return strings.Join(lines[max(0, len(lines)-most):], "\n")
}

// environment is that of this process, without what would change how the
// programs behave.
func environment() []string {
	var kept []string
	for _, variable := range os.Environ() {
		if !strings.HasPrefix(variable, "SNAPGAUGE_") {
			kept = append(kept, variable)
		}
	}
	return kept
}
