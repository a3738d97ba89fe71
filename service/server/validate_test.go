package server

import (
	"fmt"
	"testing"

	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/timestamppb"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

// The short cut past protovalidate for what is plainly well formed neither lets
// anything through nor changes an error.
func TestWhatIsWellFormedIsDecidedAsByProtovalidate(t *testing.T) {
	v, err := newValidator()
	if err != nil {
		t.Fatal(err)
	}
	never := &timestamppb.Timestamp{Seconds: 1 << 60}
	for name, change := range map[string]func(*pb.SetupRecord){
		"well formed":               func(*pb.SetupRecord) {},
		"a name of many alphabets":  func(r *pb.SetupRecord) { r.Technician = "Zoë Łuk 日本" },
		"a line separator":          func(r *pb.SetupRecord) { r.Technician = "a\u2028" },
		"a shop in capitals":        func(r *pb.SetupRecord) { r.Shop = "Ridge" },
		"no unit":                   func(r *pb.SetupRecord) { r.Unit = nil },
		"a phase not known":         func(r *pb.SetupRecord) { r.Phase = 99 },
		"a control character":       func(r *pb.SetupRecord) { r.Technician = "a\x01" },
		"a finish never":            func(r *pb.SetupRecord) { r.FinishTime = never },
		"a reading never":           func(r *pb.SetupRecord) { r.Readings[0].Time = never },
		"an option twice":           func(r *pb.SetupRecord) { r.Options = []string{"a", "a"} },
		"two faults":                func(r *pb.SetupRecord) { r.Shop, r.Unit.Market = "", "eu" },
		"a fault and a finish then": func(r *pb.SetupRecord) { r.Shop, r.FinishTime = "", never },
	} {
		record := with(change)
		var slow error
		if slow = v.prepared.Validate(record); slow == nil {
			var wrong times
			if wrong.record("", record); len(wrong) > 0 {
				slow = &fieldError{wrong}
			}
		}
		sameError(t, name, v.record(record), slow)

		const id = "2f1a9c3e-0000-4000-8000-00000000000a"
		for _, request := range []proto.Message{
			&pb.ValidateSetupRequest{Record: record},
			&pb.ValidateSetupRequest{Record: record, AsOfTime: never},
			&pb.ValidateSetupRequest{Record: record, KnownTime: never},
			&pb.ValidateSetupRequest{Record: record, View: 99},
			&pb.SubmitSetupRequest{Record: record, RequestId: id},
			&pb.SubmitSetupRequest{Record: record, RequestId: "a"},
			&pb.SubmitSetupRequest{Record: record, RequestId: id, UnitSystem: 99},
			&pb.RenderSheetRequest{Subject: &pb.RenderSheetRequest_Record{Record: record}, Kind: pb.SheetKind_SHEET_KIND_HANDOVER},
		} {
			slow := v.prepared.Validate(request)
			if slow == nil {
				slow = checkTimes(request)
			}
			sameError(t, fmt.Sprintf("%s in %v", name, request), v.check(request), slow)
		}
	}
}

func sameError(t *testing.T, name string, got, want error) {
	t.Helper()
	if fmt.Sprint(got) != fmt.Sprint(want) || fmt.Sprintf("%T", got) != fmt.Sprintf("%T", want) {
		t.Errorf("%s: got %v, want %v", name, got, want)
	}
}
