package storetest

import (
	"fmt"
	"time"

	"google.golang.org/protobuf/types/known/timestamppb"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/store"
)

// What samples are made of. All of it is invented.
var (
	Shops       = []string{"ridge-cycles", "valley-moto", "harbour-two-wheel"}
	Technicians = []string{"jo", "sam", "kim", "j.öberg"}
	Models      = []string{"Larkspur 250 R", "Larkspur 300 E", "Tarn 450", "Volt Trail 6"}
	Markets     = []string{"EU", "US", "JP"}
)

// Base is the create time of Sample(0).
var Base = time.Date(2026, 3, 2, 8, 0, 0, 0, time.UTC)

// Sample returns the set-up number n, the same for the same n, with 64 readings
// (some 3.5 kB). Ids sort as the numbers do; create times are a second apart.
func Sample(n int) store.Setup { return sample(n, 64) }

// Small is [Sample] with three readings.
func Small(n int) store.Setup { return sample(n, 3) }

func sample(n, readings int) store.Setup {
	shop := Shops[n%len(Shops)]
	finish := Base.Add(time.Duration(n)*time.Second - time.Hour)
	record := &pb.SetupRecord{
		Unit: &pb.Unit{
			Vin:       fmt.Sprintf("%dVSLR25E%dT%06d", n%2, n%10, n),
			Model:     Models[n%len(Models)],
			ModelYear: int32(2024 + n%4),
			Market:    Markets[n/2%len(Markets)],
		},
		Phase:      pb.Phase(1 + n%4),
		Shop:       shop,
		Technician: Technicians[n/3%len(Technicians)],
		StartTime:  timestamppb.New(finish.Add(-2 * time.Hour)),
		FinishTime: timestamppb.New(finish),
		Options:    []string{"enduro_kit"},
		Conditions: []pb.Condition{pb.Condition_CONDITION_ENGINE_COLD, pb.Condition_CONDITION_ON_WORK_STAND},
		Instruments: []*pb.Instrument{{
			Id: "caliper-1", Kind: pb.InstrumentKind_INSTRUMENT_KIND_CALIPER, Unit: "mm", Resolution: 0.01,
			Accuracy: &pb.Instrument_ExpandedUncertainty{ExpandedUncertainty: 0.03},
		}},
		Note: fmt.Sprintf("sample %d", n),
	}
	for i := range readings {
		record.Readings = append(record.Readings, &pb.Reading{
			Characteristic: fmt.Sprintf("characteristic_%02d", i),
			Stage:          pb.Stage_STAGE_AS_LEFT,
			Result:         &pb.Reading_Value{Value: float64(n%100) + float64(i)/8},
			Unit:           "mm",
			Instrument:     "caliper-1",
			Time:           timestamppb.New(finish.Add(time.Duration(i-readings) * time.Minute)),
		})
	}
	verdict := pb.Verdict(1 + n/4%4)
	report := &pb.Report{
		SpecRevision:  fmt.Sprintf("specs/larkspur-250-r-2026-eu/revisions/%d", 1+n%3),
		Digest:        fmt.Sprintf("%064x", n%3),
		EngineVersion: "1",
		AsOfTime:      timestamppb.New(finish),
		Verdict:       verdict,
		Tally:         &pb.Tally{Conforming: int32(readings)},
	}
	if verdict == pb.Verdict_VERDICT_REJECT {
		report.Findings = []*pb.Finding{{
			Code:           pb.FindingCode_FINDING_CODE_ABOVE_UPPER_LIMIT,
			Severity:       pb.Severity_SEVERITY_DAMAGE,
			Effect:         verdict,
			Characteristic: "characteristic_00",
			Message:        "0.4 mm above the upper limit",
		}}
	}
	return store.Setup{
		ID:         fmt.Sprintf("0195-%010d", n),
		RequestID:  fmt.Sprintf("request-%d", n),
		Shop:       shop,
		Record:     record,
		Report:     report,
		CreateTime: Base.Add(time.Duration(n) * time.Second),
	}
}

// inShop moves a set-up to another shop.
func inShop(s store.Setup, shop string) store.Setup {
	s.Shop, s.Record.Shop = shop, shop
	return s
}

// superseding makes a set-up correct the one with that id.
func superseding(s store.Setup, id string) store.Setup {
	s.Record.Supersedes = store.Name(id)
	return s
}
