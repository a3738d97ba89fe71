package gauge

import (
	"testing"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

// Every code of the contract has a meaning, and nothing else has.
func TestMeaningsCoverTheContract(t *testing.T) {
	for number, name := range pb.FindingCode_name {
		meaning, ok := meanings[pb.FindingCode(number)]
		if number == 0 {
			if ok {
				t.Error("FINDING_CODE_UNSPECIFIED has a meaning")
			}
			continue
		}
		if !ok || meaning.effect == pb.Verdict_VERDICT_UNSPECIFIED {
			t.Errorf("%s has no effect on the verdict", name)
		}
	}
	if len(meanings) != len(pb.FindingCode_name)-1 {
		t.Errorf("%d meanings for %d codes", len(meanings), len(pb.FindingCode_name)-1)
	}
}

// A verdict is the first of REJECT, INCOMPLETE, REFER that any finding brings
// about, in whatever order they stand.
func TestVerdictOrder(t *testing.T) {
	finding := func(v pb.Verdict) *pb.Finding { return &pb.Finding{Effect: v} }
	for _, tc := range []struct {
		findings []*pb.Finding
		want     pb.Verdict
	}{
		{nil, pb.Verdict_VERDICT_ACCEPT},
		{[]*pb.Finding{finding(refer)}, refer},
		{[]*pb.Finding{finding(refer), finding(incomplete)}, incomplete},
		{[]*pb.Finding{finding(incomplete), finding(refer)}, incomplete},
		{[]*pb.Finding{finding(refer), finding(reject), finding(incomplete)}, reject},
	} {
		if got := verdictOf(tc.findings); got != tc.want {
			t.Errorf("%v: got %v, want %v", tc.findings, got, tc.want)
		}
	}
}
