package spec_test

import (
	"errors"
	"fmt"
	"slices"
	"sync"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/testing/protocmp"
	"google.golang.org/protobuf/types/known/timestamppb"
	"pgregory.net/rapid"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/spec"
	"github.com/snapgauge/snapgauge/service/vin"
)

func resolve(t testing.TB, r *spec.Revision, options, bulletins []string) *spec.Resolved {
	t.Helper()
	resolved, err := r.Resolve(options, bulletins)
	if err != nil {
		t.Fatal(err)
	}
	return resolved
}

func TestResolveOrder(t *testing.T) {
	resolved := resolve(t, testRevision(t), nil, nil)
	place := make(map[string]int)
	for i, ch := range resolved.Characteristics {
		place[ch.GetId()] = i
	}
	for _, ch := range resolved.Characteristics {
		for _, before := range ch.GetPrerequisites() {
			if place[before] > place[ch.GetId()] {
				t.Errorf("%s stands before %s, its prerequisite", ch.GetId(), before)
			}
		}
	}
	if place["frame_number"] != 0 || place["rear_axle_nut"] != place["chain_slack"]+1 {
		t.Errorf("got the order %v", place)
	}
}

func TestResolveOptions(t *testing.T) {
	r := testRevision(t)
	before := proto.Clone(r.Sheet())
	resolved := resolve(t, r, []string{"zz", "tank_guard", "long_range_tank", "aa", "hydraulic_clutch", "zz"}, nil)
	if got := resolved.Options; !slices.Equal(got, []string{"hydraulic_clutch", "long_range_tank", "tank_guard"}) {
		t.Errorf("options %v", got)
	}
	if got := resolved.Unknown; !slices.Equal(got, []string{"aa", "zz"}) {
		t.Errorf("unknown %v", got)
	}
	if diff := cmp.Diff(map[string]string{"clutch_cable_route": "hydraulic_clutch", "clutch_lever_play": "hydraulic_clutch"}, resolved.Removed); diff != "" {
		t.Error(diff)
	}
	if len(resolved.Conflicts)+len(resolved.Unmet) > 0 {
		t.Errorf("got %v, %v", resolved.Conflicts, resolved.Unmet)
	}
	fuel := characteristic(resolved.Characteristics, "fuel_tank_fill")
	if fuel.GetLimits().GetUpper() != 14 || fuel.GetCapacity().GetFluid() != "Petrol 95 RON" {
		t.Errorf("override gave %v", fuel)
	}
	if characteristic(resolved.Characteristics, "clutch_cable_route") != nil || characteristic(resolved.Characteristics, "clutch_fluid_level") == nil {
		t.Error("not removed or not added")
	}
	if len(resolved.Rules) != 1 {
		t.Errorf("rules %v", resolved.Rules)
	}
	if !proto.Equal(before, r.Sheet()) {
		t.Error("the sheet was changed")
	}
}

func TestResolveWrongOptions(t *testing.T) {
	r := testRevision(t)
	resolved := resolve(t, r, []string{"clutch_lever_guard", "tank_guard", "hydraulic_clutch"}, []string{"b2026_02"})
	if diff := cmp.Diff([]spec.Conflict{{Option: "hydraulic_clutch", Excludes: "clutch_lever_guard"}}, resolved.Conflicts); diff != "" {
		t.Error(diff)
	}
	if diff := cmp.Diff([]spec.Requirement{{Option: "tank_guard", Requires: "long_range_tank"}}, resolved.Unmet); diff != "" {
		t.Error(diff)
	}
	if characteristic(resolved.Characteristics, "tank_guard_screws") == nil {
		t.Error("what makes sense of an amendment is not applied")
	}
	if characteristic(resolved.Characteristics, "clutch_lever_play") != nil {
		t.Error("a bulletin brought back what an option took away")
	}
}

func TestResolveDangling(t *testing.T) {
	sheet := testSheet(t)
	sheet.Options[3].Amendment = &pb.Amendment{Remove: []string{"throttle_free_play", "chain_slack"}}
	r, err := spec.NewRevision(sheet)
	if err != nil {
		t.Fatal(err)
	}
	resolved := resolve(t, r, []string{"clutch_lever_guard"}, nil)
	if got := characteristic(resolved.Characteristics, "rear_axle_nut").GetPrerequisites(); len(got) != 0 {
		t.Errorf("prerequisites %v", got)
	}
	if got := characteristic(resolved.Characteristics, "throttle_cable_adjuster").GetAdjuster().GetMoves(); got != nil {
		t.Errorf("moves %v", got)
	}
	if got := characteristic(r.Sheet().Characteristics, "rear_axle_nut").GetPrerequisites(); len(got) != 1 {
		t.Error("the sheet was changed")
	}
}

func TestResolveKind(t *testing.T) {
	sheet := testSheet(t)
	sheet.Options[3].Amendment = &pb.Amendment{Override: []*pb.Characteristic{{
		Id: "battery_voltage", SearchWords: []string{"cells"},
		Limits: &pb.Limits{Upper: proto.Float64(2), Unit: "1"}, Kind: &pb.Characteristic_Count{Count: &pb.Count{}},
	}}}
	r, err := spec.NewRevision(sheet)
	if err != nil {
		t.Fatal(err)
	}
	got := characteristic(resolve(t, r, []string{"clutch_lever_guard"}, nil).Characteristics, "battery_voltage")
	want := proto.Clone(characteristic(sheet.Characteristics, "battery_voltage")).(*pb.Characteristic)
	want.SearchWords = []string{"cells"}
	want.Limits = &pb.Limits{Upper: proto.Float64(2), Unit: "1"}
	want.Kind = &pb.Characteristic_Count{Count: &pb.Count{}}
	if diff := cmp.Diff(want, got, protocmp.Transform()); diff != "" {
		t.Error(diff)
	}
}

func TestBulletins(t *testing.T) {
	r := testRevision(t)
	day := func(month time.Month, d int) time.Time { return time.Date(2026, month, d, 0, 0, 0, 0, time.UTC) }
	for _, test := range []struct {
		vin  vin.VIN
		asOf time.Time
		want []string
	}{
		{"", day(1, 31), nil},
		{"", day(2, 1), []string{"b2026_01"}},
		{"", day(3, 1), []string{"b2026_01"}},
		{"0TWSC0000T1000123", day(2, 28), []string{"b2026_01"}},
		{"0TWSC0000T1000123", day(3, 1), []string{"b2026_01", "b2026_02"}},
		{"0TWSC0000T1000500", day(3, 1), []string{"b2026_01", "b2026_02"}},
		{"0TWSC0000T1000501", day(3, 1), []string{"b2026_01"}},
		{"nonsense", day(3, 1), []string{"b2026_01"}},
	} {
		if got := r.Bulletins(test.vin, test.asOf); !slices.Equal(got, test.want) {
			t.Errorf("%s, %v: got %v, want %v", test.vin, test.asOf, got, test.want)
		}
	}
	got := characteristic(resolve(t, r, nil, []string{"b2026_01"}).Characteristics, "idle_speed")
	if got.GetLimits().GetUpper() != 1500 {
		t.Errorf("bulletin gave %v", got)
	}
	var missing *spec.NotFoundError
	if _, err := r.Resolve(nil, []string{"b1"}); !errors.As(err, &missing) {
		t.Errorf("got %v", err)
	}
}

func TestCoversVIN(t *testing.T) {
	r := testRevision(t)
	for v, want := range map[vin.VIN]bool{
		"0TWSC0000T1000099": false, "0TWSC0000T1000100": true, "0TWSC0000T1004999": true, "0TWSC0000T1005000": false,
		"0TWSC0000V1000200": false, "0TXSC0000T1000200": false, "": false, "0TWSC": false,
	} {
		if got := r.CoversVIN(v); got != want {
			t.Errorf("%s: got %v, want %v", v, got, want)
		}
	}
}

func TestRevision(t *testing.T) {
	r := testRevision(t)
	want := &pb.SpecRevision{
		Name: "specs/scree-250i-2026-eu/revisions/1", Revision: 1, Digest: r.Digest(),
		EffectiveTime: timestamppb.New(time.Date(2025, 10, 1, 0, 0, 0, 0, time.UTC)),
		ChangeNote:    "First issue.", SourceDocument: "Invented for testing", CharacteristicCount: 30,
	}
	if diff := cmp.Diff(want, r.Proto(), protocmp.Transform()); diff != "" {
		t.Error(diff)
	}
	if len(r.Digest()) != 64 || r.SpecName() != "specs/scree-250i-2026-eu" || r.Number() != 1 || r.SpecID() != "scree-250i-2026-eu" {
		t.Errorf("got %s, %s, %d", r.Digest(), r.SpecName(), r.Number())
	}
	sheet := testSheet(t)
	copied, err := spec.NewRevision(sheet)
	if err != nil {
		t.Fatal(err)
	}
	sheet.Make = "Other"
	if copied.Sheet().GetMake() != "Tarn Works" || copied.Digest() != r.Digest() {
		t.Error("the revision shares the caller's sheet")
	}
}

// TestPairsSuffice checks what Resolve promises: a sheet that passed Lint, which
// tries options in pairs, resolves with every set of options.
func TestPairsSuffice(t *testing.T) {
	base := testSheet(t)
	passed := 0
	rapid.Check(t, func(t *rapid.T) {
		sheet := proto.Clone(base).(*pb.SpecSheet)
		sheet.Options, sheet.Bulletins, sheet.Rules = nil, nil, nil
		ids := []string{"seat_height", "rider_sag", "chain_slack", "new_a", "new_b"}
		some := func(label string, from []string) []string {
			return rapid.SliceOfNDistinct(rapid.SampledFrom(from), 0, 1, rapid.ID[string]).Draw(t, label)
		}
		added := func(id string) *pb.Characteristic {
			ch := proto.Clone(characteristic(base.Characteristics, "seat_height")).(*pb.Characteristic)
			ch.Id = id
			return ch
		}
		var names []string
		for i := range rapid.IntRange(1, 5).Draw(t, "options") {
			option := &pb.Option{Id: fmt.Sprintf("option_%d", i), DisplayName: "x", Source: "x", Amendment: &pb.Amendment{}}
			option.Amendment.Remove = some("remove", ids)
			for _, id := range some("override", ids) {
				option.Amendment.Override = append(option.Amendment.Override, &pb.Characteristic{Id: id, Method: option.Id})
			}
			for _, id := range some("add", ids) {
				option.Amendment.Add = append(option.Amendment.Add, added(id))
			}
			if len(names) > 0 {
				option.Requires, option.Excludes = some("requires", names), some("excludes", names)
			}
			names = append(names, option.Id)
			sheet.Options = append(sheet.Options, option)
		}
		r, err := spec.NewRevision(sheet)
		if err != nil {
			return
		}
		passed++
		for set := range 1 << len(names) {
			var fitted []string
			for i, name := range names {
				if set>>i&1 == 1 {
					fitted = append(fitted, name)
				}
			}
			one, err := r.Resolve(fitted, nil)
			if err != nil {
				t.Fatalf("%v: %v", fitted, err)
			}
			slices.Reverse(fitted)
			other, err := r.Resolve(append(fitted, fitted...), nil)
			if err != nil {
				t.Fatal(err)
			}
			if diff := cmp.Diff(one, other, protocmp.Transform()); diff != "" {
				t.Fatalf("the order of options matters:\n%s", diff)
			}
		}
	})
	if passed == 0 {
		t.Error("no sheet passed")
	}
	t.Logf("%d sheets passed", passed)
}

func TestConcurrent(t *testing.T) {
	l := testLibrary(t)
	var group sync.WaitGroup
	for i := range 8 {
		group.Go(func() {
			for range 20 {
				options := [][]string{nil, {"tank_guard", "long_range_tank"}, {"hydraulic_clutch"}}[i%3]
				if _, _, err := l.LookUp(spec.Query{Model: "scree", ModelYear: 2026, Words: "how much oil", Options: options}); err != nil {
					t.Error(err)
				}
				if _, err := mustRevision(t, l, "scree-250i-2026-eu", 1).Resolve(options, nil); err != nil {
					t.Error(err)
				}
			}
		})
	}
	group.Wait()
}
