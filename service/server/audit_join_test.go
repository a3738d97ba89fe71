package server

import (
	"path/filepath"
	"testing"

	"google.golang.org/grpc/codes"
	"google.golang.org/protobuf/proto"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

// Parts that are audited apart and joined count what one audit counts.
func TestJoinAudits(t *testing.T) {
	b := newAuditBench(t, filepath.Join(t.TempDir(), "audit.db"))
	requests := population(90)
	whole, err := b.audit(t, &pb.AuditOptions{}, nil, requests)
	if err != nil {
		t.Fatal(err)
	}
	stream, err := b.audits.JoinAudits(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	for _, cut := range [][2]int{{0, 30}, {30, 31}, {31, 90}} {
		part, err := b.audit(t, &pb.AuditOptions{}, nil, requests[cut[0]:cut[1]])
		if err != nil {
			t.Fatal(err)
		}
		for _, p := range partsOf(part.checkpoints[len(part.checkpoints)-1]) {
			if err := stream.Send(&pb.JoinAuditsRequest{Checkpoint: p, HtmlReport: true}); err != nil {
				t.Fatal(err)
			}
		}
	}
	_ = stream.CloseSend()
	joined, err := receive(stream.Recv)
	if err != nil {
		t.Fatal(err)
	}
	got, want := joined.summary, whole.summary
	if len(joined.report) == 0 || !proto.Equal(got.GetTotal(), want.GetTotal()) || got.GetErrorCount() != want.GetErrorCount() {
		t.Errorf("got %v, want %v", got.GetTotal(), want.GetTotal())
	}
	if len(got.GetShops()) != 3 || len(got.GetCharacteristics()) != len(want.GetCharacteristics()) {
		t.Errorf("got %d shops and %d characteristics", len(got.GetShops()), len(got.GetCharacteristics()))
	}
}

// join joins checkpoints.
func (b *bench) join(t testing.TB, html bool, all ...savedAudit) (told, error) {
	t.Helper()
	stream, err := b.audits.JoinAudits(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	for _, one := range all {
		for _, p := range partsOf(one) {
			_ = stream.Send(&pb.JoinAuditsRequest{Checkpoint: p, HtmlReport: html})
		}
	}
	_ = stream.CloseSend()
	return receive(stream.Recv)
}

func TestJoinAuditsRefuses(t *testing.T) {
	b := newAuditBench(t, filepath.Join(t.TempDir(), "audit.db"))
	last := func(options *pb.AuditOptions, requests []*pb.AuditSetupsRequest) (told, savedAudit) {
		o, err := b.audit(t, options, nil, requests)
		if err != nil {
			t.Fatal(err)
		}
		return o, o.checkpoints[len(o.checkpoints)-1]
	}
	whole, saved := last(&pb.AuditOptions{Title: "North"}, population(10))
	alone, err := b.join(t, true, saved)
	if err != nil || !proto.Equal(alone.summary, whole.summary) || len(alone.report) == 0 {
		t.Errorf("one alone: got %v and another summary or no report", err)
	}
	_, err = b.join(t, false)
	wantStatus(t, err, codes.InvalidArgument, reasonCheckpoint, "checkpoint")
	_, err = b.join(t, false, saved, saved)
	wantStatus(t, err, codes.FailedPrecondition, reasonAuditsDiffer, "")
	_, err = b.join(t, false, savedAudit{saved.count + 1, saved.data})
	wantStatus(t, err, codes.InvalidArgument, reasonCheckpoint, "checkpoint.record_count")
	_, other := last(&pb.AuditOptions{SpecRevision: "specs/" + rill + "/revisions/1"}, population(10))
	_, err = b.join(t, false, saved, other)
	wantStatus(t, err, codes.FailedPrecondition, reasonAuditsDiffer, "")
	// Parts in which nothing can be judged look alike, and are two parts all the same.
	bad := []*pb.AuditSetupsRequest{population(9)[8]}
	_, nothing := last(&pb.AuditOptions{KnownTime: whole.summary.GetOptions().GetKnownTime()}, bad)
	two, err := b.join(t, false, saved, nothing, nothing)
	if err != nil || two.summary.GetRecordCount() != 12 {
		t.Errorf("got %v and %d records, want 12", err, two.summary.GetRecordCount())
	}
	if _, err := b.audit(t, &pb.AuditOptions{}, &two.checkpoints[0], population(3)); err != nil {
		t.Errorf("going on from what was joined: %v", err)
	}
}
