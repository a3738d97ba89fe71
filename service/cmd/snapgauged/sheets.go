package main

import (
	"errors"
	"fmt"
	"io/fs"
	"log/slog"
	"os"
	"path"
	"strings"

	"github.com/snapgauge/snapgauge/service/server"
	"github.com/snapgauge/snapgauge/service/spec"
	"github.com/snapgauge/snapgauge/specs"
)

// loadCatalogue reads and compiles the sheets below a directory, or the embedded
// ones where that is empty. Every fault of every sheet is in the error.
func loadCatalogue(dir string, log *slog.Logger) (*server.Catalogue, error) {
	var from fs.FS = specs.FS
	if dir != "" {
		info, err := os.Stat(dir)
		if err != nil {
			return nil, fmt.Errorf("sheets: %w", err)
		}
		if !info.IsDir() {
			return nil, fmt.Errorf("sheets: %s: got a file, wanted a directory", dir)
		}
		from = sheetsIn(os.DirFS(dir))
	}
	revisions, err := spec.Load(from)
	if err == nil && len(revisions) == 0 {
		return nil, fmt.Errorf("sheets: %s: got no *.yaml file, wanted at least one", dir)
	}
	var catalogue *server.Catalogue
	if err == nil {
		catalogue, err = server.NewCatalogue(revisions)
	}
	var bad *spec.SheetError
	if errors.As(err, &bad) {
		return nil, fmt.Errorf("sheets: %d problems\n%w", len(bad.Problems), bad)
	}
	if err != nil {
		return nil, fmt.Errorf("sheets: %w", err)
	}
	loaded := []any{"specs", len(catalogue.Library().SpecIDs()), "revisions", len(revisions)}
	if dir != "" {
		log.Info("spec sheets", append(loaded, "directory", dir)...)
	} else {
		log.Warn("demonstration spec sheets: makers, models and every figure are invented; never set up a real machine by them", loaded...)
	}
	return catalogue, nil
}

// sheetsIn gives a directory the form that [spec.Load] reads, with the sheets
// below "sheets": as it is where it has such a directory, and otherwise by
// taking it for that.
func sheetsIn(dir fs.FS) fs.FS {
	if info, err := fs.Stat(dir, sheetsDir); err == nil && info.IsDir() {
		return dir
	}
	return renamed{dir}
}

const sheetsDir = "sheets"

// renamed shows a directory as one named sheets.
type renamed struct{ dir fs.FS }

// Open implements [fs.FS].
func (r renamed) Open(name string) (fs.File, error) {
	if name != sheetsDir && !strings.HasPrefix(name, sheetsDir+"/") {
		return nil, &fs.PathError{Op: "open", Path: name, Err: fs.ErrNotExist}
	}
	return r.dir.Open(path.Join(".", strings.TrimPrefix(strings.TrimPrefix(name, sheetsDir), "/")))
}
