package specdiff_test

import (
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"google.golang.org/protobuf/testing/protocmp"
	"google.golang.org/protobuf/types/known/timestamppb"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/quantity"
	"github.com/snapgauge/snapgauge/service/spec"
	"github.com/snapgauge/snapgauge/service/specdiff"
)

// A least time that grew, vanished, appeared or shrank is told, phase by phase;
// one that stayed is not, wherever the list has it.
func TestLeastTimes(t *testing.T) {
	const (
		preDelivery  = pb.Phase_PHASE_PRE_DELIVERY
		handover     = pb.Phase_PHASE_HANDOVER
		firstService = pb.Phase_PHASE_FIRST_SERVICE
		service      = pb.Phase_PHASE_SERVICE
	)
	sheet := func(revision int32, times ...*pb.LeastTime) *spec.Revision {
		s := sheetOf(axleNut(nil))
		s.Revision, s.LeastTimes = revision, times
		s.EffectiveTime = timestamppb.New(time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC))
		return published(t, s)
	}
	least := func(phase pb.Phase, minutes int32) *pb.LeastTime {
		return &pb.LeastTime{Phase: phase, Minutes: minutes}
	}
	base := sheet(1, least(preDelivery, 90), least(handover, 20), least(firstService, 60))
	target := sheet(2, least(service, 40), least(firstService, 60), least(preDelivery, 120))
	want := []*pb.FieldChange{
		{Field: "least_times.PRE_DELIVERY", Label: "least time of pre-delivery", Before: "90 min", After: "120 min"},
		{Field: "least_times.HANDOVER", Label: "least time of handover", Before: "20 min"},
		{Field: "least_times.SERVICE", Label: "least time of service", After: "40 min"},
	}
	if diff := cmp.Diff(want, specdiff.Compare(base, target, quantity.Metric).GetHead(), protocmp.Transform()); diff != "" {
		t.Error(diff)
	}
	checkMirrored(t, base, target, quantity.Metric)
}
