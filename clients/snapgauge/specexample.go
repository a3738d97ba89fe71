package main

import (
	"context"
	"fmt"
	"regexp"
	"strconv"

	"google.golang.org/genproto/googleapis/rpc/errdetails"
	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/status"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/timestamppb"

	"github.com/snapgauge/snapgauge/clients/snapgauge/internal/layout"
	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

// mostExamples is how many examples the contract lets a sheet have.
const mostExamples = 64

// example is a record that a sheet is tried with, and where it is written: in a
// file of its own, or in that of the sheet.
type example struct {
	place
	path   string // of the record in its document; empty for the whole document
	record *pb.SetupRecord
	faults []string // with their places; none where the sheet judges it as expected
}

// title is what it is called.
func (e *example) title() string {
	if e.path == "" {
		return e.name
	}
	return e.name + " " + e.path
}

// blame notes a fault of a field of the record, or of what it expects.
func (e *example) blame(field, description string) {
	at := field
	if at == "" {
		at = "expectation"
	}
	if e.path != "" {
		at = e.path + "." + at
	}
	e.faults = append(e.faults, e.at(at)+prefix(layout.Clean(field), layout.Clean(description)))
}

// examples are those that the sheet's own file has.
func (f *specFile) examples() []*example {
	path, records := "sheet.examples", f.sheet.GetSheet().GetExamples()
	if head := f.sheet.GetDerived().GetHead(); head != nil {
		path, records = "derived.head.examples", head.GetExamples()
	}
	var all []*example
	for i, record := range records {
		all = append(all, &example{place: f.place, path: fmt.Sprintf("%s[%d]", path, i), record: record})
	}
	return all
}

// with is a copy of the sheet that has these examples and no others. Those of the
// base do not count: a derived sheet has its own.
func (f *specFile) with(examples []*example) *specFile {
	trial := &specFile{place: f.place, sheet: proto.Clone(f.sheet).(*pb.SheetFile)}
	head := trial.head()
	head.Examples = nil
	for _, e := range examples {
		head.Examples = append(head.Examples, e.record)
	}
	return trial
}

// head is where the sheet states what belongs to it as a whole; it may be written
// to.
func (f *specFile) head() *pb.SpecSheet {
	if d := f.sheet.GetDerived(); d != nil {
		if d.Head == nil {
			d.Head = new(pb.SpecSheet)
		}
		return d.Head
	}
	if f.sheet.GetSheet() == nil {
		f.sheet.Content = &pb.SheetFile_Sheet{Sheet: new(pb.SpecSheet)}
	}
	return f.sheet.GetSheet()
}

// try has the sheet checked with these examples and notes the faults of each. The
// server has room to list a few faults only: those found are put aside and the
// others tried again, until it finds none. The error is a *failure and speaks of
// the sheet itself.
func (f *specFile) try(ctx context.Context, c *client, examples []*example) (*pb.PublishSpecResponse, error) {
	revisions, err := f.revisions(ctx, c)
	if err != nil {
		return nil, err
	}
	etag := ""
	if len(revisions) > 0 {
		etag = revisions[0].GetEtag()
	}
	left := examples
	followed := false
	for {
		trial := f.with(left)
		if followed {
			trial.follow(revisions)
		}
		answer, err := exchange(ctx, c, c.specs.PublishSpec, &pb.PublishSpecRequest{File: trial.sheet, Etag: etag, ValidateOnly: true})
		if err == nil {
			return answer, nil
		}
		s := status.Convert(err)
		switch reason := info(s).GetReason(); {
		case s.Code() == codes.FailedPrecondition && !followed && (reason == "REVISION_NUMBER" || reason == "EFFECTIVE_TIME"):
			followed = true
			continue
		case s.Code() != codes.InvalidArgument:
			return nil, explain(ctx, err, c, f.place)
		}
		rest, own := blameExamples(s, left)
		if own != nil || len(rest) == len(left) {
			if own == nil {
				own = s
			}
			return nil, explain(ctx, own.Err(), c, f.place)
		}
		left = rest
	}
}

// follow makes the sheet one that could be published next, whatever number and
// time it has: it is to be judged by, not to be published.
func (f *specFile) follow(revisions []*pb.SpecRevision) {
	head := f.head()
	head.Revision = 1
	for _, r := range revisions {
		head.Revision = max(head.GetRevision(), r.GetRevision()+1)
		if t := r.GetEffectiveTime(); t.AsTime().After(head.GetEffectiveTime().AsTime()) {
			head.EffectiveTime = timestamppb.New(t.AsTime())
		}
	}
}

// ofExample finds the example that a field of the request speaks of.
var ofExample = regexp.MustCompile(`^file\.(?:sheet|derived\.head)\.examples\[(\d+)\](?:\.(.+))?$`)

// blameExamples notes the faults that are of one of the examples, and returns the
// examples that have none, and the status with the other faults alone; nil where
// there are no others.
func blameExamples(s *status.Status, examples []*example) (left []*example, own *status.Status) {
	others := &errdetails.BadRequest{}
	faulty := make(map[int]bool)
	for _, detail := range s.Details() {
		bad, ok := detail.(*errdetails.BadRequest)
		if !ok {
			continue
		}
		for _, v := range bad.GetFieldViolations() {
			m := ofExample.FindStringSubmatch(v.GetField())
			if m == nil {
				others.FieldViolations = append(others.FieldViolations, v)
				continue
			}
			if i, err := strconv.Atoi(m[1]); err == nil && i < len(examples) {
				faulty[i] = true
				examples[i].blame(m[2], v.GetDescription())
			}
		}
	}
	for i, e := range examples {
		if !faulty[i] {
			left = append(left, e)
		}
	}
	if len(others.GetFieldViolations()) == 0 {
		return left, nil
	}
	own = status.New(s.Code(), s.Message())
	if detailed, err := own.WithDetails(others); err == nil {
		own = detailed
	}
	return left, own
}
