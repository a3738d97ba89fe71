package gauge_test

import (
	"errors"
	"slices"
	"testing"
	"time"

	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/timestamppb"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/gauge"
	"github.com/snapgauge/snapgauge/service/quantity"
)

func value(id string, v float64, unit string) *pb.Reading {
	return &pb.Reading{Characteristic: id, Result: &pb.Reading_Value{Value: v}, Unit: unit}
}

// A record that cannot be judged is an error that names every field at fault.
func TestRecordErrors(t *testing.T) {
	engine := testEngine(t)
	base := readCase(t, "testdata/cases/option_unknown.yaml")
	base.Options, base.Expectation = nil, nil
	for _, tc := range []struct {
		name    string
		edit    func(*pb.SetupRecord)
		paths   []string
		reasons []gauge.Reason
	}{
		{"unknown unit", func(r *pb.SetupRecord) { r.Readings = []*pb.Reading{value("oil_tank_fill", 1, "gallonz")} },
			[]string{"readings[0].unit"}, []gauge.Reason{gauge.UnitUnknown}},
		{"unknown unit of an unknown characteristic", func(r *pb.SetupRecord) { r.Readings = []*pb.Reading{value("nothing", 1, "gallonz")} },
			[]string{"readings[0].unit"}, []gauge.Reason{gauge.UnitUnknown}},
		{"missing unit", func(r *pb.SetupRecord) { r.Readings = []*pb.Reading{value("oil_tank_fill", 450, "")} },
			[]string{"readings[0].value"}, []gauge.Reason{gauge.UnitMissing}},
		{"wrong dimension", func(r *pb.SetupRecord) { r.Readings = []*pb.Reading{value("oil_tank_fill", 450, "kPa")} },
			[]string{"readings[0].unit"}, []gauge.Reason{gauge.DimensionMismatch}},
		{"negative volume", func(r *pb.SetupRecord) { r.Readings = []*pb.Reading{value("oil_tank_fill", -1, "mL")} },
			[]string{"readings[0].value"}, []gauge.Reason{gauge.NegativeQuantity}},
		{"negative count", func(r *pb.SetupRecord) { r.Readings = []*pb.Reading{value("chain_links", -1, "")} },
			[]string{"readings[0].value"}, []gauge.Reason{gauge.NegativeQuantity}},
		{"beyond all numbers", func(r *pb.SetupRecord) { r.Readings = []*pb.Reading{value("free_play", 1e308, "km")} },
			[]string{"readings[0].value"}, []gauge.Reason{gauge.ValueTooLarge}},
		{"a word for a number", func(r *pb.SetupRecord) {
			r.Readings = []*pb.Reading{{Characteristic: "oil_tank_fill", Result: &pb.Reading_Choice{Choice: "full"}}}
		}, []string{"readings[0].choice"}, []gauge.Reason{gauge.ResultKindMismatch}},
		{"a number for an inspection", func(r *pb.SetupRecord) { r.Readings = []*pb.Reading{value("cable_routing", 1, "")} },
			[]string{"readings[0].value"}, []gauge.Reason{gauge.ResultKindMismatch}},
		{"an instrument of another dimension", func(r *pb.SetupRecord) {
			r.Instruments = []*pb.Instrument{{Id: "g", Unit: "kPa"}}
			reading := value("oil_tank_fill", 450, "mL")
			reading.Instrument = "g"
			r.Readings = []*pb.Reading{reading}
		}, []string{"readings[0].instrument"}, []gauge.Reason{gauge.DimensionMismatch}},
		{"an instrument without a unit, one twice, one in no unit", func(r *pb.SetupRecord) {
			r.Instruments = []*pb.Instrument{
				{Id: "a", Resolution: 1},
				{Id: "b"}, {Id: "b"},
				{Id: "c", Unit: "furlongs"},
			}
		}, []string{"instruments[0].unit", "instruments[2].id", "instruments[3].unit"},
			[]gauge.Reason{gauge.UnitMissing, gauge.DuplicateInstrument, gauge.UnitUnknown}},
		{"a thermometer for a torque", func(r *pb.SetupRecord) {
			r.Instruments = []*pb.Instrument{{Id: "t", Kind: pb.InstrumentKind_INSTRUMENT_KIND_THERMOMETER}}
			reading := value("drain_bolt", 20, "N.m")
			reading.Instrument = "t"
			r.Readings = []*pb.Reading{reading}
		}, []string{"readings[0].instrument"}, []gauge.Reason{gauge.DimensionMismatch}},
		{"a unit on an inspection", func(r *pb.SetupRecord) {
			r.Readings = []*pb.Reading{{Characteristic: "cable_routing", Result: &pb.Reading_Pass{Pass: true}, Unit: "mm"}}
		}, []string{"readings[0].unit"}, []gauge.Reason{gauge.UnitUnexpected}},
		{"a count in percent", func(r *pb.SetupRecord) { r.Readings = []*pb.Reading{value("chain_links", 11200, "%")} },
			[]string{"readings[0].unit"}, []gauge.Reason{gauge.UnitUnexpected}},
		{"finished before it was begun", func(r *pb.SetupRecord) {
			r.StartTime = timestamppb.New(r.GetFinishTime().AsTime().Add(time.Hour))
		}, []string{"start_time"}, []gauge.Reason{gauge.TimeOrder}},
		{"conditions that exclude each other", func(r *pb.SetupRecord) {
			r.Conditions = []pb.Condition{pb.Condition_CONDITION_ENGINE_COLD, pb.Condition_CONDITION_ENGINE_WARM}
			reading := value("chain_links", 112, "")
			reading.Conditions = []pb.Condition{pb.Condition_CONDITION_TYRES_COLD, pb.Condition_CONDITION_TYRES_WARM}
			r.Readings = []*pb.Reading{reading}
		}, []string{"conditions", "readings[0].conditions"}, []gauge.Reason{gauge.ConditionConflict, gauge.ConditionConflict}},
		{"all at once", func(r *pb.SetupRecord) {
			r.Readings = []*pb.Reading{value("oil_tank_fill", -1, "mL"), value("free_play", 1, "psi"), value("fuel_fill", 4, "L")}
		}, []string{"readings[0].value", "readings[1].unit"}, []gauge.Reason{gauge.NegativeQuantity, gauge.DimensionMismatch}},
	} {
		t.Run(tc.name, func(t *testing.T) {
			rec := proto.CloneOf(base)
			tc.edit(rec)
			_, err := engine.Gauge(rec, optionsFor(rec, quantity.Metric))
			var bad *gauge.RecordError
			if !errors.As(err, &bad) {
				t.Fatalf("got error %v, want a RecordError", err)
			}
			var paths []string
			var reasons []gauge.Reason
			for _, v := range bad.Violations {
				paths, reasons = append(paths, v.Path), append(reasons, v.Reason)
			}
			if !slices.Equal(paths, tc.paths) || !slices.Equal(reasons, tc.reasons) {
				t.Errorf("got %v, want %v at %v", bad, tc.reasons, tc.paths)
			}
		})
	}
}
