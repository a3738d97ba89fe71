package server

import (
	"context"
	"slices"
	"strconv"

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
	if err := disagreement(req.GetOptions(), resolved); err != nil {
		return nil, err
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

// disagreement refuses a set of options that no machine can have: its sheet
// would mean nothing.
func disagreement(options []string, r *spec.Resolved) error {
	var wrong []violation
	at := func(option string) string {
		return "options[" + strconv.Itoa(slices.Index(options, option)) + "]"
	}
	for _, option := range r.Unknown {
		wrong = append(wrong, violation{at(option), reasonOptionUnknown, "the sheet has no option " + option})
	}
	for _, c := range r.Conflicts {
		wrong = append(wrong, violation{at(c.Option), reasonOptionConflict, c.Option + " excludes " + c.Excludes})
	}
	for _, u := range r.Unmet {
		wrong = append(wrong, violation{at(u.Option), reasonOptionRequires, u.Option + " requires " + u.Requires})
	}
	if len(wrong) > 0 {
		return &fieldError{wrong}
	}
	return nil
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
