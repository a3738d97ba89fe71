package main

import (
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

func TestCalc(t *testing.T) {
	f := newFake(t)
	for _, test := range []struct {
		args []string
		want string
	}{
		{nil, `FLUIDS
  brake-fluids-mix  Whether brake fluids of two grades may meet.

TORQUE TOOLS
  wrench-setting    What to set on a torque wrench with an extension.

snapgauge calc FORMULA tells what goes into one and how to ask for it.
`},
		{[]string{"wrench-setting"}, `wrench-setting                                                      torque tools
What to set on a torque wrench with an extension.

INPUTS
  torque         N·m  Torque wanted.
  wrench_length  mm   From grip to square drive.

RESULTS
  setting  N·m  What to set

source: statics

ask: snapgauge calc wrench-setting torque=… wrench_length=…
`},
		{[]string{"wrench-setting", "torque=20 N.m"}, `wrench-setting
What to set on a torque wrench with an extension.

INPUTS
  torque  20 N·m  Torque wanted

RESULTS
  setting  17.5 N·m  What to set

caution: Pull at the middle of the grip.
source: statics
`},
	} {
		_, out, _ := f.cli(t, append([]string{"calc"}, test.args...)...)
		if diff := cmp.Diff(test.want, out); diff != "" {
			t.Errorf("%v: standard output (-want +got):\n%s", test.args, diff)
		}
	}
	f.cli(t, "calc", "wrench-setting", "torque=20", "--units", "us")
	if f.calc.GetUnitSystem() != pb.UnitSystem_UNIT_SYSTEM_US {
		t.Errorf("asked in %v", f.calc.GetUnitSystem())
	}
}

func TestCalcReadsInputs(t *testing.T) {
	f := newFake(t)
	for _, test := range []struct {
		args string
		want map[string]string
	}{
		{"torque=20", map[string]string{"torque": "20"}},
		{"torque=20 N.m wrench_length=1 1/4 ft", map[string]string{"torque": "20 N.m", "wrench_length": "1 1/4 ft"}},
		{"Torque=20 wrench-length=350", map[string]string{"torque": "20", "wrench_length": "350"}},
		{"torque= note=a=b", map[string]string{"torque": "", "note": "a=b"}},
		{"torque=20 unheard-of=1", map[string]string{"torque": "20", "unheard_of": "1"}},
	} {
		code, _, errs := f.cli(t, append([]string{"calc", "wrench-setting"}, strings.Fields(test.args)...)...)
		if code != 0 {
			t.Errorf("%s: exit code %d: %s", test.args, code, errs)
		}
		if diff := cmp.Diff(test.want, f.calc.GetInputs()); diff != "" {
			t.Errorf("%s: inputs (-want +got):\n%s", test.args, diff)
		}
	}
}
