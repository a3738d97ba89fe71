package server

import (
	"slices"
	"strings"
	"testing"
	"time"

	"google.golang.org/grpc/codes"
	"google.golang.org/protobuf/types/known/timestamppb"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/specs"
)

// A bulletin of the demonstration sheets is for serials 000240 to 000655: it adds
// a clip, and wants another torque of the bracket bolts.
const (
	notTold   = "0VST2EA10TA000239"
	toldUnit  = "0vst2ea1-0ta0 00240" // as people write it
	clipID    = "clutch_cable_clip"
	bracketID = "clutch_bracket_bolts"
	clipNote  = "n26_03_clutch_cable_clip"
)

var bulletinDay = timestamppb.New(time.Date(2026, 5, 1, 0, 0, 0, 0, time.UTC))

func TestLookUpHeedsTheUnit(t *testing.T) {
	b := newBench(t, withSheets(specs.FS))
	look := func(vin, words string) []*pb.CharacteristicMatch {
		t.Helper()
		resp, err := b.specs.LookUpCharacteristics(t.Context(), &pb.LookUpCharacteristicsRequest{
			Model: "scree", Words: words, Vin: vin, AsOfTime: bulletinDay, MaxResults: 20,
		})
		if err != nil {
			t.Fatal(err)
		}
		if r := resp.GetSpecRevision(); r.RecordTime == nil || r.GetEtag() == "" || r.GetRevision() != 2 {
			t.Errorf("got revision %v, want the second with all that is said of it", r)
		}
		return resp.GetMatches()
	}
	find := func(matches []*pb.CharacteristicMatch, id string) *pb.CharacteristicMatch {
		i := slices.IndexFunc(matches, func(m *pb.CharacteristicMatch) bool { return m.GetCharacteristic().GetId() == id })
		if i < 0 {
			return nil
		}
		return matches[i]
	}
	// No unit in particular: what the bulletin says is told beside.
	m := find(look("", "clutch cable clip"), clipID)
	if m == nil || len(m.GetBulletins()) != 1 || m.GetBulletins()[0].GetBulletin() != clipNote ||
		m.GetBulletins()[0].GetEffect() != pb.BulletinEffect_BULLETIN_EFFECT_ADDS || m.GetBulletins()[0].GetSerialFrom() != "000240" {
		t.Errorf("without a VIN: got %v, want the clip with a note", m)
	}
	m = find(look("", "clutch bracket bolts"), bracketID)
	if m == nil || len(m.GetBulletins()) != 1 || m.GetCharacteristic().GetLimits().GetNominal() == 8 ||
		m.GetBulletins()[0].GetCharacteristic().GetLimits().GetNominal() != 8 {
		t.Errorf("without a VIN: got %v, want the sheet's torque and the bulletin's beside it", m)
	}
	// A unit: what holds for it.
	m = find(look(toldUnit, "clutch bracket bolts"), bracketID)
	if m == nil || len(m.GetBulletins()) != 0 || m.GetCharacteristic().GetLimits().GetNominal() != 8 {
		t.Errorf("for a unit of the bulletin: got %v, want its torque", m)
	}
	if m = find(look(notTold, "clutch cable clip"), clipID); m != nil {
		t.Errorf("for a unit before it: got %v, want no clip", m)
	}
	for name, tc := range map[string]struct {
		vin    string
		code   codes.Code
		reason string
		field  string
	}{
		"malformed":   {"0VST2EA10TA00023", codes.InvalidArgument, reasonVINInvalid, "vin"},
		"too long":    {strings.Repeat("1", 33), codes.InvalidArgument, "string.max_len", "vin"},
		"not covered": {"0VBRL0000T1000123", codes.NotFound, reasonSpecNotFound, ""},
	} {
		_, err := b.specs.LookUpCharacteristics(t.Context(), &pb.LookUpCharacteristicsRequest{Model: "scree", Words: "oil", Vin: tc.vin, AsOfTime: bulletinDay})
		t.Run(name, func(t *testing.T) { wantStatus(t, err, tc.code, tc.reason, tc.field) })
	}
}

func TestGetSpecHeedsTheUnit(t *testing.T) {
	b := newBench(t, withSheets(specs.FS))
	get := func(vin string, asOf *timestamppb.Timestamp) *pb.SpecSheet {
		t.Helper()
		resp, err := b.specs.GetSpec(t.Context(), &pb.GetSpecRequest{Name: "specs/varnholt-scree-200i-2026-eu", Vin: vin, AsOfTime: asOf})
		if err != nil {
			t.Fatal(err)
		}
		if !strings.Contains(resp.GetWhy(), "scree-200i-2026-eu") {
			t.Errorf("got %q, want why", resp.GetWhy())
		}
		return resp.GetSheet()
	}
	has := func(s *pb.SpecSheet) bool { return strings.Contains(ids(s.GetCharacteristics()), clipID) }
	before := timestamppb.New(time.Date(2026, 4, 9, 0, 0, 0, 0, time.UTC))
	if has(get("", bulletinDay)) || has(get(notTold, bulletinDay)) || has(get(toldUnit, before)) || !has(get(toldUnit, bulletinDay)) {
		t.Error("want the clip for units of the bulletin from its day on")
	}
	if len(get("", bulletinDay).GetBulletins()) == 0 {
		t.Error("want the sheet to list its bulletins")
	}
	// Of one revision, those in force now: on the first of March there was none.
	resp, err := b.specs.GetSpec(t.Context(), &pb.GetSpecRequest{Name: "specs/varnholt-scree-200i-2026-eu/revisions/2", Vin: toldUnit})
	if err != nil || has(resp.GetSheet()) {
		t.Errorf("got the clip or %v, want no bulletin before its day", err)
	}
	_, err = b.specs.GetSpec(t.Context(), &pb.GetSpecRequest{Name: "specs/varnholt-scree-200i-2026-eu", Vin: "x"})
	wantStatus(t, err, codes.InvalidArgument, reasonVINInvalid, "vin")
}

// Two sheets of one model and year are told apart by the VIN: a running change.
func TestTheUnitDecidesBetweenSheets(t *testing.T) {
	b := newBench(t, withSheets(nil))
	b.publish(t, tarnSheet(t, 1, func(s *pb.SpecSheet) { s.Vin.SerialTo = "000499" }))
	b.publish(t, tarnSheet(t, 1, func(s *pb.SpecSheet) {
		s.SpecId, s.Vin.SerialFrom = "tarn-300-2026b-eu", "000500"
	}))
	for vin, want := range map[string]string{"0VBTN0000T1000123": tarn, "0VBTN0000T1000500": "tarn-300-2026b-eu"} {
		record := tarnRecord()
		record.Unit.Vin = vin
		judged, err := b.setups.ValidateSetup(t.Context(), &pb.ValidateSetupRequest{Record: record})
		if err != nil || judged.GetReport().GetSpecRevision() != "specs/"+want+"/revisions/1" || !strings.Contains(judged.GetReport().GetWhy(), vin) {
			t.Errorf("%s: judged by %s because %q, %v", vin, judged.GetReport().GetSpecRevision(), judged.GetReport().GetWhy(), err)
		}
		plan, err := b.setups.PlanSetup(t.Context(), &pb.PlanSetupRequest{Model: "tarn 300", Vin: vin})
		if err != nil || plan.GetPlan().GetSpecRevision() != "specs/"+want+"/revisions/1" {
			t.Errorf("%s: planned by %s, %v", vin, plan.GetPlan().GetSpecRevision(), err)
		}
		found, err := b.specs.LookUpCharacteristics(t.Context(), &pb.LookUpCharacteristicsRequest{Model: "tarn", Words: "oil", Vin: vin})
		if err != nil || found.GetSpec().GetName() != "specs/"+want {
			t.Errorf("%s: looked up in %s, %v", vin, found.GetSpec().GetName(), err)
		}
	}
}
