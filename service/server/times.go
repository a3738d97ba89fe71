package server

import (
	"fmt"

	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/timestamppb"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

// checkTimes refuses time stamps that are no times. The format allows any
// number of seconds and nanoseconds; google.protobuf.Timestamp itself only
// those of the years 1 to 9999, and what is outside could be neither printed
// nor kept.
func checkTimes(request proto.Message) error {
	var t times
	switch r := request.(type) {
	case *pb.ValidateSetupRequest:
		t.check("as_of_time", r.GetAsOfTime())
		t.record(r.GetRecord())
	case *pb.SubmitSetupRequest:
		t.record(r.GetRecord())
	case *pb.PlanSetupRequest:
		t.check("as_of_time", r.GetAsOfTime())
	case *pb.RenderSheetRequest:
		t.check("plan.as_of_time", r.GetPlan().GetAsOfTime())
		t.record(r.GetRecord())
	case *pb.GetSpecRequest:
		t.check("as_of_time", r.GetAsOfTime())
	case *pb.LookUpCharacteristicsRequest:
		t.check("as_of_time", r.GetAsOfTime())
	}
	if len(t) > 0 {
		return &fieldError{t}
	}
	return nil
}

// times gathers what is wrong.
type times []violation

func (t *times) record(r *pb.SetupRecord) {
	t.check("record.start_time", r.GetStartTime())
	t.check("record.finish_time", r.GetFinishTime())
	for i, instrument := range r.GetInstruments() {
		if wrong := instrument.GetCalibrationExpireTime(); wrong != nil && !wrong.IsValid() {
			t.check(fmt.Sprintf("record.instruments[%d].calibration_expire_time", i), wrong)
		}
	}
	for i, reading := range r.GetReadings() {
		if wrong := reading.GetTime(); wrong != nil && !wrong.IsValid() {
			t.check(fmt.Sprintf("record.readings[%d].time", i), wrong)
		}
	}
}

func (t *times) check(field string, ts *timestamppb.Timestamp) {
	if ts == nil || ts.IsValid() {
		return
	}
	*t = append(*t, violation{field, reasonTimeInvalid, fmt.Sprintf(
		"got %d s and %d ns since 1970, wanted a time from year 1 to year 9999, with 0 to 999999999 ns",
		ts.GetSeconds(), ts.GetNanos())})
}
