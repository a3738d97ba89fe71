package server

import (
	"context"
	"fmt"
	"time"

	"google.golang.org/protobuf/reflect/protoreflect"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/catalogue"
	"github.com/snapgauge/snapgauge/service/spec"
)

// GetSpec applies options, and the bulletins for the unit that is named. Without
// one it applies none: which hold depends on the unit, and the sheet lists them.
func (s *specService) GetSpec(ctx context.Context, req *pb.GetSpecRequest) (*pb.GetSpecResponse, error) {
	number, err := readVIN("vin", req.GetVin())
	if err != nil {
		return nil, err
	}
	revision, why, err := s.revision(ctx, req)
	if err != nil {
		return nil, err
	}
	var bulletins []string
	if number != "" {
		bulletins = revision.Bulletins(number, s.asOf(req.GetAsOfTime()))
	}
	resolved, err := revision.Resolve(req.GetOptions(), bulletins)
	if err != nil {
		return nil, err
	}
	// Of options that no machine can have together, a sheet would mean nothing.
	if wrong := atOdds(revision.Sheet(), "options", req.GetOptions(), resolved.Unknown, resolved.Conflicts, resolved.Unmet); len(wrong) > 0 {
		return nil, &fieldError{wrong}
	}
	head, err := s.sheets.live.ByNumber(revision.SpecID(), revision.Number())
	if err != nil {
		return nil, err
	}
	sheet := shallowCopy(revision.Sheet())
	sheet.Characteristics = resolved.Characteristics
	sheet.Rules = resolved.Rules
	return &pb.GetSpecResponse{SpecRevision: revisionOf(head), Why: why, Sheet: sheet}, nil
}

// revision finds the one that is asked for, and says why it is that one.
func (s *specService) revision(ctx context.Context, req *pb.GetSpecRequest) (*spec.Revision, string, error) {
	specID, number, err := parseSpecName(req.GetName())
	if err != nil {
		return nil, "", err
	}
	known := instantOf(req.GetKnownTime())
	if number == 0 {
		return s.sheets.inForce(ctx, specID, s.asOf(req.GetAsOfTime()), known)
	}
	if req.AsOfTime != nil {
		return nil, "", badField("as_of_time", reasonNotWithRevision,
			"got a time and revision %d, wanted only one of them", number)
	}
	if err := s.sheets.current(ctx, specID); err != nil {
		return nil, "", err
	}
	head, err := s.sheets.live.ByNumber(specID, number)
	if err != nil {
		return nil, "", err
	}
	if !known.IsZero() && head.RecordedTime.After(known) {
		return nil, "", &spec.NotFoundError{What: fmt.Sprintf("revision %d of spec %q on %s: it was recorded on %s",
			number, specID, known.UTC().Format(time.RFC3339), head.RecordedTime.Format(time.RFC3339))}
	}
	revision, err := s.sheets.live.Revision(ctx, specID, number)
	return revision, asAskedFor(head), err
}

// asAskedFor says why a revision is shown that was asked for by its number.
func asAskedFor(h *catalogue.Head) string {
	why := fmt.Sprintf("revision %d of %s, as asked for", h.Revision, h.SpecID)
	if h.Withdrawn != nil {
		why += fmt.Sprintf("; it was withdrawn on %s (%s)", h.Withdrawn.Format(time.RFC3339), clip(h.WithdrawReason))
	}
	return why
}

// shallowCopy returns a sheet with the same fields, whose values are shared.
// Another value may be put in place of a field; none may be modified.
func shallowCopy(sheet *pb.SpecSheet) *pb.SpecSheet {
	result := &pb.SpecSheet{}
	to := result.ProtoReflect()
	sheet.ProtoReflect().Range(func(field protoreflect.FieldDescriptor, value protoreflect.Value) bool {
		to.Set(field, value)
		return true
	})
	return result
}
