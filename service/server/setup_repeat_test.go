package server

import (
	"strings"
	"testing"

	"github.com/google/uuid"
	"google.golang.org/grpc/codes"
	"google.golang.org/protobuf/proto"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

// The first answer to a request comes again, whatever became of the sheet.
func TestSubmitSetupAgainAfterAWithdrawal(t *testing.T) {
	b := newBench(t)
	req := &pb.SubmitSetupRequest{Record: goodRecord(), RequestId: uuid.NewString()}
	for i := range 20 { // of the same machine, shop and instant
		if _, err := b.setups.SubmitSetup(t.Context(), &pb.SubmitSetupRequest{
			Record: with(func(r *pb.SetupRecord) { r.Note = "other"; r.Readings[0].Note = string(rune('a' + i)) }), RequestId: uuid.NewString(),
		}); err != nil {
			t.Fatal(err)
		}
		if i == 3 {
			if _, err := b.setups.SubmitSetup(t.Context(), req); err != nil {
				t.Fatal(err)
			}
		}
	}
	first, err := b.setups.SubmitSetup(t.Context(), req)
	if err != nil {
		t.Fatal(err)
	}
	withdraw := func(name string) {
		t.Helper()
		if _, err := b.specs.WithdrawSpecRevision(t.Context(), &pb.WithdrawSpecRevisionRequest{Name: name, Reason: "Wrong."}); err != nil {
			t.Fatal(err)
		}
	}
	again := func() {
		t.Helper()
		got, err := b.setups.SubmitSetup(t.Context(), req)
		if err != nil || !proto.Equal(got, first) {
			t.Errorf("got %v and %v, want the first answer %v", got, err, first)
		}
	}
	stored := b.stored(t)
	withdraw("specs/" + rill + "/revisions/1")
	again() // nothing is in force on that day any more
	upper := proto.CloneOf(req)
	upper.RequestId = strings.ToUpper(req.RequestId)
	upper.Record.Expectation = &pb.Expectation{Verdict: pb.Verdict_VERDICT_REJECT}
	if got, err := b.setups.SubmitSetup(t.Context(), upper); err != nil || !proto.Equal(got, first) {
		t.Errorf("written otherwise: got %v and %v, want the first answer", got, err)
	}
	// Another request, or another record, is judged, which cannot be done.
	for _, other := range []*pb.SubmitSetupRequest{
		{Record: goodRecord(), RequestId: uuid.NewString()},
		{Record: with(func(r *pb.SetupRecord) { r.Note = "other" }), RequestId: req.RequestId},
		{Record: with(func(r *pb.SetupRecord) { r.Shop = "south" }), RequestId: req.RequestId},
	} {
		_, err := b.setups.SubmitSetup(t.Context(), other)
		wantStatus(t, err, codes.FailedPrecondition, reasonNoRevisionInForce, "")
	}
	if got := b.stored(t); got != stored {
		t.Errorf("got %d set-ups, want %d", got, stored)
	}
	// Another sheet would judge otherwise; the first answer is the first sheet's.
	withdraw("specs/" + rill + "/revisions/2")
	b.publish(t, rillSheet(t, func(s *pb.SpecSheet) {
		s.Revision = 3
		s.EffectiveTime.Seconds += 7 * 24 * 3600
		characteristic(s, "chain_slack").Limits.Upper = proto.Float64(40.5)
	}))
	again()
}
