package shape_test

import (
	"fmt"
	"time"

	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/timestamppb"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

var sampleFinish = time.Date(2026, 2, 27, 16, 30, 0, 0, time.UTC)

func minutesBefore(n int) *timestamppb.Timestamp {
	return timestamppb.New(sampleFinish.Add(-time.Duration(n) * time.Minute))
}

// fullRecord has something in every field, and a reading of each kind of result.
func fullRecord() *pb.SetupRecord {
	return &pb.SetupRecord{
		Unit: &pb.Unit{
			Vin: "0VBRL0000T1000042", Model: "Scree 250i", ModelYear: 2026, Market: "EU",
			Hours: proto.Float64(0.4), OdometerKm: proto.Float64(3),
		},
		Phase: pb.Phase_PHASE_PRE_DELIVERY, Shop: "ridge-cycles", Technician: "Zoë Grünwald",
		StartTime: minutesBefore(90), FinishTime: minutesBefore(0),
		Options:    []string{"skid_plate", "hand_guards", "exhaust_short"},
		Conditions: []pb.Condition{pb.Condition_CONDITION_ENGINE_COLD, pb.Condition_CONDITION_ON_WORK_STAND, pb.Condition_CONDITION_BATTERY_CHARGING},
		Instruments: []*pb.Instrument{
			{
				Id: "tw-1", Kind: pb.InstrumentKind_INSTRUMENT_KIND_TORQUE_WRENCH, Unit: "N.m",
				Accuracy: &pb.Instrument_MaxDeviationPercent{MaxDeviationPercent: 4}, Resolution: 0.5,
				Range:                 &pb.Interval{Lower: proto.Float64(5), Upper: proto.Float64(60)},
				CalibrationExpireTime: minutesBefore(-9000), SerialNumber: "TW № 0815",
			},
			{Id: "caliper", Accuracy: &pb.Instrument_MaxPermissibleError{MaxPermissibleError: 0.03}, Unit: "mm"},
			{Id: "gauge_2", Accuracy: &pb.Instrument_ExpandedUncertainty{ExpandedUncertainty: 2}, Unit: "kPa"},
		},
		Readings: []*pb.Reading{
			{
				Characteristic: "axle_nut", Stage: pb.Stage_STAGE_AS_LEFT, Result: &pb.Reading_Value{Value: 45.5},
				Unit: "N.m", Instrument: "tw-1", Time: minutesBefore(30), Technician: "jü",
				Conditions:          []pb.Condition{pb.Condition_CONDITION_ON_WHEELS},
				ExpandedUncertainty: proto.Float64(1.5),
				Fitted:              &pb.FittedFastener{Thread: "M20×1.5", PropertyClass: "8.8", Renewed: proto.Bool(true), Locked: proto.Bool(false)},
				Note:                "Split pin new; nut turned on to the next slot – né à côté.",
			},
			{Characteristic: "throttle_snaps_shut", Result: &pb.Reading_Pass{Pass: true}},
			{Characteristic: "front_tyre", Result: &pb.Reading_Choice{Choice: "Grinder Plus"}},
			{Characteristic: "engine_number", Stage: pb.Stage_STAGE_AS_FOUND, Result: &pb.Reading_Text{Text: "SC25-000042"}},
			{Characteristic: "spare_key"},
		},
		Supersedes: "setups/0195-4c1f", Note: "Kiste beschädigt, Gerät heil.\nSecond line.",
		Expectation: &pb.Expectation{
			Verdict: pb.Verdict_VERDICT_REJECT,
			Codes:   []pb.FindingCode{pb.FindingCode_FINDING_CODE_ABOVE_UPPER_LIMIT, pb.FindingCode_FINDING_CODE_MISSING_READING},
		},
	}
}

// bareRecord has only what the contract asks for.
func bareRecord() *pb.SetupRecord {
	return &pb.SetupRecord{
		Unit:  &pb.Unit{Vin: "x", Model: "y", ModelYear: 1980, Market: "US"},
		Phase: pb.Phase_PHASE_SERVICE, Shop: "a", Technician: "b", FinishTime: minutesBefore(0),
	}
}

// longRecord has so many readings, each with an instrument, a unit and a time.
func longRecord(n int) *pb.SetupRecord {
	r := fullRecord()
	r.Readings = nil
	for i := range n {
		r.Readings = append(r.Readings, &pb.Reading{
			Characteristic: fmt.Sprintf("characteristic_%d", i), Result: &pb.Reading_Value{Value: 10},
			Unit: "mm", Instrument: "caliper", Time: minutesBefore(i % 60),
		})
	}
	return r
}

// samples are good messages of every kind that this package knows.
func samples() []proto.Message {
	return []proto.Message{
		fullRecord(), bareRecord(),
		&pb.ValidateSetupRequest{Record: bareRecord()},
		&pb.ValidateSetupRequest{
			Record: bareRecord(), AsOfTime: minutesBefore(5), KnownTime: minutesBefore(4),
			UnitSystem: pb.UnitSystem_UNIT_SYSTEM_US, View: pb.ReportView_REPORT_VIEW_FULL,
		},
		&pb.SubmitSetupRequest{
			Record: bareRecord(), RequestId: "2f1A9c3e-0000-4000-8000-00000000000a", UnitSystem: pb.UnitSystem_UNIT_SYSTEM_METRIC,
		},
	}
}
