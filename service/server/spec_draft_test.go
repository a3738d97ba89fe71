package server

import (
	"strings"
	"testing"

	"google.golang.org/grpc/codes"
	"google.golang.org/protobuf/proto"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

// A draft is kept whatever is wrong with it, judges nothing, and goes when it is
// told to.
func TestSpecDraft(t *testing.T) {
	b := newBench(t)
	ctx := t.Context()
	const name = "specs/" + tarn + "/draft"
	_, err := b.specs.GetSpecDraft(ctx, &pb.GetSpecDraftRequest{Name: name})
	wantStatus(t, err, codes.NotFound, reasonSpecNotFound, "")

	wrong := tarnSheet(t, 1, func(s *pb.SpecSheet) { characteristic(s, "chain_slack").Limits.Unit = "furlongs" })
	saved, err := b.specs.SaveSpecDraft(ctx, &pb.SaveSpecDraftRequest{File: wholeFile(wrong)})
	if err != nil {
		t.Fatal(err)
	}
	if p := saved.GetProblems(); len(p) != 1 || !strings.Contains(p[0].GetMessage(), "furlongs") || !strings.HasSuffix(p[0].GetField(), ".limits.unit") {
		t.Errorf("got problems %v, want the unit", p)
	}
	if _, err := b.specs.GetSpec(ctx, &pb.GetSpecRequest{Name: "specs/" + tarn}); err == nil {
		t.Error("a draft is answered as a sheet")
	}

	right := tarnSheet(t, 1, unchanged)
	_, err = b.specs.SaveSpecDraft(ctx, &pb.SaveSpecDraftRequest{File: wholeFile(right), Etag: "another"})
	wantStatus(t, err, codes.Aborted, reasonSpecChanged, "")
	again, err := b.specs.SaveSpecDraft(ctx, &pb.SaveSpecDraftRequest{File: wholeFile(right), Etag: saved.GetDraft().GetEtag()})
	if err != nil || len(again.GetProblems()) > 0 {
		t.Fatalf("got %v, error %v", again.GetProblems(), err)
	}
	got, err := b.specs.GetSpecDraft(ctx, &pb.GetSpecDraftRequest{Name: name})
	if err != nil || !proto.Equal(got.GetDraft().GetSheet(), right) || got.GetDraft().GetName() != name {
		t.Fatalf("got %v, error %v", got, err)
	}

	_, err = b.specs.DeleteSpecDraft(ctx, &pb.DeleteSpecDraftRequest{Name: name, Etag: saved.GetDraft().GetEtag()})
	wantStatus(t, err, codes.Aborted, reasonSpecChanged, "")
	if _, err := b.specs.DeleteSpecDraft(ctx, &pb.DeleteSpecDraftRequest{Name: name, Etag: got.GetDraft().GetEtag()}); err != nil {
		t.Fatal(err)
	}
	_, err = b.specs.DeleteSpecDraft(ctx, &pb.DeleteSpecDraftRequest{Name: name, Etag: got.GetDraft().GetEtag()})
	wantStatus(t, err, codes.NotFound, reasonSpecNotFound, "")
}

func TestSpecDraftRefused(t *testing.T) {
	b := newBench(t)
	_, err := b.specs.SaveSpecDraft(t.Context(), &pb.SaveSpecDraftRequest{})
	wantStatus(t, err, codes.InvalidArgument, reasonSheetInvalid, "file")
	_, err = b.specs.SaveSpecDraft(t.Context(), &pb.SaveSpecDraftRequest{File: wholeFile(&pb.SpecSheet{SpecId: "No Id"})})
	wantStatus(t, err, codes.InvalidArgument, reasonSheetInvalid, "file")
	_, err = b.specs.GetSpecDraft(t.Context(), &pb.GetSpecDraftRequest{Name: "specs/x"})
	wantStatus(t, err, codes.InvalidArgument, "string.pattern", "name")
}
