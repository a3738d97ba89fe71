package audit

import (
	"fmt"
	"math/rand/v2"
	"testing"
	"time"

	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/timestamppb"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/gauge"
	"github.com/snapgauge/snapgauge/service/spec"
)

// gaps is how many characteristics the sheet of the tests has.
const gaps = 12

// testEngine judges by an invented sheet: so many gaps of 9 to 11 mm, the last of
// them with other limits in its second revision.
func testEngine(t testing.TB, revision int32) *gauge.Engine {
	t.Helper()
	sheet := &pb.SpecSheet{
		SpecId: "measure-12-2026-eu", Revision: revision, Invented: true,
		EffectiveTime: timestamppb.New(time.Date(2025, 1, 1, 0, 0, 0, 0, time.UTC)),
		ChangeNote:    "Issue.", SourceDocument: "Invented for tests",
		Make: "Quillback", Model: "Measure 12", ModelYear: 2026, Market: "EU",
		Vin:        &pb.VinCoverage{Patterns: []string{"0VBRL????T1??????"}},
		LeastTimes: []*pb.LeastTime{{Phase: pb.Phase_PHASE_PRE_DELIVERY, Minutes: 60}},
	}
	for i := range gaps {
		c := &pb.Characteristic{
			Id: fmt.Sprintf("gap_%d", i), DisplayName: fmt.Sprintf("Gap %d", i), Group: pb.Group_GROUP_CONTROLS,
			Limits:     &pb.Limits{Lower: proto.Float64(9), Upper: proto.Float64(11), Nominal: proto.Float64(10), Unit: "mm"},
			Kind:       &pb.Characteristic_Measured{Measured: &pb.Measured{}},
			Severity:   pb.Severity_SEVERITY_FUNCTION,
			RequiredIn: []pb.Phase{pb.Phase_PHASE_PRE_DELIVERY}, Source: "Invented",
			DecisionRule: pb.DecisionRule_DECISION_RULE_SIMPLE_ACCEPTANCE,
		}
		if i == gaps-2 {
			c.Limits.Nominal = nil
		}
		if i > 0 && i < 3 {
			c.Prerequisites = []string{"gap_0"}
		}
		if i == gaps-1 && revision > 1 {
			c.Limits.Upper = proto.Float64(10.5)
		}
		sheet.Characteristics = append(sheet.Characteristics, c)
	}
	r, err := spec.NewRevision(sheet)
	if err != nil {
		t.Fatal(err)
	}
	e, err := gauge.Compile(r)
	if err != nil {
		t.Fatal(err)
	}
	return e
}

// record is one of unit n, measured in hundredths of a millimetre, without a sign.
func record(rng *rand.Rand, n int, shop, technician string) *pb.SetupRecord {
	start := time.Date(2026, 1, 5, 7, 0, 0, 0, time.UTC).Add(time.Duration(n) * 2 * time.Hour)
	r := &pb.SetupRecord{
		Unit:  &pb.Unit{Vin: fmt.Sprintf("0VBRL0000T1%06d", n), Model: "Measure 12", ModelYear: 2026, Market: "EU"},
		Phase: pb.Phase_PHASE_PRE_DELIVERY, Shop: shop, Technician: technician,
		StartTime: timestamppb.New(start), FinishTime: timestamppb.New(start.Add(90 * time.Minute)),
		Instruments: []*pb.Instrument{{
			Id: "caliper", Kind: pb.InstrumentKind_INSTRUMENT_KIND_CALIPER, Unit: "mm", Resolution: 0.01,
			SerialNumber: "CAL-1-" + shop,
		}},
	}
	for i := range gaps {
		value := 10 + 0.2*rng.NormFloat64()
		r.Readings = append(r.Readings, &pb.Reading{
			Characteristic: fmt.Sprintf("gap_%d", i), Unit: "mm", Instrument: "caliper",
			Result: &pb.Reading_Value{Value: float64(int(value*100+0.5)) / 100},
			Time:   timestamppb.New(start.Add(time.Duration(i+1) * 5 * time.Minute)),
		})
	}
	return r
}

// plainRecord is one of unit n, all by one person.
func plainRecord(n int) *pb.SetupRecord {
	return record(rand.New(rand.NewPCG(4, uint64(n))), n, "north", "a")
}

// testEngines are both revisions.
func testEngines(t testing.TB) []*gauge.Engine {
	return []*gauge.Engine{testEngine(t, 1), testEngine(t, 2)}
}

func newAuditor() *Auditor {
	return New(&pb.AuditOptions{KnownTime: timestamppb.New(time.Date(2026, 9, 1, 0, 0, 0, 0, time.UTC))}, gauge.Version)
}

// add judges a record and adds it.
func add(t testing.TB, a *Auditor, e *gauge.Engine, r *pb.SetupRecord) *pb.AuditResult {
	t.Helper()
	entry, err := Judge(e, r, gauge.Options{AsOf: r.GetFinishTime().AsTime()})
	if err != nil {
		t.Fatal(err)
	}
	return a.Add(entry)
}

// shopOfUnit and personOfUnit spread records over five shops of three.
func shopOfUnit(n int) string   { return fmt.Sprintf("shop-%d", n%5) }
func personOfUnit(n int) string { return fmt.Sprintf("t%d", n/5%3) }

// honest adds so many records, some of them wrong and some that could not be
// judged. The revisions take turns of a hundred records.
func honest(t testing.TB, a *Auditor, revisions []*gauge.Engine, seed uint64, from, to int) {
	t.Helper()
	for n := from; n < to; n++ {
		e := revisions[n/100%len(revisions)]
		rng := rand.New(rand.NewPCG(seed, uint64(n)))
		if n%17 == 3 {
			a.Add(Failed(nil, "UNREADABLE", "not a record"))
			continue
		}
		r := record(rng, n, shopOfUnit(n), personOfUnit(n))
		if n%11 == 5 {
			r.Readings[4].Result = &pb.Reading_Value{Value: 12}
		}
		add(t, a, e, r)
	}
}

func encoded(t testing.TB, m proto.Message) string {
	t.Helper()
	data, err := proto.MarshalOptions{Deterministic: true}.Marshal(m)
	if err != nil {
		t.Fatal(err)
	}
	return string(data)
}

// madeEntry is an entry of unit n without readings.
func madeEntry(shop, technician string, n int) *Entry {
	at := time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC).Add(time.Duration(n) * time.Hour)
	return &Entry{
		record: &pb.SetupRecord{
			Unit: &pb.Unit{Vin: fmt.Sprintf("0VBRL0000T1%06d", n)}, Phase: pb.Phase_PHASE_PRE_DELIVERY,
			Shop: shop, Technician: technician,
		},
		report: &pb.Report{SpecRevision: "specs/x/revisions/1", Verdict: pb.Verdict_VERDICT_ACCEPT},
		spec:   "x", begin: at, end: at,
	}
}
