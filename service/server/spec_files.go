package server

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"google.golang.org/protobuf/proto"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/spec"
	"github.com/snapgauge/snapgauge/service/store"
)

// theFile is the field of a request that has the sheet that it is about.
const theFile = "file"

// requestFiles makes whole sheets of the files of one request.
type requestFiles struct {
	service *specService
	// assumed are files that count as published.
	assumed []*pb.SheetFile
}

// problemsOf says the problems of a sheet by the fields of its file.
type problemsOf func(*spec.SheetError) []spec.Problem

// sheetKey names a revision.
type sheetKey struct {
	spec   string
	number int32
}

func (k sheetKey) String() string { return fmt.Sprintf("%s revision %d", clip(k.spec), k.number) }

// keyOfFile is the revision that a file says it is.
func keyOfFile(file *pb.SheetFile) sheetKey {
	if d := file.GetDerived(); d != nil {
		return sheetKey{cmp.Or(d.GetHead().GetSpecId(), d.GetBaseSpecId()), cmp.Or(d.GetHead().GetRevision(), d.GetBaseRevision())}
	}
	return sheetKey{file.GetSheet().GetSpecId(), file.GetSheet().GetRevision()}
}

// whole gives the sheet that the file of the request stands for.
func (f *requestFiles) whole(ctx context.Context, file *pb.SheetFile) (*pb.SpecSheet, problemsOf, error) {
	return f.make(ctx, theFile, file, nil)
}

// before gives the assumed revisions that a sheet may follow on.
func (f *requestFiles) before(ctx context.Context, sheet *pb.SpecSheet) ([]*pb.SpecSheet, error) {
	var sheets []*pb.SpecSheet
	for i, file := range f.assumed {
		key := keyOfFile(file)
		if key.spec != sheet.GetSpecId() || key.number >= sheet.GetRevision() {
			continue
		}
		// One that the sheet builds on was made before; few enough are sent that
		// making it again is cheaper than to remember it.
		one, _, err := f.make(ctx, assumedField(i), file, nil)
		if err != nil {
			return nil, err
		}
		sheets = append(sheets, one)
	}
	return sheets, nil
}

// make gives the sheet that a file of the request stands for. field is where it
// stands; waiting are the revisions that wait for it. What is wrong with a file
// that it builds on is told of that file.
func (f *requestFiles) make(ctx context.Context, field string, file *pb.SheetFile, waiting []sheetKey) (*pb.SpecSheet, problemsOf, error) {
	switch content := file.GetContent().(type) {
	case *pb.SheetFile_Sheet:
		return content.Sheet, in(field, inWholeFile), nil
	case *pb.SheetFile_Derived:
		derived := content.Derived
		base, problems, err := f.base(ctx, field, file, waiting)
		if err != nil {
			return nil, nil, err
		}
		own := in(field, func(e *spec.SheetError) []spec.Problem { return inDerivedFile(e, base, derived) })
		revision, err := derive(base, derived)
		var bad *spec.SheetError
		if errors.As(err, &bad) {
			for _, p := range bad.Problems {
				// What a wrong base does here is told when the base is mended.
				if len(problems) == 0 || p.File != sheetsDir+"/"+baseSheetName {
					problems = append(problems, own(&spec.SheetError{Problems: []spec.Problem{p}})...)
				}
			}
		} else if err != nil {
			return nil, nil, err
		}
		if len(problems) > 0 {
			return nil, nil, &sheetFileError{problems}
		}
		return revision.Sheet(), own, nil
	}
	return nil, nil, badField(field, reasonSheetInvalid, `got neither, wanted "sheet" or "derived"`)
}

// in says of which file of the request problems are.
func in(field string, of problemsOf) problemsOf {
	return func(e *spec.SheetError) []spec.Problem {
		problems := of(e)
		for i := range problems {
			problems[i].File, problems[i].Line, problems[i].Column = field, 0, 0
		}
		return problems
	}
}

// base returns the sheet that a derived file builds on, and what is wrong with it
// where it is an assumed one.
func (f *requestFiles) base(ctx context.Context, field string, file *pb.SheetFile, waiting []sheetKey) (*pb.SpecSheet, []spec.Problem, error) {
	derived, key := file.GetDerived(), keyOfFile(file)
	want := sheetKey{derived.GetBaseSpecId(), derived.GetBaseRevision()}
	named := field + ".derived.base_spec_id"
	if !store.ValidSpecID(want.spec) {
		return nil, nil, badField(named, reasonSheetInvalid,
			"got %q, wanted words of a-z and 0-9 with hyphens between, at most 63 characters", clip(want.spec))
	}
	if want.number < 1 {
		return nil, nil, badField(field+".derived.base_revision", reasonSheetInvalid, "got %d, wanted 1 or more", want.number)
	}
	if want == key { // which derive refuses, where it is there
		return f.published(ctx, named, want)
	}
	if at := slices.Index(waiting, want); at >= 0 {
		var names []string
		for _, k := range append(slices.Clone(waiting[at:]), key, want) {
			names = append(names, k.String())
		}
		return nil, nil, badField(named, reasonSheetInvalid, "sheets build on each other in a circle: %s", strings.Join(names, ", which builds on "))
	}
	here := func(file *pb.SheetFile) bool { return keyOfFile(file) == want }
	i := slices.IndexFunc(f.assumed, here)
	if i < 0 {
		return f.published(ctx, named, want)
	}
	if j := slices.IndexFunc(f.assumed[i+1:], here); j >= 0 {
		return nil, nil, badField(assumedField(i+1+j), reasonSheetInvalid, "%s is in %s already", want, assumedField(i))
	}
	if err := ctx.Err(); err != nil {
		return nil, nil, err
	}
	sheet, problemsOf, err := f.make(ctx, assumedField(i), f.assumed[i], append(slices.Clone(waiting), key))
	if err != nil {
		return nil, nil, err
	}
	if size := proto.Size(sheet); size > maxSheetBytes {
		return nil, nil, badField(assumedField(i), reasonSheetInvalid, "got a sheet of %d bytes, wanted at most %d", size, maxSheetBytes)
	}
	return sheet, problemsOf(&spec.SheetError{Problems: publishable(sheet)}), nil
}

// published asks the store for a base: what another replica has published a moment
// ago can be built on here. That it was withdrawn is no hindrance; mending it is
// what most often comes next.
func (f *requestFiles) published(ctx context.Context, named string, want sheetKey) (*pb.SpecSheet, []spec.Problem, error) {
	published, err := f.service.store.Spec(ctx, want.spec, int(want.number))
	if errors.Is(err, store.ErrNotFound) {
		return nil, nil, &noBaseError{base: store.RevisionName(want.spec, int(want.number)), field: named}
	}
	return published.Sheet, nil, err
}

func assumedField(i int) string { return fmt.Sprintf("assumed_files[%d]", i) }
