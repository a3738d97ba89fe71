package server

import (
	"context"
	"errors"

	"google.golang.org/protobuf/proto"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/catalogue"
	"github.com/snapgauge/snapgauge/service/spec"
	"github.com/snapgauge/snapgauge/service/store"
)

// maxSheetBytes bounds a sheet that is published, as it is sent: answers with it
// must be no larger than clients take.
const maxSheetBytes = 3 << 20

// PublishSpec returns once this replica judges by the revision.
func (s *specService) PublishSpec(ctx context.Context, req *pb.PublishSpecRequest) (*pb.PublishSpecResponse, error) {
	if len(req.GetAssumedFiles()) > 0 && !req.GetValidateOnly() {
		return nil, badField("assumed_files", reasonNotToPublish, "got %d, wanted none without validate_only", len(req.GetAssumedFiles()))
	}
	files := &requestFiles{service: s, assumed: req.GetAssumedFiles()}
	sheet, problemsOf, err := files.whole(ctx, req.GetFile())
	if err != nil {
		return nil, err
	}
	before, err := files.before(ctx, sheet)
	if err != nil {
		return nil, err
	}
	if size := proto.Size(sheet); size > maxSheetBytes {
		return nil, badField("file", reasonSheetInvalid, "got a sheet of %d bytes, wanted at most %d", size, maxSheetBytes)
	}
	var head *catalogue.Head
	var created bool
	if req.GetValidateOnly() {
		head, created, err = s.sheets.live.Preview(ctx, sheet, before, req.GetEtag())
	} else {
		head, created, err = s.sheets.live.Publish(ctx, sheet, req.GetEtag(), false)
	}
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
