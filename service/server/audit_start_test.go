package server

import (
	"path/filepath"
	"strings"
	"testing"
	"time"

	"google.golang.org/grpc/codes"
	"google.golang.org/grpc/status"
	"google.golang.org/protobuf/types/known/timestamppb"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

// Nothing can be known of what is to come, and every record could be judged by
// another of two revisions otherwise.
func TestAuditKnownTimeHasCome(t *testing.T) {
	b := newAuditBench(t, filepath.Join(t.TempDir(), "audit.db"))
	later := timestamppb.New(time.Now().Add(time.Hour))
	_, err := b.audit(t, &pb.AuditOptions{KnownTime: later}, nil, population(1))
	wantStatus(t, err, codes.InvalidArgument, reasonTimeInvalid, "start.known_time")
	_, err = b.auditStored(t, &pb.AuditStoredStart{Options: &pb.AuditOptions{KnownTime: later}}, nil)
	wantStatus(t, err, codes.InvalidArgument, reasonTimeInvalid, "start.options.known_time")
	// Before the first revision there is none to judge by.
	got, err := b.audit(t, &pb.AuditOptions{AsOfTime: timestamppb.New(time.Date(1990, 1, 1, 0, 0, 0, 0, time.UTC))}, nil, population(1))
	if err != nil || got.results[0].GetError().GetReason() != reasonNoRevisionInForce {
		t.Errorf("got %v and %v, want an error with %s", got.results, err, reasonNoRevisionInForce)
	}
}

// The first request is the start, and what is wrong with it is told.
func TestAuditFirstRequest(t *testing.T) {
	b := newAuditBench(t, filepath.Join(t.TempDir(), "audit.db"))
	for name, tc := range map[string]struct {
		first  *pb.AuditSetupsRequest
		reason string
	}{
		"a record":           {recordOf(goodRecord()), reasonAuditOrder},
		"nothing in it":      {&pb.AuditSetupsRequest{}, "required"},
		"unknown units":      {startOf(&pb.AuditOptions{UnitSystem: 99}), "enum.defined_only"},
		"a title too long":   {startOf(&pb.AuditOptions{Title: strings.Repeat("é", 201)}), "string.max_len"},
		"a title of signals": {startOf(&pb.AuditOptions{Title: "\x1b[2J"}), "string.pattern"},
		"never as of":        {startOf(&pb.AuditOptions{AsOfTime: &timestamppb.Timestamp{Seconds: 1 << 60}}), reasonTimeInvalid},
	} {
		t.Run(name, func(t *testing.T) {
			stream, err := b.audits.AuditSetups(t.Context())
			if err != nil {
				t.Fatal(err)
			}
			_ = stream.Send(tc.first)
			_, err = stream.Recv() // at once
			wantStatus(t, err, codes.InvalidArgument, tc.reason, "")
		})
	}
	stream, err := b.audits.AuditSetups(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	_ = stream.CloseSend()
	if _, err := stream.Recv(); status.Code(err) != codes.InvalidArgument {
		t.Errorf("nothing at all: got %v, want InvalidArgument", err)
	}
}
