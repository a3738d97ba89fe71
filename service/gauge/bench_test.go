package gauge_test

import (
	"fmt"
	"testing"
	"time"

	"buf.build/go/protovalidate"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/timestamppb"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/gauge"
)

// benchReadings is the size of the record that the design figures speak of.
const benchReadings = 64

func benchSheet() *pb.SpecSheet {
	sheet := &pb.SpecSheet{
		SpecId: "testmaker-bench-2026-eu", Revision: 1, EffectiveTime: timestamppb.New(time.Unix(1.7e9, 0)),
		ChangeNote: "For benchmarks.", SourceDocument: "Invented test data", Invented: true,
		Make: "Testmaker", Model: "Bench", ModelYear: 2026, Market: "EU",
		Vin: &pb.VinCoverage{Patterns: []string{"0TM??????????????"}},
	}
	for i := range benchReadings {
		sheet.Characteristics = append(sheet.Characteristics, &pb.Characteristic{
			Id: fmt.Sprintf("c%02d", i), DisplayName: fmt.Sprintf("Characteristic %d", i),
			Group: pb.Group_GROUP_CONTROLS, Severity: pb.Severity_SEVERITY_FUNCTION, Source: "Handbook 1",
			Limits:     &pb.Limits{Lower: new(9.0), Upper: new(11.0), Nominal: new(10.0), Unit: "mm"},
			Kind:       &pb.Characteristic_Measured{Measured: &pb.Measured{}},
			RequiredIn: []pb.Phase{pb.Phase_PHASE_PRE_DELIVERY},
		})
	}
	return sheet
}

func benchRecord() *pb.SetupRecord {
	at := time.Unix(1.75e9, 0)
	rec := &pb.SetupRecord{
		Unit:  &pb.Unit{Vin: "0TMAAAAAAAA000001", Model: "Bench", ModelYear: 2026, Market: "EU"},
		Phase: pb.Phase_PHASE_PRE_DELIVERY, Shop: "test-shop", Technician: "t1",
		FinishTime: timestamppb.New(at.Add(2 * time.Hour)),
	}
	for i := range benchReadings {
		rec.Readings = append(rec.Readings, &pb.Reading{
			Characteristic: fmt.Sprintf("c%02d", i), Result: &pb.Reading_Value{Value: 9.5 + float64(i)/benchReadings},
			Unit: "mm", Time: timestamppb.New(at.Add(time.Duration(i) * time.Minute)),
		})
	}
	return rec
}

// byHand is what someone would write who has one sheet and no engine: the floor
// that the engine is held against.
func byHand(rec *pb.SetupRecord, limits map[string][2]float64, seen map[string]bool) bool {
	clear(seen)
	ok := len(rec.GetUnit().GetVin()) == 17
	for _, reading := range rec.GetReadings() {
		l, known := limits[reading.GetCharacteristic()]
		if !known || seen[reading.GetCharacteristic()] || reading.GetUnit() != "mm" {
			ok = false
			continue
		}
		seen[reading.GetCharacteristic()] = true
		if v := reading.GetValue(); v < l[0] || v > l[1] {
			ok = false
		}
	}
	return ok && len(seen) == len(limits)
}

// BenchmarkRecord sets the engine beside checks by hand and beside what any
// service must do to the same record of 64 readings before it is judged.
func BenchmarkRecord(b *testing.B) {
	engine := compile(b, benchSheet())
	rec := benchRecord()
	data, err := proto.Marshal(rec)
	if err != nil {
		b.Fatal(err)
	}
	b.Run("by-hand", func(b *testing.B) {
		limits, seen := map[string][2]float64{}, map[string]bool{}
		for _, c := range engine.Revision().Sheet().GetCharacteristics() {
			limits[c.GetId()] = [2]float64{c.GetLimits().GetLower(), c.GetLimits().GetUpper()}
		}
		b.ReportAllocs()
		for b.Loop() {
			if !byHand(rec, limits, seen) {
				b.Fatal("rejected")
			}
		}
	})
	b.Run("engine", func(b *testing.B) {
		b.ReportAllocs()
		opt := gauge.Options{AsOf: rec.GetFinishTime().AsTime()}
		for b.Loop() {
			report, err := engine.Gauge(rec, opt)
			if err != nil || report.GetVerdict() != pb.Verdict_VERDICT_ACCEPT {
				b.Fatal(report, err)
			}
		}
	})
	b.Run("unmarshal", func(b *testing.B) {
		b.ReportAllocs()
		b.SetBytes(int64(len(data)))
		for b.Loop() {
			var m pb.SetupRecord
			if err := proto.Unmarshal(data, &m); err != nil {
				b.Fatal(err)
			}
		}
	})
	b.Run("protovalidate", func(b *testing.B) {
		validator, err := protovalidate.New(protovalidate.WithMessages(&pb.SetupRecord{}), protovalidate.WithDisableLazy())
		if err != nil {
			b.Fatal(err)
		}
		b.ReportAllocs()
		for b.Loop() {
			if err := validator.Validate(rec); err != nil {
				b.Fatal(err)
			}
		}
	})
}
