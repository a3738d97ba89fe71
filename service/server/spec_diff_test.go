package server

import (
	"strings"
	"testing"

	"google.golang.org/grpc/codes"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

func TestDiffSpecs(t *testing.T) {
	b := newBench(t)
	for _, tc := range []struct {
		base, target string
		slack        pb.ChangeKind
	}{
		{rill + "/revisions/1", rill + "/revisions/2", pb.ChangeKind_CHANGE_KIND_SHIFTED},
		{rill, rill + "/revisions/2", pb.ChangeKind_CHANGE_KIND_SHIFTED}, // revision 1 is in force
		{rill, rill + "/revisions/1", 0},
		{rill, "rill-125-2026-nz", 0},
	} {
		resp, err := b.specs.DiffSpecs(t.Context(), &pb.DiffSpecsRequest{Base: "specs/" + tc.base, Target: "specs/" + tc.target})
		if err != nil {
			t.Fatal(err)
		}
		diff := resp.GetDiff()
		if !strings.HasPrefix(diff.GetBase(), "specs/"+rill+"/revisions/") || len(diff.GetTargetDigest()) != 64 {
			t.Errorf("got %s to %s", diff.GetBase(), diff.GetTarget())
		}
		var got pb.ChangeKind
		for _, c := range diff.GetCharacteristics() {
			if c.GetCharacteristic() == "chain_slack" {
				got = c.GetKind()
			}
		}
		if got != tc.slack {
			t.Errorf("%s to %s: got %v, want %v", tc.base, tc.target, got, tc.slack)
		}
	}
	req := &pb.DiffSpecsRequest{Base: "specs/" + rill + "/revisions/1", Target: "specs/" + rill + "/revisions/2", UnitSystem: pb.UnitSystem_UNIT_SYSTEM_US}
	resp, err := b.specs.DiffSpecs(t.Context(), req)
	if err != nil {
		t.Fatal(err)
	}
	if text := resp.GetDiff().GetCharacteristics()[0].GetText(); !strings.Contains(text, "in") || strings.Contains(text, "40 to 50 mm") {
		t.Errorf("got %q, want inches", text)
	}
}

func TestDiffSpecsRefused(t *testing.T) {
	b := newBench(t)
	here := "specs/" + rill
	for name, tc := range map[string]struct {
		base, target  string
		units         pb.UnitSystem
		code          codes.Code
		reason, field string
	}{
		"no base":     {"", here, 0, codes.InvalidArgument, "required", "base"},
		"no target":   {here, "", 0, codes.InvalidArgument, "required", "target"},
		"by shape":    {here, "rill", 0, codes.InvalidArgument, "string.pattern", "target"},
		"units":       {here, here, 9, codes.InvalidArgument, "enum.defined_only", "unit_system"},
		"no spec":     {"specs/none", here, 0, codes.NotFound, reasonSpecNotFound, ""},
		"no revision": {here, here + "/revisions/7", 0, codes.NotFound, reasonSpecNotFound, ""},
		"not yet":     {here, "specs/brook-250-2027-eu", 0, codes.FailedPrecondition, reasonNoRevisionInForce, ""},
	} {
		t.Run(name, func(t *testing.T) {
			_, err := b.specs.DiffSpecs(t.Context(), &pb.DiffSpecsRequest{Base: tc.base, Target: tc.target, UnitSystem: tc.units})
			wantStatus(t, err, tc.code, tc.reason, tc.field)
		})
	}
}
