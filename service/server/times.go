package server

import (
	"fmt"

	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"
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
		t.check("known_time", r.GetKnownTime())
		t.record("record.", r.GetRecord())
	case *pb.SubmitSetupRequest:
		t.record("record.", r.GetRecord())
	case *pb.RenderSheetRequest:
		t.check("plan.as_of_time", r.GetPlan().GetAsOfTime())
		t.record("record.", r.GetRecord())
	default:
		t.walk("", request.ProtoReflect())
	}
	if len(t) > 0 {
		return &fieldError{t}
	}
	return nil
}

// times gathers what is wrong.
type times []violation

func (t *times) record(at string, r *pb.SetupRecord) {
	t.check(at+"start_time", r.GetStartTime())
	t.check(at+"finish_time", r.GetFinishTime())
	for i, instrument := range r.GetInstruments() {
		if wrong := instrument.GetCalibrationExpireTime(); wrong != nil && !wrong.IsValid() {
			t.check(fmt.Sprintf("%sinstruments[%d].calibration_expire_time", at, i), wrong)
		}
	}
	for i, reading := range r.GetReadings() {
		if wrong := reading.GetTime(); wrong != nil && !wrong.IsValid() {
			t.check(fmt.Sprintf("%sreadings[%d].time", at, i), wrong)
		}
	}
}

// walk checks the time stamps of any message, so that a new request is never
// forgotten. Records, which have hundreds, have their own way above.
func (t *times) walk(path string, m protoreflect.Message) {
	m.Range(func(field protoreflect.FieldDescriptor, value protoreflect.Value) bool {
		if field.Message() == nil || field.IsMap() {
			return true
		}
		at := path + string(field.Name())
		if field.IsList() {
			for i := range value.List().Len() {
				t.enter(fmt.Sprintf("%s[%d]", at, i), value.List().Get(i).Message())
			}
			return true
		}
		t.enter(at, value.Message())
		return true
	})
}

func (t *times) enter(path string, m protoreflect.Message) {
	if ts, ok := m.Interface().(*timestamppb.Timestamp); ok {
		t.check(path, ts)
		return
	}
	t.walk(path+".", m)
}

func (t *times) check(field string, ts *timestamppb.Timestamp) {
	if ts == nil || ts.IsValid() {
		return
	}
	*t = append(*t, violation{field, reasonTimeInvalid, fmt.Sprintf(
		"got %d s and %d ns since 1970, wanted a time from year 1 to year 9999, with 0 to 999999999 ns",
		ts.GetSeconds(), ts.GetNanos())})
}
