package spec_test

import (
	"fmt"
	"slices"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/testing/protocmp"
	"google.golang.org/protobuf/types/known/timestamppb"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/spec"
	"github.com/snapgauge/snapgauge/service/vin"
	"github.com/snapgauge/snapgauge/specs"
)

// bulletinDay is when the bulletins of noteLibrary come into force.
var bulletinDay = time.Date(2026, 5, 1, 0, 0, 0, 0, time.UTC)

// noteLibrary is the test sheet with bulletins of its own:
//
//	every    for every unit          idle speed 1300 to 1500
//	early    serials to 000500       clutch lever play 2 to 3 mm; no seat height
//	clip     serials 000200-000800   adds clutch_clip; adds to the tank guard
//	clip_now serials from 000600     clutch_clip renewed; clutch lever play 3 to 4 mm
//	other    serials from 000900     clutch_clip of another kind, in place of the first if it is there
//	never    serials to 000100       clutch_clip renewed, which none of these have
//	later    from the year after     no stop switch
//	idle     serials to 000500       idle speed 1300 to 1500, as every already says
func noteLibrary(t testing.TB) *spec.Library {
	t.Helper()
	sheet := testSheet(t)
	sheet.Examples = nil
	limits := func(id string, lower, upper float64, unit string) *pb.Characteristic {
		return &pb.Characteristic{Id: id, Limits: &pb.Limits{Lower: proto.Float64(lower), Upper: proto.Float64(upper), Unit: unit}}
	}
	clip := func(criterion string) *pb.Characteristic {
		return &pb.Characteristic{
			Id: "clutch_clip", DisplayName: "Clip of the clutch cable", SearchWords: []string{"recall"},
			Group: pb.Group_GROUP_ROUTING, Severity: pb.Severity_SEVERITY_FUNCTION, Source: "Invented",
			Kind:          &pb.Characteristic_Inspection{Inspection: &pb.Inspection{Criterion: criterion}},
			Prerequisites: []string{"clutch_cable_route"},
		}
	}
	sheet.Bulletins = nil
	add := func(id, from, to string, day time.Time, a *pb.Amendment) {
		b := &pb.Bulletin{
			Id: id, Title: "About " + id, EffectiveTime: timestamppb.New(day), Amendment: a, Source: "Notice " + id,
			Vin: &pb.VinCoverage{Patterns: []string{"0TWSC????T1??????"}, SerialFrom: from, SerialTo: to},
		}
		if id == "every" {
			b.Vin = nil
		}
		sheet.Bulletins = append(sheet.Bulletins, b)
	}
	idle := limits("idle_speed", 1300, 1500, "/min")
	add("every", "", "", bulletinDay, &pb.Amendment{Override: []*pb.Characteristic{idle}})
	add("early", "", "000500", bulletinDay, &pb.Amendment{
		Override: []*pb.Characteristic{limits("clutch_lever_play", 2, 3, "mm")}, Remove: []string{"seat_height"},
	})
	add("clip", "000200", "000800", bulletinDay, &pb.Amendment{
		Add:      []*pb.Characteristic{clip("The grey clip holds the cable.")},
		Override: []*pb.Characteristic{{Id: "tank_guard_screws", Method: "With the grey clip beside."}},
	})
	add("clip_now", "000600", "", bulletinDay, &pb.Amendment{Override: []*pb.Characteristic{
		{Id: "clutch_clip", Method: "Renew the clip."}, limits("clutch_lever_play", 3, 4, "mm"),
	}})
	add("other", "000900", "", bulletinDay, &pb.Amendment{
		Remove: []string{"clutch_clip"}, Add: []*pb.Characteristic{clip("The blue clip holds the cable.")},
	})
	add("never", "", "000100", bulletinDay, &pb.Amendment{Override: []*pb.Characteristic{{Id: "clutch_clip", Method: "Renew the clip."}}})
	add("later", "", "", bulletinDay.AddDate(1, 0, 0), &pb.Amendment{Remove: []string{"stop_switch"}})
	add("idle", "", "000500", bulletinDay, &pb.Amendment{Override: []*pb.Characteristic{idle}})
	r, err := spec.NewRevision(sheet)
	if err != nil {
		t.Fatal(err)
	}
	l, err := spec.NewLibrary([]*spec.Revision{r})
	if err != nil {
		t.Fatal(err)
	}
	return l
}

// unit is a VIN that the test sheet covers.
func unit(serial string) vin.VIN { return vin.VIN("0TWSC0000T1" + serial) }

// brief tells of a note what it says, in short.
func brief(n spec.BulletinNote) string {
	ch := n.Characteristic
	return fmt.Sprintf("%s %s %v-%v %s%s", n.Bulletin.GetId(), n.Effect.String()[len("BULLETIN_EFFECT_"):],
		ch.GetLimits().GetLower(), ch.GetLimits().GetUpper(), ch.GetInspection().GetCriterion(), ch.GetMethod())
}

func TestLookUpBulletinNotes(t *testing.T) {
	l := noteLibrary(t)
	for _, test := range []struct {
		what    string
		query   spec.Query
		id      string
		is      string // as brief says it, of the match itself
		notes   []string
		missing bool
	}{
		{
			what:  "changed, by two",
			query: spec.Query{Words: "clutch lever play", AsOf: bulletinDay},
			id:    "clutch_lever_play", is: "1-3",
			notes: []string{"early CHANGES 2-3 ", "clip_now CHANGES 3-4 "},
		},
		{
			what:  "before they hold",
			query: spec.Query{Words: "clutch lever play", AsOf: bulletinDay.Add(-1)},
			id:    "clutch_lever_play", is: "1-3",
		},
		{
			what:  "a unit of the first",
			query: spec.Query{Words: "clutch lever play", AsOf: bulletinDay, VIN: unit("000500")},
			id:    "clutch_lever_play", is: "2-3",
		},
		{
			what:  "a unit of the second",
			query: spec.Query{Words: "clutch lever play", AsOf: bulletinDay, VIN: unit("000600")},
			id:    "clutch_lever_play", is: "3-4",
		},
		{
			what:  "a unit of neither",
			query: spec.Query{Words: "clutch lever play", AsOf: bulletinDay, VIN: unit("000501")},
			id:    "clutch_lever_play", is: "1-3",
		},
		{
			what:  "taken away",
			query: spec.Query{Words: "seat height", AsOf: bulletinDay},
			id:    "seat_height", is: "940-965",
			notes: []string{"early REMOVES 0-0 "},
		},
		{
			what:  "taken away from this unit",
			query: spec.Query{Words: "seat height", AsOf: bulletinDay, VIN: unit("000200")},
			id:    "seat_height", missing: true,
		},
		{
			what:  "added, and what is added changed",
			query: spec.Query{Words: "clip of the clutch cable", AsOf: bulletinDay},
			id:    "clutch_clip", is: "0-0",
			notes: []string{
				"clip ADDS 0-0 The grey clip holds the cable.",
				"clip_now CHANGES 0-0 The grey clip holds the cable.Renew the clip.",
				"other ADDS 0-0 The blue clip holds the cable.",
			},
		},
		{
			what:  "added before it holds",
			query: spec.Query{Words: "clip of the clutch cable", AsOf: bulletinDay.Add(-1)},
			id:    "clutch_clip", missing: true,
		},
		{
			what:  "added for this unit",
			query: spec.Query{Words: "clip of the clutch cable", AsOf: bulletinDay, VIN: unit("000700")},
			id:    "clutch_clip", is: "0-0",
		},
		{
			what:  "added for other units",
			query: spec.Query{Words: "clip of the clutch cable", AsOf: bulletinDay, VIN: unit("000100")},
			id:    "clutch_clip", missing: true,
		},
		{
			what:  "for every unit, and for some to no effect",
			query: spec.Query{Words: "idle speed", AsOf: bulletinDay},
			id:    "idle_speed", is: "1300-1500",
		},
		{
			what:  "of an option that is not fitted",
			query: spec.Query{Words: "tank guard screws", AsOf: bulletinDay},
			id:    "tank_guard_screws", missing: true,
		},
		{
			what:  "of an option",
			query: spec.Query{Words: "tank guard screws", AsOf: bulletinDay, Options: []string{"tank_guard", "long_range_tank"}},
			id:    "tank_guard_screws", is: "4-6",
			notes: []string{"clip CHANGES 4-6 With the grey clip beside."},
		},
		{
			what:  "of what an option took away",
			query: spec.Query{Words: "clutch lever play", AsOf: bulletinDay, Options: []string{"hydraulic_clutch"}},
			id:    "clutch_lever_play", missing: true,
		},
		{
			what:  "not yet in force",
			query: spec.Query{Words: "stop switch", AsOf: bulletinDay},
			id:    "stop_switch", is: "0-0",
		},
		{
			what:  "the end of time",
			query: spec.Query{Words: "stop switch"},
			id:    "stop_switch", is: "0-0",
			notes: []string{"later REMOVES 0-0 "},
		},
	} {
		t.Run(test.what, func(t *testing.T) {
			test.query.Model, test.query.Max = "scree", 20
			_, matches, err := l.LookUp(test.query)
			if err != nil {
				t.Fatal(err)
			}
			i := slices.IndexFunc(matches, func(m spec.Match) bool { return m.Characteristic.GetId() == test.id })
			if test.missing {
				if i >= 0 {
					t.Errorf("found %v", matches[i])
				}
				return
			}
			if i != 0 {
				t.Fatalf("is match %d, want the first", i)
			}
			m := matches[0]
			if got := fmt.Sprintf("%v-%v", m.Characteristic.GetLimits().GetLower(), m.Characteristic.GetLimits().GetUpper()); got != test.is {
				t.Errorf("got %s, want %s", got, test.is)
			}
			var notes []string
			for _, n := range m.Notes {
				notes = append(notes, brief(n))
			}
			if diff := cmp.Diff(test.notes, notes); diff != "" {
				t.Error(diff)
			}
			if len(m.Notes) > 0 && m.Notes[0].Effect == pb.BulletinEffect_BULLETIN_EFFECT_ADDS && !proto.Equal(m.Characteristic, m.Notes[0].Characteristic) {
				t.Error("is not as the first bulletin adds it")
			}
		})
	}
}

func TestMatchProto(t *testing.T) {
	l := noteLibrary(t)
	_, matches, err := l.LookUp(spec.Query{Model: "scree", Words: "clutch lever play", AsOf: bulletinDay, Max: 1})
	if err != nil || len(matches) != 1 {
		t.Fatal(matches, err)
	}
	changed := func(lower, upper float64) *pb.Characteristic {
		ch := proto.CloneOf(matches[0].Characteristic)
		ch.Limits = &pb.Limits{Lower: proto.Float64(lower), Upper: proto.Float64(upper), Unit: "mm"}
		return ch
	}
	want := &pb.CharacteristicMatch{
		Characteristic: matches[0].Characteristic, Score: 1,
		Bulletins: []*pb.BulletinNote{
			{
				Bulletin: "early", Title: "About early", SerialTo: "000500", EffectiveTime: timestamppb.New(bulletinDay),
				Characteristic: changed(2, 3), Source: "Notice early",
				Effect: pb.BulletinEffect_BULLETIN_EFFECT_CHANGES, VinPatterns: []string{"0TWSC????T1??????"},
			},
			{
				Bulletin: "clip_now", Title: "About clip_now", SerialFrom: "000600", EffectiveTime: timestamppb.New(bulletinDay),
				Characteristic: changed(3, 4), Source: "Notice clip_now",
				Effect: pb.BulletinEffect_BULLETIN_EFFECT_CHANGES, VinPatterns: []string{"0TWSC????T1??????"},
			},
		},
	}
	if diff := cmp.Diff(want, matches[0].Proto(), protocmp.Transform()); diff != "" {
		t.Error(diff)
	}
	_, matches, err = l.LookUp(spec.Query{Model: "scree", Words: "seat height", AsOf: bulletinDay, Max: 1})
	if err != nil || len(matches) != 1 {
		t.Fatal(matches, err)
	}
	if got := matches[0].Proto().GetBulletins()[0]; got.GetCharacteristic() != nil {
		t.Errorf("got %v of what is taken away", got)
	}
}

// TestNotesAgreeWithUnits holds the notes of the demo sheets to what a unit of
// each bulletin is told: what a note says, a unit for which no other bulletin is
// gets; and what no bulletin notes is the same for all units.
func TestNotesAgreeWithUnits(t *testing.T) {
	revisions, err := spec.Load(specs.FS)
	if err != nil {
		t.Fatal(err)
	}
	l, err := spec.NewLibrary(revisions)
	if err != nil {
		t.Fatal(err)
	}
	compared := 0
	for _, id := range l.SpecIDs() {
		newest, err := l.Revisions(id)
		if err != nil {
			t.Fatal(err)
		}
		r := newest[0]
		query := spec.Query{Model: id, Max: 1000}
		noted := make(map[string]map[string]*pb.Characteristic) // by bulletin and characteristic
		for _, ch := range everything(r) {
			query.Words = ch.GetDisplayName()
			_, matches, err := l.LookUp(query)
			if err != nil {
				t.Fatal(err)
			}
			if !slices.ContainsFunc(matches, func(m spec.Match) bool { return m.Characteristic.GetId() == ch.GetId() }) {
				t.Errorf("%s: %s is not found by its name", id, ch.GetId())
			}
			for _, m := range matches {
				for _, n := range m.Notes {
					if noted[n.Bulletin.GetId()] == nil {
						noted[n.Bulletin.GetId()] = make(map[string]*pb.Characteristic)
					}
					noted[n.Bulletin.GetId()][m.Characteristic.GetId()] = n.Characteristic
				}
			}
		}
		base := resolve(t, r, nil, r.Bulletins("", farFuture))
		for _, b := range r.Sheet().GetBulletins() {
			if b.GetVin() == nil {
				continue
			}
			if noted[b.GetId()] == nil {
				t.Errorf("%s: no note of %s", id, b.GetId())
			}
			with := resolve(t, r, nil, append(r.Bulletins("", farFuture), b.GetId()))
			for _, ch := range everything(r) {
				before, after := characteristic(base.Characteristics, ch.GetId()), characteristic(with.Characteristics, ch.GetId())
				got, told := noted[b.GetId()][ch.GetId()]
				switch {
				case told && !proto.Equal(got, after):
					t.Errorf("%s, %s: %s is noted as %v, and is %v", id, b.GetId(), ch.GetId(), got, after)
				case !told && !proto.Equal(before.GetLimits(), after.GetLimits()):
					t.Errorf("%s, %s: %s is changed and not noted", id, b.GetId(), ch.GetId())
				}
				compared++
			}
		}
	}
	if compared == 0 {
		t.Error("no demo sheet has a bulletin for some units")
	}
}

// farFuture is later than anything on a demo sheet.
var farFuture = time.Date(9999, 1, 1, 0, 0, 0, 0, time.UTC)

// everything is what a sheet and its bulletins have without options.
func everything(r *spec.Revision) []*pb.Characteristic {
	list := slices.Clone(r.Sheet().GetCharacteristics())
	for _, b := range r.Sheet().GetBulletins() {
		list = append(list, b.GetAmendment().GetAdd()...)
	}
	return list
}
