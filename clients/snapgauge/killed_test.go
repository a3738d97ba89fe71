package main

import (
	"bytes"
	"fmt"
	"net"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/snapgauge/snapgauge/specs/population"
)

// killedRecords are enough that an audit of them lasts until it is killed, and
// lasts on after that.
const killedRecords = 10_000

// An audit whose server is killed again and again, and started again each time,
// gives byte for byte what an audit gives that nothing happened to: results, report,
// summary, and what is printed.
func TestAuditServerKilled(t *testing.T) {
	if testing.Short() {
		t.Skip("starts and kills servers for some seconds")
	}
	dir := t.TempDir()
	buildServer(t, dir)
	records := filepath.Join(dir, "records.jsonl")
	writePopulation(t, records)
	server := &killable{dir: dir, address: freeAddress(t)}
	server.start(t)
	t.Cleanup(server.kill)
	known := time.Now().UTC().Format(time.RFC3339Nano)

	want, said := auditOnce(t, dir, "whole", server.address, known, records)
	if len(want) != 4 || len(want["results.jsonl"]) == 0 || strings.Contains(said, "lost") {
		t.Fatalf("an audit that nothing happened to: got %d files, and it said %q", len(want), said)
	}

	stop := make(chan struct{})
	var kills int
	var killing sync.WaitGroup
	killing.Go(func() {
		for _, share := range []int{20, 45, 70} { // percent of the results that are written
			for written(filepath.Join(dir, "killed")) < len(want["results.jsonl"])*share/100 {
				select {
				case <-stop:
					return
				case <-time.After(2 * time.Millisecond):
				}
			}
			server.kill()
			kills++
			time.Sleep(50 * time.Millisecond)
			server.start(t)
		}
	})
	got, said := auditOnce(t, dir, "killed", server.address, known, records)
	close(stop)
	killing.Wait()
	if kills == 0 || !strings.Contains(said, "the server is back") {
		t.Fatalf("the server was killed %d times, and the audit said %q", kills, said)
	}
	t.Logf("killed %d times:\n%s", kills, said)
	for name, data := range want {
		if !bytes.Equal(got[name], data) {
			t.Errorf("%s: %d bytes differ from the %d of an audit that nothing happened to", name, len(got[name]), len(data))
		}
	}
}

// buildServer builds the server and this program.
func buildServer(t *testing.T, dir string) {
	t.Helper()
	build := exec.Command("go", "build", "-o", dir, "../../service/cmd/snapgauged", ".")
	if out, err := build.CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
}

// written is how many bytes there are in a folder.
func written(dir string) (sum int) {
	entries, _ := os.ReadDir(dir) // not there yet is nothing
	for _, entry := range entries {
		if info, err := entry.Info(); err == nil {
			sum += int(info.Size())
		}
	}
	return sum
}

func writePopulation(t *testing.T, path string) {
	t.Helper()
	p, err := population.New(population.Mixed(11, killedRecords))
	if err != nil {
		t.Fatal(err)
	}
	file, err := os.Create(path)
	if err != nil {
		t.Fatal(err)
	}
	if err := p.Write(file, nil); err != nil {
		t.Fatal(err)
	}
	if err := file.Close(); err != nil {
		t.Fatal(err)
	}
}

// auditOnce audits a file with the program itself, and gives what it wrote and
// printed, and what it said on standard error.
func auditOnce(t *testing.T, dir, name, address, known, records string) (files map[string][]byte, said string) {
	t.Helper()
	out := filepath.Join(dir, name)
	if err := os.Mkdir(out, 0o755); err != nil {
		t.Fatal(err)
	}
	args := []string{"--server", address, "audit", records, "--known", known, "--checkpoint-interval", "500"}
	written := []string{"results.jsonl", "report.html", "summary.json"}
	for _, file := range written {
		args = append(args, "--out", file)
	}
	cmd := exec.Command(filepath.Join(dir, "snapgauge"), args...)
	cmd.Dir = out
	var stdout, stderr bytes.Buffer
	cmd.Stdout, cmd.Stderr = &stdout, &stderr
	if err := cmd.Run(); err == nil || cmd.ProcessState.ExitCode() != int(exitVerdict) {
		t.Fatalf("got %v, want exit code %d: some are not accepted\n%s", err, exitVerdict, stderr.String())
	}
	files = map[string][]byte{"standard output": stdout.Bytes()}
	for _, file := range written {
		data, err := os.ReadFile(filepath.Join(out, file))
		if err != nil {
			t.Fatal(err)
		}
		files[file] = data
	}
	return files, stderr.String()
}

// killable is a server that can be killed and started again on its store.
type killable struct {
	dir, address string
	mu           sync.Mutex
	cmd          *exec.Cmd
}

func (k *killable) start(t *testing.T) {
	k.mu.Lock()
	defer k.mu.Unlock()
	k.cmd = exec.Command(filepath.Join(k.dir, "snapgauged"), "--listen", k.address, "--metrics-listen", "",
		"--store", filepath.Join(k.dir, "store.db"))
	if err := k.cmd.Start(); err != nil {
		t.Errorf("start the server: %v", err)
		return
	}
	for deadline := time.Now().Add(30 * time.Second); ; time.Sleep(10 * time.Millisecond) {
		conn, err := net.Dial("tcp", k.address)
		if err == nil {
			_ = conn.Close()
			return
		}
		if time.Now().After(deadline) {
			t.Errorf("the server does not answer: %v", err)
			return
		}
	}
}

// kill ends the server as a loss of power does, as far as a process can tell.
func (k *killable) kill() {
	k.mu.Lock()
	defer k.mu.Unlock()
	_ = k.cmd.Process.Kill()
	_ = k.cmd.Wait()
}

// freeAddress is one that nothing listens at.
func freeAddress(t *testing.T) string {
	t.Helper()
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	defer func() { _ = l.Close() }()
	return fmt.Sprint(l.Addr())
}
