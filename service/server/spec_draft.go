package server

import (
	"context"
	"errors"
	"fmt"
	"strings"

	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/timestamppb"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/gauge"
	"github.com/snapgauge/snapgauge/service/spec"
	"github.com/snapgauge/snapgauge/service/store"
)

// SaveSpecDraft keeps a sheet whatever is wrong with it, and says what is.
func (s *specService) SaveSpecDraft(ctx context.Context, req *pb.SaveSpecDraftRequest) (*pb.SaveSpecDraftResponse, error) {
	sheet, problemsOf, err := (&requestFiles{service: s}).whole(ctx, req.GetFile())
	if err != nil {
		return nil, err
	}
	if size := proto.Size(sheet); size > maxSheetBytes {
		return nil, badField("file", reasonSheetInvalid, "got a sheet of %d bytes, wanted at most %d", size, maxSheetBytes)
	}
	saved, err := s.store.SaveDraft(ctx, store.Draft{SpecID: sheet.GetSpecId(), Sheet: sheet, UpdateTime: s.now().UTC()}, req.GetEtag())
	if errors.Is(err, store.ErrInvalidSpec) {
		return nil, badField("file", reasonSheetInvalid, "%v", err)
	}
	if err != nil {
		return nil, err
	}
	resp := &pb.SaveSpecDraftResponse{Draft: draftOf(saved)}
	for _, p := range problemsOf(&spec.SheetError{Problems: publishable(sheet)}) {
		resp.Problems = append(resp.Problems, &pb.SheetProblem{Field: p.Path, Message: clip(p.Message)})
	}
	return resp, nil
}

// publishable says what keeps a sheet from being published, but for what depends
// on the revisions there are.
func publishable(sheet *pb.SpecSheet) []spec.Problem {
	var bad *spec.SheetError
	revision, err := spec.NewRevision(sheet)
	if err == nil {
		_, err = gauge.Compile(revision)
	}
	if errors.As(err, &bad) {
		return bad.Problems
	}
	return nil
}

// GetSpecDraft gives the draft as it was saved.
func (s *specService) GetSpecDraft(ctx context.Context, req *pb.GetSpecDraftRequest) (*pb.GetSpecDraftResponse, error) {
	draft, err := s.store.GetDraft(ctx, draftSpec(req.GetName()))
	if err != nil {
		return nil, noDraft(err, req.GetName())
	}
	return &pb.GetSpecDraftResponse{Draft: draftOf(draft)}, nil
}

// DeleteSpecDraft removes the draft that the caller has seen.
func (s *specService) DeleteSpecDraft(ctx context.Context, req *pb.DeleteSpecDraftRequest) (*pb.DeleteSpecDraftResponse, error) {
	if err := s.store.DeleteDraft(ctx, draftSpec(req.GetName()), req.GetEtag()); err != nil {
		return nil, noDraft(err, req.GetName())
	}
	return &pb.DeleteSpecDraftResponse{}, nil
}

// draftSpec is the spec of specs/{spec}/draft, whose shape has been validated.
func draftSpec(name string) string {
	return strings.TrimSuffix(strings.TrimPrefix(name, "specs/"), "/draft")
}

// noDraft says that it is a draft that was not found.
func noDraft(err error, name string) error {
	if errors.Is(err, store.ErrNotFound) {
		return &spec.NotFoundError{What: fmt.Sprintf("draft %q", name)}
	}
	return err
}

func draftOf(d store.Draft) *pb.SpecDraft {
	return &pb.SpecDraft{
		Name:       store.SpecName(d.SpecID) + "/draft",
		Sheet:      d.Sheet,
		Etag:       d.Etag,
		UpdateTime: timestamppb.New(d.UpdateTime),
	}
}
