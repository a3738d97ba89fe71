package server

import (
	"context"

	"google.golang.org/protobuf/reflect/protoreflect"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/spec"
)

// GetSpec applies options, but no bulletins: which of those hold depends on the
// unit, and the sheet lists them.
func (s *specService) GetSpec(_ context.Context, req *pb.GetSpecRequest) (*pb.GetSpecResponse, error) {
	revision, err := s.revision(req)
	if err != nil {
		return nil, err
	}
	resolved, err := revision.Resolve(req.GetOptions(), nil)
	if err != nil {
		return nil, err
	}
	// Of options that no machine can have together, a sheet would mean nothing.
	if wrong := atOdds("options", req.GetOptions(), resolved.Unknown, resolved.Conflicts, resolved.Unmet); len(wrong) > 0 {
		return nil, &fieldError{wrong}
	}
	sheet := shallowCopy(revision.Sheet())
	sheet.Characteristics = resolved.Characteristics
	sheet.Rules = resolved.Rules
	return &pb.GetSpecResponse{SpecRevision: revision.Proto(), Sheet: sheet}, nil
}

// revision finds the one that is asked for.
func (s *specService) revision(req *pb.GetSpecRequest) (*spec.Revision, error) {
	specID, number, err := parseSpecName(req.GetName())
	if err != nil {
		return nil, err
	}
	library := s.judge.Catalogue().Library()
	if number == 0 {
		return library.InForceByID(specID, s.asOf(req.GetAsOfTime()))
	}
	if req.AsOfTime != nil {
		return nil, badField("as_of_time", reasonNotWithRevision,
			"got a time and revision %d, wanted only one of them", number)
	}
	return library.Revision(specID, number)
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
