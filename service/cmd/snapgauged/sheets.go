package main

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"log/slog"
	"os"
	"path"
	"strings"

	"github.com/snapgauge/snapgauge/service/catalogue"
	"github.com/snapgauge/snapgauge/service/gauge"
	"github.com/snapgauge/snapgauge/service/spec"
	"github.com/snapgauge/snapgauge/specs"
)

// loadSheets reads the sheets below a directory, or the embedded ones where that
// is empty; none for [noSheets]. Every fault of every sheet is in the error.
func loadSheets(dir string) ([]*spec.Revision, error) {
	var from fs.FS = specs.FS
	switch dir {
	case noSheets:
		return nil, nil
	case "":
	default:
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
	return revisions, ofSheets(err)
}

// ofSheets says that an error is about the sheets that were to be loaded.
func ofSheets(err error) error {
	var bad *spec.SheetError
	switch {
	case err == nil:
		return nil
	case errors.As(err, &bad):
		return fmt.Errorf("sheets: %d problems\n%w", len(bad.Problems), err)
	}
	return fmt.Errorf("sheets: %w", err)
}

// seed publishes the sheets that the store does not have: all of them, or none
// where one has a fault. Every fault of every sheet is in the error.
func seed(ctx context.Context, live *catalogue.Catalogue, dir string, revisions []*spec.Revision, log *slog.Logger) error {
	if err := compileNew(live, revisions); err != nil {
		return ofSheets(err)
	}
	published, err := live.Seed(ctx, revisions)
	if err != nil {
		return ofSheets(err)
	}
	stats := live.Stats()
	attrs := []any{"specs", stats.Specs, "changes", stats.Position, "published_now", published}
	switch dir {
	case noSheets:
		log.Info("spec sheets", attrs...)
	case "":
		log.Warn("demonstration spec sheets: makers, models and every figure are invented; never set up a real machine by them", attrs...)
	default:
		log.Info("spec sheets", append(attrs, "directory", dir)...)
	}
	return nil
}

// compileNew tries the sheets that are to be published, so that one that does not
// compile is found before another is published.
func compileNew(live *catalogue.Catalogue, revisions []*spec.Revision) error {
	var problems []spec.Problem
	for _, r := range revisions {
		if _, err := live.ByNumber(r.SpecID(), r.Number()); err == nil {
			continue // published once, so it did
		}
		_, err := gauge.Compile(r)
		var bad *spec.SheetError
		switch {
		case errors.As(err, &bad):
			for _, p := range bad.Problems {
				p.Message = r.Name() + ": " + p.Message
				problems = append(problems, p)
			}
		case err != nil:
			return fmt.Errorf("%s: %w", r.Name(), err)
		}
	}
	if len(problems) > 0 {
		return &spec.SheetError{Problems: problems}
	}
	return nil
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
