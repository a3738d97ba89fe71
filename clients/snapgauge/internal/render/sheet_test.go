package render

import (
	"strings"
	"testing"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

// How long a phase takes at least is told, and nothing where the sheet does not
// say.
func TestSheetTellsLeastTimes(t *testing.T) {
	answer := &pb.GetSpecResponse{Sheet: &pb.SpecSheet{Make: "Tarn Works", Model: "Tarn 125"}}
	o := Options{Width: 80}
	if got := Sheet(answer, o); strings.Contains(got, "at least") {
		t.Errorf("a sheet without least times tells of them:\n%s", got)
	}
	answer.Sheet.LeastTimes = []*pb.LeastTime{
		{Phase: pb.Phase_PHASE_PRE_DELIVERY, Minutes: 120},
		{Phase: pb.Phase_PHASE_FIRST_SERVICE, Minutes: 60},
	}
	if got, want := Sheet(answer, o), "takes at least: pre-delivery 120 min, first service 60 min\n"; !strings.Contains(got, want) {
		t.Errorf("got\n%s\nwant a line\n%s", got, want)
	}
}
