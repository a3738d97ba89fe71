package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"strings"
	"time"

	"google.golang.org/genproto/googleapis/rpc/errdetails"
	"google.golang.org/grpc"
	"google.golang.org/grpc/codes"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/timestamppb"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

// What the fake keeps of sheets: one spec with two revisions, the second in
// force.

const specName = "specs/ulverdale-causeway-400-2026-us"

func noSpec(what string) error {
	return withDetails(codes.NotFound, "no "+what, &errdetails.ErrorInfo{
		Reason: "SPEC_NOT_FOUND", Domain: "snapgauge", Metadata: map[string]string{"suggestions": "ulverdale-causeway-400-2026-us"}})
}

// known fails for any name but that of the spec or one of its revisions.
func known(name string) error {
	if spec, _, _ := strings.Cut(name, "/revisions/"); spec != specName {
		return noSpec("spec " + strings.TrimPrefix(spec, "specs/"))
	}
	return nil
}

func onDay(month time.Month, day int) *timestamppb.Timestamp {
	return timestamppb.New(time.Date(2026, month, day, 0, 0, 0, 0, time.UTC))
}

func testRevisions() []*pb.SpecRevision {
	return []*pb.SpecRevision{
		{
			Name: revisionName, Revision: 2, ChangeNote: "Chain slack corrected.", SourceDocument: "Invented demo data: handbook, issue 2", CharacteristicCount: 5,
			EffectiveTime: onDay(time.April, 1), RecordTime: timestamppb.New(testTime), Digest: strings.Repeat("b", 64), Etag: "etag-2",
		},
		{
			Name: specName + "/revisions/1", Revision: 1, ChangeNote: "First issue.", SourceDocument: "Invented demo data: handbook, issue 1", CharacteristicCount: 4,
			EffectiveTime: onDay(time.January, 1), RecordTime: onDay(time.January, 1), Digest: strings.Repeat("a", 64), Etag: "etag-1",
		},
	}
}

func (f *fake) ListSpecRevisions(_ context.Context, r *pb.ListSpecRevisionsRequest) (*pb.ListSpecRevisionsResponse, error) {
	if err := known(r.GetParent()); err != nil {
		return nil, err
	}
	f.mu.Lock()
	defer f.mu.Unlock()
	all := testRevisions()
	if f.etag != "" {
		all[0].Etag = f.etag
	}
	if r.GetPageToken() == "" { // each on a page of its own
		return &pb.ListSpecRevisionsResponse{SpecRevisions: all[:1], NextPageToken: "x"}, nil
	}
	return &pb.ListSpecRevisionsResponse{SpecRevisions: all[1:]}, nil
}

func (f *fake) GetSpec(_ context.Context, r *pb.GetSpecRequest) (*pb.GetSpecResponse, error) {
	if err := known(r.GetName()); err != nil {
		return nil, err
	}
	f.mu.Lock()
	defer f.mu.Unlock()
	f.getSpec = r
	return &pb.GetSpecResponse{Sheet: testSheet(), SpecRevision: testRevisions()[0], Why: "revision 2 of ulverdale-causeway-400-2026-us, in force from 2026-04-01"}, nil
}

// PublishSpec finds fault with inverted limits, and with examples that f would
// not judge as they expect.
func (f *fake) PublishSpec(_ context.Context, r *pb.PublishSpecRequest) (*pb.PublishSpecResponse, error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.publish = append(f.publish, proto.Clone(r).(*pb.PublishSpecRequest))
	if f.refusePublish != nil {
		return nil, f.refusePublish
	}
	head, at, characteristics, path := r.GetFile().GetSheet(), "file.sheet.", r.GetFile().GetSheet().GetCharacteristics(), "characteristics"
	if d := r.GetFile().GetDerived(); d != nil {
		if d.GetBaseSpecId() == "nosuch" {
			return nil, withDetails(codes.FailedPrecondition, "there is no specs/nosuch/revisions/1 to build on", &errdetails.ErrorInfo{Reason: "BASE_NOT_FOUND"})
		}
		head, at, characteristics, path = d.GetHead(), "file.derived.head.", d.GetAmendment().GetOverride(), "amendment.override"
	}
	bad := &errdetails.BadRequest{}
	add := func(field, format string, args ...any) {
		bad.FieldViolations = append(bad.FieldViolations, &errdetails.BadRequest_FieldViolation{
			Field: field, Reason: "SHEET_INVALID", Description: fmt.Sprintf(format, args...)})
	}
	for i, c := range characteristics {
		if l := c.GetLimits(); l.GetLower() > l.GetUpper() {
			add(fmt.Sprintf("%s%s[%d].limits.lower", strings.Replace(at, "head.", "", 1), path, i), "got %g, above the upper limit %g", l.GetLower(), l.GetUpper())
		}
	}
	if head.GetChangeNote() == "" {
		add(at+"change_note", "value is required")
	}
	for i, example := range head.GetExamples() {
		report, err := f.report(example)
		if err != nil {
			add(fmt.Sprintf("%sexamples[%d].readings[1].unit", at, i), "got a unit that is none of torque")
			continue
		}
		if want := example.GetExpectation().GetVerdict(); want != report.GetVerdict() {
			add(fmt.Sprintf("%sexamples[%d]", at, i), "verdict %s, expected %s", strings.TrimPrefix(report.GetVerdict().String(), "VERDICT_"), strings.TrimPrefix(want.String(), "VERDICT_"))
		}
	}
	if n := len(bad.GetFieldViolations()); n > 0 {
		message := "the sheet is wrong"
		if f.crowded && n > 1 {
			bad.FieldViolations = bad.FieldViolations[:1]
			message = fmt.Sprintf("the sheet is wrong (and %d more; the first 1 are listed)", n-1)
		}
		return nil, withDetails(codes.InvalidArgument, message, bad)
	}
	newest := "etag-2"
	if f.etag != "" {
		newest = f.etag
	}
	switch {
	case r.GetEtag() != newest:
		return nil, withDetails(codes.Aborted, "the newest revision is 2, with another etag", &errdetails.ErrorInfo{Reason: "SPEC_CHANGED"})
	case head.GetRevision() == 2:
		return &pb.PublishSpecResponse{SpecRevision: testRevisions()[0]}, nil
	case head.GetRevision() != 3:
		return nil, withDetails(codes.FailedPrecondition, fmt.Sprintf("revision number: got %d, wanted 3", head.GetRevision()), &errdetails.ErrorInfo{Reason: "REVISION_NUMBER"})
	case head.GetEffectiveTime().AsTime().Before(onDay(time.April, 1).AsTime()):
		return nil, withDetails(codes.FailedPrecondition, "effective time: wanted 2026-04-01 or later", &errdetails.ErrorInfo{Reason: "EFFECTIVE_TIME"})
	}
	return &pb.PublishSpecResponse{Created: !r.GetValidateOnly(), SpecRevision: &pb.SpecRevision{
		Name: specName + "/revisions/3", Revision: 3, EffectiveTime: head.GetEffectiveTime(), ChangeNote: head.GetChangeNote(), Digest: strings.Repeat("c", 64),
	}}, nil
}

func (f *fake) WithdrawSpecRevision(_ context.Context, r *pb.WithdrawSpecRevisionRequest) (*pb.WithdrawSpecRevisionResponse, error) {
	if err := known(r.GetName()); err != nil {
		return nil, err
	}
	reason := r.GetReason()
	if strings.HasSuffix(r.GetName(), "/1") {
		reason = "Long ago."
	}
	return &pb.WithdrawSpecRevisionResponse{SpecRevision: &pb.SpecRevision{
		Name: r.GetName(), WithdrawTime: timestamppb.New(testTime), WithdrawReason: reason}}, nil
}

func (f *fake) DiffSpecs(_ context.Context, r *pb.DiffSpecsRequest) (*pb.DiffSpecsResponse, error) {
	for _, name := range []string{r.GetBase(), r.GetTarget()} {
		if err := known(name); err != nil {
			return nil, err
		}
	}
	f.mu.Lock()
	defer f.mu.Unlock()
	f.diff = r
	return &pb.DiffSpecsResponse{Diff: &pb.SpecDiff{
		Base: r.GetBase(), Target: r.GetTarget(),
		Characteristics: []*pb.CharacteristicChange{{
			Characteristic: "chain_slack", DisplayName: "Chain slack", Group: pb.Group_GROUP_CHAIN_AND_SPROCKETS, Kind: pb.ChangeKind_CHANGE_KIND_LOOSENED,
			Text:   "Chain slack: 35 to 50 mm, was 35 to 45 mm.",
			Fields: []*pb.FieldChange{{Field: "limits.upper", Label: "upper limit", Before: "45 mm", After: "50 mm"}},
		}},
	}}, nil
}

func (f *fake) CheckOptions(_ context.Context, r *pb.CheckOptionsRequest) (*pb.CheckOptionsResponse, error) {
	if err := known(r.GetName()); err != nil {
		return nil, err
	}
	f.mu.Lock()
	defer f.mu.Unlock()
	f.options = r
	switch {
	case r.GetOptions()[0] == "BIG":
		return nil, badRequest("options[0]", "string.pattern", "does not match")
	case len(r.GetOptions()) == 1:
		return &pb.CheckOptionsResponse{}, nil
	}
	return &pb.CheckOptionsResponse{Troubles: []*pb.OptionTrouble{{
		Options: r.GetOptions(), Message: "Big tank and Small tank exclude each other.",
		Mends: []*pb.OptionMend{{Remove: []string{"small_tank"}, Text: "Take off Small tank."}},
	}}}, nil
}

// ListAffectedSetups finds two set-ups of one unit, on two pages with an empty
// one between.
func (f *fake) ListAffectedSetups(_ context.Context, r *pb.ListAffectedSetupsRequest) (*pb.ListAffectedSetupsResponse, error) {
	if err := known(r.GetSpecRevision()); err != nil {
		return nil, err
	}
	f.mu.Lock()
	defer f.mu.Unlock()
	f.affected = append(f.affected, r)
	if strings.HasSuffix(r.GetSpecRevision(), "/1") {
		return &pb.ListAffectedSetupsResponse{JudgedCount: 7}, nil
	}
	one := &pb.AffectedSetup{
		Name: "setups/abc", Shop: "ridge-cycles", Unit: &pb.Unit{Vin: "0ULCW4DS7T0000123"}, Phase: pb.Phase_PHASE_PRE_DELIVERY,
		VerdictThen: pb.Verdict_VERDICT_ACCEPT, VerdictNow: pb.Verdict_VERDICT_REJECT,
		NewFindings: []*pb.Finding{{
			Code: pb.FindingCode_FINDING_CODE_ABOVE_UPPER_LIMIT, Severity: pb.Severity_SEVERITY_SAFETY, DisplayName: "Chain slack",
			Measured: &pb.DualQuantity{MetricValue: 52, MetricUnit: "mm"}, Limit: &pb.DualQuantity{MetricValue: 50, MetricUnit: "mm"},
			Excess: &pb.DualQuantity{MetricValue: 2, MetricUnit: "mm"},
		}},
	}
	switch r.GetPageToken() {
	case "":
		return &pb.ListAffectedSetupsResponse{Affected: []*pb.AffectedSetup{one}, JudgedCount: 200, NextPageToken: "1"}, nil
	case "1":
		return &pb.ListAffectedSetupsResponse{JudgedCount: 200, NextPageToken: "2"}, nil
	}
	two := proto.Clone(one).(*pb.AffectedSetup)
	two.Name, two.SupersededBy, two.VerdictNow = "setups/def", "setups/abc", pb.Verdict_VERDICT_UNSPECIFIED
	two.NewFindings = nil
	return &pb.ListAffectedSetupsResponse{Affected: []*pb.AffectedSetup{two}, JudgedCount: 12}, nil
}

// WatchSpecs sends two changes after the token, then ends as f says.
func (f *fake) WatchSpecs(r *pb.WatchSpecsRequest, stream grpc.ServerStreamingServer[pb.WatchSpecsResponse]) error {
	f.mu.Lock()
	f.watch = r
	call := f.watches
	f.watches++
	f.mu.Unlock()
	if r.GetResumeToken() == "nonsense" {
		return badRequest("resume_token", "RESUME_TOKEN_INVALID", "not a token of this service")
	}
	if f.watchDies != nil {
		return f.watchDies(call, r.GetResumeToken(), stream)
	}
	withdrawn := testRevisions()[1]
	withdrawn.WithdrawTime, withdrawn.WithdrawReason = timestamppb.New(testTime), "Misprint."
	for _, change := range []*pb.WatchSpecsResponse{
		{Kind: pb.SpecChangeKind_SPEC_CHANGE_KIND_PUBLISHED, SpecRevision: testRevisions()[0], ResumeToken: "t1"},
		{Kind: pb.SpecChangeKind_SPEC_CHANGE_KIND_WITHDRAWN, SpecRevision: withdrawn, ResumeToken: "t2"},
	} {
		if r.GetResumeToken() == change.GetResumeToken() {
			continue
		}
		if err := stream.Send(change); err != nil {
			return err
		}
	}
	switch {
	case errors.Is(f.ends, io.EOF):
		return nil
	case f.ends != nil:
		return f.ends
	}
	<-stream.Context().Done()
	return stream.Context().Err()
}

// The fake keeps one draft.

func (f *fake) SaveSpecDraft(_ context.Context, r *pb.SaveSpecDraftRequest) (*pb.SaveSpecDraftResponse, error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	if f.draft != nil && r.GetEtag() != f.draft.GetEtag() {
		return nil, withDetails(codes.Aborted, "the draft has changed", &errdetails.ErrorInfo{Reason: "SPEC_CHANGED", Domain: "snapgauge"})
	}
	f.draft = &pb.SpecDraft{Name: specName + "/draft", Sheet: r.GetFile().GetSheet(), Etag: "draft-1", UpdateTime: timestamppb.New(testTime)}
	return &pb.SaveSpecDraftResponse{Draft: f.draft, Problems: []*pb.SheetProblem{
		{Field: "characteristics[0].source", Message: "value is required"},
	}}, nil
}

func (f *fake) GetSpecDraft(_ context.Context, r *pb.GetSpecDraftRequest) (*pb.GetSpecDraftResponse, error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	if f.draft == nil || r.GetName() != f.draft.GetName() {
		return nil, noSpec("draft " + r.GetName())
	}
	return &pb.GetSpecDraftResponse{Draft: f.draft}, nil
}

func (f *fake) DeleteSpecDraft(_ context.Context, r *pb.DeleteSpecDraftRequest) (*pb.DeleteSpecDraftResponse, error) {
	f.mu.Lock()
	defer f.mu.Unlock()
	f.draft = nil
	return &pb.DeleteSpecDraftResponse{}, nil
}
