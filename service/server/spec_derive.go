package server

import (
	"errors"
	"fmt"
	"io/fs"
	"time"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/document"
	"github.com/snapgauge/snapgauge/service/spec"
)

// derive makes the revision of a derived sheet and its base. What a derived
// sheet means is said by [spec.Load], which is asked here over two documents: so
// a file that is published makes the same sheet as the same file in a directory.
//
// It returns a *[spec.SheetError] when the sheet is unfit. Its problems have the
// name of the base's document where the fault is written there.
func derive(base *pb.SpecSheet, derived *pb.DerivedSheet) (*spec.Revision, error) {
	baseFile, err := document.Encode(wholeFile(base))
	if err != nil {
		return nil, &spec.SheetError{Problems: []spec.Problem{{
			File: sheetsDir + "/" + baseSheetName, Message: fmt.Sprintf("base %s revision %d: %v", derived.GetBaseSpecId(), derived.GetBaseRevision(), err),
		}}}
	}
	derivedFile, err := document.Encode(&pb.SheetFile{Content: &pb.SheetFile_Derived{Derived: derived}})
	if err != nil {
		return nil, &spec.SheetError{Problems: []spec.Problem{{Message: err.Error()}}}
	}
	revisions, err := spec.Load(&twoSheets{base: baseFile, derived: derivedFile})
	if err != nil {
		return nil, err
	}
	for _, r := range revisions {
		if r.SpecID() != base.GetSpecId() || r.Number() != int(base.GetRevision()) {
			return r, nil
		}
	}
	return nil, errors.New("a derived sheet came to nothing") // Load gives one revision for each file
}

func wholeFile(sheet *pb.SpecSheet) *pb.SheetFile {
	return &pb.SheetFile{Content: &pb.SheetFile_Sheet{Sheet: sheet}}
}

// twoSheets shows two documents as the directory of sheets that [spec.Load]
// reads.
type twoSheets struct{ base, derived []byte }

const (
	sheetsDir        = "sheets"
	baseSheetName    = "base.yaml"
	derivedSheetName = "derived.yaml"
)

// Open implements [fs.FS]. Load has no need of it.
func (*twoSheets) Open(name string) (fs.File, error) {
	return nil, &fs.PathError{Op: "open", Path: name, Err: errors.ErrUnsupported}
}

// Stat implements [fs.StatFS] for the directory.
func (*twoSheets) Stat(string) (fs.FileInfo, error) { return sheetInfo(sheetsDir), nil }

// ReadDir implements [fs.ReadDirFS] for the directory.
func (*twoSheets) ReadDir(string) ([]fs.DirEntry, error) {
	return []fs.DirEntry{
		fs.FileInfoToDirEntry(sheetInfo(baseSheetName)),
		fs.FileInfoToDirEntry(sheetInfo(derivedSheetName)),
	}, nil
}

// ReadFile implements [fs.ReadFileFS] for the documents.
func (t *twoSheets) ReadFile(name string) ([]byte, error) {
	switch name {
	case sheetsDir + "/" + baseSheetName:
		return t.base, nil
	case sheetsDir + "/" + derivedSheetName:
		return t.derived, nil
	}
	return nil, &fs.PathError{Op: "open", Path: name, Err: fs.ErrNotExist}
}

// sheetInfo is a name in [twoSheets].
type sheetInfo string

func (i sheetInfo) Name() string     { return string(i) }
func (sheetInfo) Size() int64        { return 0 }
func (sheetInfo) ModTime() time.Time { return time.Time{} }
func (sheetInfo) Sys() any           { return nil }
func (i sheetInfo) IsDir() bool      { return i == sheetsDir }
func (i sheetInfo) Mode() fs.FileMode {
	if i.IsDir() {
		return fs.ModeDir
	}
	return 0
}

// inDerivedFile says the problems of a derived sheet by the fields of its file.
func inDerivedFile(e *spec.SheetError, base *pb.SpecSheet, derived *pb.DerivedSheet) []spec.Problem {
	c := newComposition(base, derived)
	problems := make([]spec.Problem, len(e.Problems))
	for i, p := range e.Problems {
		path, found := c.place(p.Path)
		if !found && p.Path != "" {
			p.Message = p.Path + " of the base: " + p.Message
		}
		p.Path = path
		problems[i] = p
	}
	return problems
}
