package server

import (
	"context"
	"errors"

	"google.golang.org/protobuf/proto"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/spec"
	"github.com/snapgauge/snapgauge/service/store"
)

// maxSheetBytes bounds a sheet that is published, as it is sent: answers with it
// must be no larger than clients take.
const maxSheetBytes = 3 << 20

// PublishSpec returns once this replica judges by the revision.
func (s *specService) PublishSpec(ctx context.Context, req *pb.PublishSpecRequest) (*pb.PublishSpecResponse, error) {
	sheet, problemsOf, err := s.wholeSheet(ctx, req.GetFile())
	if err != nil {
		return nil, err
	}
	if size := proto.Size(sheet); size > maxSheetBytes {
		return nil, badField("file", reasonSheetInvalid, "got a sheet of %d bytes, wanted at most %d", size, maxSheetBytes)
	}
	head, created, err := s.sheets.live.Publish(ctx, sheet, req.GetEtag(), req.GetValidateOnly())
	var bad *spec.SheetError
	switch {
	case errors.As(err, &bad):
		return nil, &sheetFileError{problemsOf(bad)}
	case errors.Is(err, store.ErrInvalidSpec):
		return nil, badField("file", reasonSheetInvalid, "%v", err)
	case err != nil:
		return nil, err
	}
	resp := &pb.PublishSpecResponse{SpecRevision: revisionOf(head), Created: created}
	if req.GetValidateOnly() {
		resp.Created = false
		if head.Position == 0 { // it was not published, so nobody has recorded it
			resp.SpecRevision.RecordTime = nil
		}
	}
	return resp, nil
}

// wholeSheet gives the sheet that a file stands for, and what says the problems
// of the sheet by the fields of the file.
func (s *specService) wholeSheet(ctx context.Context, file *pb.SheetFile) (*pb.SpecSheet, func(*spec.SheetError) []spec.Problem, error) {
	switch content := file.GetContent().(type) {
	case *pb.SheetFile_Sheet:
		return content.Sheet, inWholeFile, nil
	case *pb.SheetFile_Derived:
		derived := content.Derived
		base, err := s.base(ctx, derived)
		if err != nil {
			return nil, nil, err
		}
		revision, err := derive(base, derived)
		if err != nil {
			return nil, nil, err
		}
		return revision.Sheet(), func(e *spec.SheetError) []spec.Problem { return inDerivedFile(e, base, derived) }, nil
	}
	return nil, nil, badField("file", reasonSheetInvalid, `got neither, wanted "sheet" or "derived"`)
}

// base returns the sheet that a derived one builds on. It asks the store: what
// another replica has published a moment ago can be built on here. That it was
// withdrawn is no hindrance; mending it is what most often comes next.
func (s *specService) base(ctx context.Context, derived *pb.DerivedSheet) (*pb.SpecSheet, error) {
	specID, number := derived.GetBaseSpecId(), int(derived.GetBaseRevision())
	if !store.ValidSpecID(specID) {
		return nil, badField("file.derived.base_spec_id", reasonSheetInvalid,
			"got %q, wanted words of a-z and 0-9 with hyphens between, at most 63 characters", clip(specID))
	}
	if number < 1 {
		return nil, badField("file.derived.base_revision", reasonSheetInvalid, "got %d, wanted 1 or more", number)
	}
	published, err := s.store.Spec(ctx, specID, number)
	if errors.Is(err, store.ErrNotFound) {
		return nil, &noBaseError{base: store.RevisionName(specID, number)}
	}
	return published.Sheet, err
}

// inWholeFile says the problems of a sheet by the fields of a file that holds it
// whole.
func inWholeFile(e *spec.SheetError) []spec.Problem {
	problems := make([]spec.Problem, len(e.Problems))
	for i, p := range e.Problems {
		p.Path = joinField("sheet", p.Path)
		problems[i] = p
	}
	return problems
}

func joinField(path, field string) string {
	if path == "" || field == "" {
		return path + field
	}
	return path + "." + field
}

// WithdrawSpecRevision returns once this replica judges by the revision no more.
func (s *specService) WithdrawSpecRevision(ctx context.Context, req *pb.WithdrawSpecRevisionRequest) (*pb.WithdrawSpecRevisionResponse, error) {
	specID, number, err := parseSpecName(req.GetName())
	if err != nil {
		return nil, err
	}
	// The contract counts characters, the store bytes.
	if got := len(req.GetReason()); got > store.MaxReason {
		return nil, badField("reason", "string.max_bytes", "got %d bytes, wanted at most %d", got, store.MaxReason)
	}
	head, err := s.sheets.live.Withdraw(ctx, specID, number, req.GetReason())
	if err != nil {
		return nil, err
	}
	return &pb.WithdrawSpecRevisionResponse{SpecRevision: revisionOf(head)}, nil
}
