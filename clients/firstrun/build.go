package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
)

const (
	module        = "github.com/snapgauge/snapgauge"
	serverPackage = "./service/cmd/snapgauged"
	clientPackage = "./clients/snapgauge"
	recordsDir    = "specs/records"
)

// findRecords returns the demonstration records of the repository at root, by
// path from there. It fails where root is not the repository.
func findRecords(root string) ([]string, error) {
	mod, err := os.ReadFile(filepath.Join(root, "go.mod"))
	if err != nil || !bytes.Contains(mod, []byte("module "+module+"\n")) {
		return nil, errors.New("this is not the root of the snapgauge repository; change to it and run: go run ./clients/firstrun")
	}
	found, err := filepath.Glob(filepath.Join(root, filepath.FromSlash(recordsDir), "*.yaml"))
	if err != nil {
		return nil, err
	}
	if len(found) == 0 {
		return nil, fmt.Errorf("there are no records in %s", recordsDir)
	}
	for i, path := range found {
		if found[i], err = filepath.Rel(root, path); err != nil {
			return nil, err
		}
	}
	slices.Sort(found)
	return found, nil
}

// programs are the paths of what was built.
type programs struct{ server, client string }

// build makes both programs, in dir.
func build(ctx context.Context, root, dir string) (programs, error) {
	if _, err := exec.LookPath("go"); err != nil {
		return programs{}, errors.New("the go command is not on the path")
	}
	dir, err := filepath.Abs(dir)
	if err != nil {
		return programs{}, err
	}
	// The slash tells go build that this is a directory.
	cmd := exec.CommandContext(ctx, "go", "build", "-o", dir+string(filepath.Separator), serverPackage, clientPackage)
	cmd.Dir = root
	if out, err := cmd.CombinedOutput(); err != nil {
		return programs{}, fmt.Errorf("go build: %w\n%s", err, strings.TrimSpace(string(out)))
	}
	suffix := ""
	if runtime.GOOS == "windows" {
		suffix = ".exe"
	}
	return programs{
		server: filepath.Join(dir, "snapgauged"+suffix),
		client: filepath.Join(dir, "snapgauge"+suffix),
	}, nil
}
