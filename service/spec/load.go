package spec

import (
	"cmp"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"slices"
	"strings"

	"google.golang.org/protobuf/proto"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/document"
)

// sheetDir is where sheets are, in the file system given to [Load].
const sheetDir = "sheets"

// Load reads every *.yaml file below the directory sheets as a
// [pb.SheetFile], makes whole sheets of those derived from others, themselves
// derived or not and in whatever file, and checks them all. The revisions are in
// the order of spec identifiers and numbers.
//
// A derived sheet is its base without the examples, each field that its head
// sets replaced as a whole, and then its amendment applied.
//
// It returns a *[SheetError] with all problems of all files, in the order of
// files and lines, or an error of the file system.
func Load(fsys fs.FS) ([]*Revision, error) {
	l := &loader{sheets: make(map[sheetKey]*source)}
	err := fs.WalkDir(fsys, sheetDir, func(path string, entry fs.DirEntry, err error) error {
		if err != nil || entry.IsDir() || !strings.HasSuffix(path, ".yaml") {
			return err
		}
		data, err := fs.ReadFile(fsys, path)
		if err != nil {
			return err
		}
		l.read(path, data)
		return nil
	})
	if err != nil {
		return nil, fmt.Errorf("reading spec sheets: %w", err)
	}
	var revisions []*Revision
	for _, key := range slices.SortedFunc(maps.Keys(l.sheets), sheetKey.compare) {
		s := l.sheets[key]
		if !l.build(s, nil) {
			continue
		}
		r, err := newRevision(s.sheet)
		var invalid *SheetError
		if errors.As(err, &invalid) {
			for _, p := range invalid.Problems {
				p.File, p.Line, p.Column = s.place(p.Path)
				l.problems = append(l.problems, p)
			}
			continue
		}
		revisions = append(revisions, r)
	}
	if len(l.problems) > 0 {
		return nil, &SheetError{Problems: inFileOrder(l.problems)}
	}
	return revisions, nil
}

// sheetKey names a revision.
type sheetKey struct {
	spec   string
	number int32
}

func (k sheetKey) String() string { return fmt.Sprintf("%s revision %d", k.spec, k.number) }

func (k sheetKey) compare(other sheetKey) int {
	return cmp.Or(cmp.Compare(k.spec, other.spec), cmp.Compare(k.number, other.number))
}

// loader collects files and what is wrong with them.
type loader struct {
	sheets   map[sheetKey]*source
	problems []Problem
}

// source is one file, and the whole sheet once it is built.
type source struct {
	name  string
	lines *document.Lines
	key   sheetKey
	file  *pb.SheetFile
	base  *source       // of a derived sheet
	sheet *pb.SpecSheet // nil before it is built, and when it cannot be
	built bool
}

// read decodes one file and files it under the revision that it holds.
func (l *loader) read(name string, data []byte) {
	s := &source{name: name, file: &pb.SheetFile{}}
	var err error
	s.lines, err = document.Decode(data, s.file, document.Options{Name: name, MaxBytes: document.SheetMaxBytes})
	if err != nil {
		l.undecoded(err)
		return
	}
	switch content := s.file.GetContent().(type) {
	case *pb.SheetFile_Sheet:
		s.key = sheetKey{content.Sheet.GetSpecId(), content.Sheet.GetRevision()}
	case *pb.SheetFile_Derived:
		d := content.Derived
		if problems := shape(d); len(problems) > 0 {
			for _, p := range problems {
				l.add(s, joinPath("derived", p.Path), "%s", p.Message)
			}
			return
		}
		s.key = sheetKey{cmp.Or(d.GetHead().GetSpecId(), d.GetBaseSpecId()), cmp.Or(d.GetHead().GetRevision(), d.GetBaseRevision())}
		if s.key == s.baseKey() {
			l.add(s, "derived.head.revision", "a sheet cannot build on itself: want another spec_id or revision than %s", s.key)
			return
		}
	default:
		l.add(s, "", `want "sheet" or "derived"`)
		return
	}
	if first, taken := l.sheets[s.key]; taken {
		path := "sheet.revision"
		if s.file.GetDerived() != nil {
			path = "derived.head.revision"
		}
		l.add(s, path, "%s is in %s already", s.key, first.name)
		return
	}
	l.sheets[s.key] = s
}

// shape checks a message against the constraints of its schema.
func shape(m proto.Message) []Problem {
	l := &linter{seen: make(map[Problem]bool)}
	l.shape("", m)
	return l.problems
}

func (s *source) baseKey() sheetKey {
	return sheetKey{s.file.GetDerived().GetBaseSpecId(), s.file.GetDerived().GetBaseRevision()}
}

// undecoded notes what keeps a file from being read.
func (l *loader) undecoded(err error) {
	var several document.Errors
	var one *document.Error
	switch {
	case errors.As(err, &several):
	case errors.As(err, &one):
		several = document.Errors{one}
	}
	for _, e := range several {
		l.problems = append(l.problems, Problem{File: e.File, Line: e.Line, Column: e.Column, Path: e.Field, Message: e.Message})
	}
}

// add notes a problem at a path of the file, not of the sheet.
func (l *loader) add(s *source, path, format string, args ...any) {
	p := Problem{File: s.name, Path: path, Message: fmt.Sprintf(format, args...)}
	p.Line, p.Column, _ = s.lines.Line(path)
	l.problems = append(l.problems, p)
}

// build makes the whole sheet of a file, after those that it builds on. The
// trail holds the files that wait for this one. It returns false, with the
// problem noted, when that cannot be done.
func (l *loader) build(s *source, trail []*source) bool {
	if s.built {
		return s.sheet != nil
	}
	derived := s.file.GetDerived()
	if derived == nil {
		s.built, s.sheet = true, s.file.GetSheet()
		return true
	}
	if at := slices.Index(trail, s); at >= 0 {
		var names []string
		for _, t := range append(trail[at:], s) {
			names = append(names, t.key.String())
			t.built = true
		}
		l.add(s, "derived.base_spec_id", "sheets build on each other in a circle: %s", inWords(names, ", which builds on "))
		return false
	}
	base, ok := l.sheets[s.baseKey()]
	if !ok {
		s.built = true
		l.add(s, "derived.base_spec_id", "there is no %s to build on%s", s.baseKey(), l.suggest(s))
		return false
	}
	if !l.build(base, append(trail, s)) {
		if !s.built {
			s.built = true
			l.add(s, "derived.base_spec_id", "%s, which it builds on, cannot be used", s.baseKey())
		}
		return false
	}
	s.built, s.base = true, base
	sheet := proto.Clone(base.sheet).(*pb.SpecSheet)
	sheet.Examples = nil
	if head := derived.GetHead(); head != nil {
		replaceFields(sheet, head)
	}
	c := newContent(sheet.GetCharacteristics(), sheet.GetRules())
	problems := c.apply(s.key.String(), derived.GetAmendment(), strict)
	for _, p := range problems {
		l.add(s, "derived.amendment."+p.Path, "%s", p.Message)
	}
	if len(problems) > 0 {
		return false
	}
	sheet.Characteristics, sheet.Rules = c.left()
	s.sheet = sheet
	return true
}

// suggest names sheets like the missing base of s.
func (l *loader) suggest(s *source) string {
	var names []string
	for key := range l.sheets {
		if key != s.key {
			names = append(names, key.String())
		}
	}
	slices.Sort(names)
	return suggest(s.baseKey().String(), names)
}

// inFileOrder sorts problems and leaves out repetitions: a mistake in a base is
// found again in whatever builds on it.
func inFileOrder(problems []Problem) []Problem {
	slices.SortStableFunc(problems, func(a, b Problem) int {
		return cmp.Or(strings.Compare(a.File, b.File), cmp.Compare(a.Line, b.Line), cmp.Compare(a.Column, b.Column))
	})
	return slices.CompactFunc(problems, func(a, b Problem) bool {
		return a.File == b.File && a.Line == b.Line && a.Column == b.Column && a.Message == b.Message
	})
}
