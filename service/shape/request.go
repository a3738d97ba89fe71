package shape

import (
	"google.golang.org/protobuf/proto"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

// SoundRequest is [Sound] for a whole request that hands in a record to be judged.
// It is false for any other message.
func SoundRequest(request proto.Message) bool {
	switch r := request.(type) {
	case *pb.ValidateSetupRequest:
		return instantOrNone(r.GetAsOfTime()) &&
			unitSystems.has(r.GetUnitSystem()) &&
			reportViews.has(r.GetView()) &&
			instantOrNone(r.GetKnownTime()) &&
			Sound(r.GetRecord())
	case *pb.SubmitSetupRequest:
		return isUUID(r.GetRequestId()) &&
			unitSystems.has(r.GetUnitSystem()) &&
			Sound(r.GetRecord())
	}
	return false
}
