package spelling

import (
	"testing"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

func TestNames(t *testing.T) {
	phases := Of(pb.Phase(0).Descriptor())
	for _, name := range []string{"PRE_DELIVERY", "PHASE_PRE_DELIVERY", "pre_delivery", "pre-delivery", "Pre delivery", "phase_pre_delivery"} {
		if n, ok := phases.Number(name); !ok || n != int32(pb.Phase_PHASE_PRE_DELIVERY) {
			t.Errorf("%s is number %d, %v", name, n, ok)
		}
	}
	if n, ok := phases.Number("delivery"); ok {
		t.Errorf("delivery is number %d", n)
	}
	for _, test := range []struct{ got, want string }{
		{phases.Short(int32(pb.Phase_PHASE_HANDOVER)), "HANDOVER"},
		{phases.Short(0), ""},
		{phases.Short(99), ""},
		{phases.Bare(0), "UNSPECIFIED"},
		{phases.All(), "PRE_DELIVERY, HANDOVER, FIRST_SERVICE, SERVICE"},
		{phases.Advice("handovr"), "; did you mean HANDOVER?"},
		{phases.Advice("phase-handovr"), "; did you mean HANDOVER?"},
		{phases.Advice("x"), ", want one of PRE_DELIVERY, HANDOVER, FIRST_SERVICE, SERVICE"},
	} {
		if test.got != test.want {
			t.Errorf("got %q, want %q", test.got, test.want)
		}
	}
}
