package auditreport

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"time"

	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/timestamppb"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

// Everything here is invented: makers, machines, shops, people and figures.

const sampleMonths = 12

func month(i int) string {
	return time.Date(2025, time.Month(6+i), 1, 0, 0, 0, 0, time.UTC).Format("2006-01")
}

func day(y int, m time.Month, d, hour int) *timestamppb.Timestamp {
	return timestamppb.New(time.Date(y, m, d, hour, 5, 0, 0, time.UTC))
}

// wilson is the interval that the contract asks for.
func wilson(hits, n int64) *pb.AuditEstimate {
	const z = 1.959964
	p, m := float64(hits)/float64(n), float64(n)
	middle := (p + z*z/(2*m)) / (1 + z*z/m)
	half := z / (1 + z*z/m) * math.Sqrt(p*(1-p)/m+z*z/(4*m*m))
	return &pb.AuditEstimate{Value: p, Lower: proto.Float64(max(middle-half, 0)), Upper: proto.Float64(min(middle+half, 1))}
}

func group(r *rand.Rand, name, parent string, n int64, yield float64) *pb.AuditYield {
	y := &pb.AuditYield{Name: name, Parent: parent, RecordCount: n}
	for range n {
		switch u := r.Float64(); {
		case u < yield:
			y.AcceptedCount++
		case u < yield+(1-yield)*0.55:
			y.RejectedCount++
		case u < yield+(1-yield)*0.85:
			y.IncompleteCount++
		default:
			y.ReferredCount++
		}
	}
	y.Yield = wilson(y.AcceptedCount, n)
	for i, s := range []pb.AuditSign{
		pb.AuditSign_AUDIT_SIGN_REPEATED_READINGS, pb.AuditSign_AUDIT_SIGN_FASTER_THAN_LEAST_TIME,
		pb.AuditSign_AUDIT_SIGN_INSTRUMENT_ELSEWHERE, pb.AuditSign_AUDIT_SIGN_VIN_SEEN_BEFORE,
	} {
		y.Signs = append(y.Signs, &pb.AuditSignCount{Sign: s, OpportunityCount: n - n/7, RecordCount: int64(r.IntN(2+int(n)/(90+40*i))) * int64(i%2)})
	}
	return y
}

// drawn makes values about a mean.
func drawn(r *rand.Rand, n int, mean, deviation, grain float64) []float64 {
	out := make([]float64, n)
	for i := range out {
		out[i] = math.Round((mean+deviation*r.NormFloat64())/grain) * grain
	}
	return out
}

// described is what the contract keeps of values. Counts are never negative.
func described(v []float64, lower, upper, from, to float64, cells int) *pb.AuditValues {
	if upper == 0 {
		for i := range v {
			v[i] = max(v[i], 0)
		}
	}
	out := &pb.AuditValues{Count: int64(len(v)), HistogramLower: from, HistogramUpper: to, Histogram: make([]int64, cells)}
	if len(v) == 0 {
		return out
	}
	out.Minimum, out.Maximum = slices.Min(v), slices.Max(v)
	var sum, squares float64
	for _, x := range v {
		sum += x
	}
	out.Mean = sum / float64(len(v))
	for _, x := range v {
		squares += (x - out.Mean) * (x - out.Mean)
		if x < lower || x > upper {
			out.OutsideCount++
		}
		switch i := int(math.Floor((x - from) / (to - from) * float64(cells))); {
		case i < 0:
			out.BelowCount++
		case i >= cells:
			out.AboveCount++
		default:
			out.Histogram[i]++
		}
	}
	if len(v) > 1 {
		out.StandardDeviation = math.Sqrt(squares / float64(len(v)-1))
	}
	return out
}

// kind is a characteristic to be made up.
type kind struct {
	id, name, unit  string
	group           pb.Group
	lower, upper    float64 // infinite where there is none
	nominal         float64
	mean, deviation float64
	grain           float64
	drift           float64 // of the mean in a month
	numeric         bool
}

func sampleKinds() []kind {
	none := math.Inf(1)
	return []kind{
		{id: "oil_tank_fill", name: "Oil tank fill", unit: "mL", group: pb.Group_GROUP_FLUIDS, lower: 380, upper: 450, nominal: 420, mean: 428, deviation: 13, grain: 5, drift: 0.6, numeric: true},
		{id: "clutch_free_play", name: "Clutch lever free play", unit: "mm", group: pb.Group_GROUP_CONTROLS, lower: 3, upper: 5, nominal: 4, mean: 4.1, deviation: 0.42, grain: 0.1, drift: 0.03, numeric: true},
		{id: "throttle_free_play", name: "Throttle free play", unit: "mm", group: pb.Group_GROUP_CONTROLS, lower: 2, upper: 4, nominal: 3, mean: 3, deviation: 0.3, grain: 0.1, numeric: true},
		{id: "rear_axle_nut", name: "Rear axle nut torque", unit: "N.m", group: pb.Group_GROUP_FASTENERS, lower: 90, upper: 110, nominal: 100, mean: 100.4, deviation: 1.9, grain: 1, numeric: true},
		{id: "front_tyre_pressure", name: "Front tyre pressure", unit: "kPa", group: pb.Group_GROUP_WHEELS_AND_TYRES, lower: 80, upper: 100, nominal: 90, mean: 91, deviation: 3, grain: 1, numeric: true},
		{id: "chain_slack", name: "Chain slack at the middle of the lower run, the machine on its wheels", unit: "mm", group: pb.Group_GROUP_CHAIN_AND_SPROCKETS, lower: 30, upper: 40, nominal: 35, mean: 36.5, deviation: 2.4, grain: 1, drift: -0.15, numeric: true},
		{id: "air_screw", name: "Air screw", unit: "circ", group: pb.Group_GROUP_IDLE_AND_MIXTURE, lower: 1, upper: 2, nominal: 1.5, mean: 1.5, deviation: 0.14, grain: 0.125, numeric: true},
		{id: "brake_pad", name: "Front brake pad thickness", unit: "mm", group: pb.Group_GROUP_SAFETY_CHECKS, lower: 2, upper: none, nominal: math.NaN(), mean: 4.4, deviation: 0.5, grain: 0.1, numeric: true},
		{id: "coolant_temperature", name: "Coolant temperature at the thermostat", unit: "Cel", group: pb.Group_GROUP_FLUIDS, lower: -none, upper: 95, nominal: math.NaN(), mean: 82, deviation: 4, grain: 1, numeric: true},
		{id: "rebound_clicks", name: "Rebound damping", unit: "{click}", group: pb.Group_GROUP_SUSPENSION, lower: 8, upper: 16, nominal: 12, mean: 12, deviation: 1.3, grain: 1, numeric: true},
		{id: "cable_routing", name: "Clutch cable inside its guide", group: pb.Group_GROUP_ROUTING},
		{id: "vent_plug", name: "Transport plug out of the vent", group: pb.Group_GROUP_FLUIDS},
		{id: "spokes", name: "Loose spokes", unit: "", group: pb.Group_GROUP_WHEELS_AND_TYRES, lower: -none, upper: 0, nominal: math.NaN(), mean: 0.1, deviation: 0.3, grain: 1, numeric: true},
		{id: "battery_voltage", name: "Battery voltage at rest", unit: "V", group: pb.Group_GROUP_ELECTRICAL, lower: 12.4, upper: none, nominal: math.NaN(), mean: 12.72, deviation: 0.08, grain: 0.01, numeric: true},
		{id: "fork_oil_level", name: "Fork oil level", unit: "mm", group: pb.Group_GROUP_SUSPENSION, lower: 95, upper: 105, nominal: 100, mean: 100, deviation: 1.2, grain: 0.5, numeric: true},
		{id: "key_handed_over", name: "Both keys handed over", group: pb.Group_GROUP_IDENTIFICATION},
		{id: "seat_bolt", name: "Seat bolt torque", unit: "N.m", group: pb.Group_GROUP_FASTENERS, lower: 8, upper: 12, nominal: 10, mean: 10.1, deviation: 0.5, grain: 0.1, numeric: true},
		{id: "lamp", name: "Tail lamp", group: pb.Group_GROUP_ELECTRICAL},
		{id: "horn", name: "Horn", group: pb.Group_GROUP_ELECTRICAL},
		{id: "idle_speed", name: "Idle speed", unit: "/min", group: pb.Group_GROUP_IDLE_AND_MIXTURE, lower: 1700, upper: 1900, nominal: 1800, mean: 1790, deviation: 45, grain: 10, numeric: true},
		{id: "stand_switch", name: "Side-stand switch", group: pb.Group_GROUP_SAFETY_CHECKS},
		{id: "mirror", name: "Mirrors fitted", group: pb.Group_GROUP_SAFETY_CHECKS},
	}
}

func (k kind) bounds() (lower, upper, nominal *float64) {
	is := func(v float64) *float64 {
		if math.IsInf(v, 0) || math.IsNaN(v) {
			return nil
		}
		return &v
	}
	return is(k.lower), is(k.upper), is(k.nominal)
}

func (k kind) make(r *rand.Rand, spec string, records int) *pb.AuditCharacteristic {
	return k.makeOver(r, spec, records, sampleMonths, 18)
}

func (k kind) makeOver(r *rand.Rand, spec string, records, months, cells int) *pb.AuditCharacteristic {
	c := &pb.AuditCharacteristic{SpecId: spec, Characteristic: k.id, DisplayName: k.name, Group: k.group, Unit: k.unit, Tally: &pb.Tally{}}
	var all []float64
	each := records / months
	for i := range months {
		p := &pb.AuditPeriod{Name: month(i), RecordCount: int64(each)}
		if k.numeric {
			v := drawn(r, each, k.mean+k.drift*float64(i-months/2), k.deviation, k.grain)
			d := described(v, k.lower, k.upper, 0, 1, 1)
			p.Count, p.Mean, p.StandardDeviation, p.NonconformingCount = d.Count, d.Mean, d.StandardDeviation, d.OutsideCount
			all = append(all, v...)
		} else {
			for range each {
				if r.Float64() < 0.012 {
					p.NonconformingCount++
				}
			}
		}
		c.Tally.Nonconforming += int32(p.NonconformingCount)
		c.Months = append(c.Months, p)
	}
	c.Tally.Undecided, c.Tally.Missing = int32(r.IntN(records/60+1)), int32(r.IntN(records/50+1))
	c.Tally.Conforming = int32(records) - c.Tally.Nonconforming - c.Tally.Undecided - c.Tally.Missing
	if !k.numeric {
		return c
	}
	lower, upper, nominal := k.bounds()
	from, to := k.mean-4*k.deviation, k.mean+4*k.deviation
	left := described(all, k.lower, k.upper, from, to, cells)
	found := described(drawn(r, records/4, k.mean+2.2*k.deviation, 1.8*k.deviation, k.grain), k.lower, k.upper, from, to+4*k.deviation, cells)
	d := &pb.AuditDistribution{Lower: lower, Upper: upper, Nominal: nominal, AsLeft: left, AsFound: found, Capability: &pb.AuditCapability{}}
	s := left.StandardDeviation
	spread := 1.96 * math.Sqrt(1/(9*float64(left.Count))+1/(2*float64(left.Count)))
	estimate := func(v float64) *pb.AuditEstimate {
		return &pb.AuditEstimate{Value: v, Lower: proto.Float64(v - spread*(1+v)), Upper: proto.Float64(v + spread*(1+v))}
	}
	switch {
	case s == 0:
		d.Capability.AbsentBecause = "the readings have no spread"
	case lower != nil && upper != nil:
		d.Capability.Cp = estimate((k.upper - k.lower) / (6 * s))
		d.Capability.Cpk = estimate(min(k.upper-left.Mean, left.Mean-k.lower) / (3 * s))
	case lower != nil:
		d.Capability.Cpk = estimate((left.Mean - k.lower) / (3 * s))
	case upper != nil:
		d.Capability.Cpk = estimate((k.upper - left.Mean) / (3 * s))
	}
	c.Distributions = append(c.Distributions, d)
	for i := range 3 {
		v := described(drawn(r, records/3, k.mean+0.1*float64(i)*k.deviation, k.deviation, k.grain), k.lower, k.upper, 0, 1, 1)
		c.Revisions = append(c.Revisions, &pb.AuditPeriod{Name: fmt.Sprint(i + 2), Count: v.Count, Mean: v.Mean, StandardDeviation: v.StandardDeviation, RecordCount: v.Count + 4, NonconformingCount: v.OutsideCount})
	}
	c.RevisionsPValue = proto.Float64(r.Float64() * 0.2)
	return c
}

// rich is a summary that has something of everything.
func rich() *pb.AuditSummary {
	r := rand.New(rand.NewPCG(7, 11))
	s := &pb.AuditSummary{
		Options: &pb.AuditOptions{
			Title: "Varnholt, set-ups of June 2025 to May 2026", KnownTime: day(2026, 6, 3, 9), UnitSystem: pb.UnitSystem_UNIT_SYSTEM_METRIC, HtmlReport: true,
		},
		EngineVersion: "7", AuditVersion: "1",
		FirstFinishTime: day(2025, 6, 2, 8), LastFinishTime: day(2026, 5, 29, 16),
	}
	names := strings.Fields("ridge-cycles fell-motors tarn-and-beck cairn-works gill-garage hause-motors scar-cycles dub-and-daughter pike-street knott-motors thwaite-bikes raise-racing beck-side force-motors crag-and-co mire-house swirl-motors hollin-cycles nab-end")
	total := &pb.AuditYield{}
	for i, n := range names {
		y := group(r, n, "", int64(900/(i+1)+14), 0.97-0.016*float64(i%9))
		s.Shops = append(s.Shops, y)
		total.RecordCount += y.RecordCount
		total.AcceptedCount += y.AcceptedCount
		total.RejectedCount += y.RejectedCount
		total.IncompleteCount += y.IncompleteCount
		total.ReferredCount += y.ReferredCount
		for t := range 1 + 3/(1+i) {
			s.Technicians = append(s.Technicians, group(r, fmt.Sprintf("t%02d", 3*i+t+1), n, y.RecordCount/int64(1+3/(1+i))+1, 0.95-0.02*float64((i+t)%6)))
		}
	}
	total.Yield = wilson(total.AcceptedCount, total.RecordCount)
	total.Signs = group(r, "", "", total.RecordCount, 0.9).Signs
	s.Total, s.ErrorCount = total, 31
	s.RecordCount = total.RecordCount + s.ErrorCount
	specs := []string{"varnholt-scree-200i-2026-eu", "varnholt-scree-200i-2025-eu", "varnholt-moraine-125-2026-eu"}
	for i, spec := range specs {
		model := []string{"Scree 200i", "Scree 200i", "Moraine 125"}[i]
		s.Specs = append(s.Specs, group(r, spec, model, total.RecordCount/int64(i+2), 0.93))
		for v := range 3 - i {
			s.Revisions = append(s.Revisions, group(r, fmt.Sprint(v+1), spec, total.RecordCount/int64(2*i+v+4), 0.9+0.02*float64(v)))
		}
	}
	for i, p := range []string{"PRE_DELIVERY", "HANDOVER", "FIRST_SERVICE", "SERVICE"} {
		s.Phases = append(s.Phases, group(r, p, "", total.RecordCount/int64(i+2), 0.95-0.02*float64(i)))
	}
	for i := range sampleMonths {
		s.Months = append(s.Months, group(r, month(i), "", total.RecordCount/sampleMonths, 0.94-0.008*float64(i%5)))
	}
	s.Errors = []*pb.AuditErrorCount{{Reason: "NO_REVISION_IN_FORCE", RecordCount: 14}, {Reason: "UNREADABLE", RecordCount: 9}, {Reason: "UNIT_OF_WRONG_DIMENSION", RecordCount: 6}, {Reason: "SPEC_NOT_FOUND", RecordCount: 2}}

	kinds := sampleKinds()
	findings := []struct {
		code     pb.FindingCode
		severity pb.Severity
		n        int64
	}{
		{pb.FindingCode_FINDING_CODE_ABOVE_UPPER_LIMIT, pb.Severity_SEVERITY_DAMAGE, 143},
		{pb.FindingCode_FINDING_CODE_MISSING_READING, pb.Severity_SEVERITY_RECORD, 96},
		{pb.FindingCode_FINDING_CODE_UNDECIDED, pb.Severity_SEVERITY_FUNCTION, 61},
		{pb.FindingCode_FINDING_CODE_BELOW_LOWER_LIMIT, pb.Severity_SEVERITY_SAFETY, 52},
		{pb.FindingCode_FINDING_CODE_ADJUSTER_PAST_MECHANICAL_RANGE, pb.Severity_SEVERITY_FUNCTION, 21},
		{pb.FindingCode_FINDING_CODE_INSTRUMENT_OUT_OF_CALIBRATION, pb.Severity_SEVERITY_RECORD, 17},
		{pb.FindingCode_FINDING_CODE_FILL_ABOVE_SAFE_LEVEL, pb.Severity_SEVERITY_SAFETY, 11},
		{pb.FindingCode_FINDING_CODE_VIN_CHECK_DIGIT, pb.Severity_SEVERITY_RECORD, 4},
		{pb.FindingCode_FINDING_CODE_RULE_NOT_DECIDED, pb.Severity_SEVERITY_FUNCTION, 1},
	}
	var sum, run, fineRun int64
	for _, f := range findings {
		sum += f.n
	}
	for i, f := range findings {
		run += f.n
		s.Pareto = append(s.Pareto, &pb.AuditFindingCount{Code: f.code, Severity: f.severity, FindingCount: f.n, Share: float64(f.n) / float64(sum), CumulativeShare: float64(run) / float64(sum)})
		for j, n := 0, f.n*4/10; n > 0; j, n = j+1, n*6/10 {
			k := kinds[(i*2+j)%len(kinds)]
			s.ParetoCharacteristics = append(s.ParetoCharacteristics, &pb.AuditFindingCount{Code: f.code, Severity: f.severity, Characteristic: k.id, DisplayName: k.name, FindingCount: n})
		}
	}
	slices.SortStableFunc(s.ParetoCharacteristics, func(x, y *pb.AuditFindingCount) int { return int(y.FindingCount - x.FindingCount) })
	for _, f := range s.ParetoCharacteristics {
		fineRun += f.FindingCount
		f.Share, f.CumulativeShare = float64(f.FindingCount)/float64(sum), min(float64(fineRun)/float64(sum), 1)
	}
	for i, k := range kinds {
		s.Characteristics = append(s.Characteristics, k.make(r, specs[i%3], 840))
		for j, shop := range names {
			if (i+j)%11 == 3 {
				continue
			}
			n := int32(900/(j+1) + 14)
			wrong := int32(float64(n) * max(0, 0.03+0.07*r.NormFloat64()) * float64(1+j%3) / 2)
			wrong = min(wrong, n/2)
			s.Cells = append(s.Cells, &pb.AuditCell{Shop: shop, Characteristic: k.id, Tally: &pb.Tally{Conforming: n - wrong - wrong/3 - wrong/4, Nonconforming: wrong, Undecided: wrong / 3, Missing: wrong / 4}})
		}
	}
	// A second set of limits, too small for a capability.
	first := s.Characteristics[0]
	small := described(drawn(r, 7, 405, 9, 5), 360, 430, 360, 440, 8)
	first.Distributions = append(first.Distributions, &pb.AuditDistribution{
		Lower: proto.Float64(360), Upper: proto.Float64(430), Nominal: proto.Float64(400), AsLeft: small, AsFound: &pb.AuditValues{},
		Capability: &pb.AuditCapability{AbsentBecause: "7 readings are too few; it takes 25"},
	})

	s.Observations = []*pb.AuditObservation{
		{
			Sign: pb.AuditSign_AUDIT_SIGN_PILED_AT_LIMIT, Shop: "ridge-cycles", Technician: "t02", Characteristic: "oil_tank_fill",
			Because:        "Worth a look, because 38 of 40 readings as left are exactly 450 mL, the upper limit; elsewhere 6.1 % are",
			InnocentCauses: "A filler jug whose only mark is at 450 mL, or a shop rule to fill to the mark, would show the same.",
			HitCount:       38, OpportunityCount: 40, Share: 0.95, ShareElsewhere: 0.061,
			Effect: &pb.AuditEstimate{Value: 15.6, Lower: proto.Float64(12.1), Upper: proto.Float64(20.2)},
			PValue: 1e-31, QValue: 3e-29, ExampleIndices: []int64{13, 58, 201, 844, 1290},
		},
		{
			Sign: pb.AuditSign_AUDIT_SIGN_REPEATED_READINGS, Shop: "gill-garage", Technician: "t16",
			Because:        "Worth a look, because 9 of 46 records are, digit for digit, those of an earlier record of another unit; elsewhere 0.4 % are",
			InnocentCauses: "Machines of one batch that are set up by one hand, with coarse instruments, can agree.",
			HitCount:       9, OpportunityCount: 46, Share: 9.0 / 46, ShareElsewhere: 0.004,
			Effect: &pb.AuditEstimate{Value: 48.9, Lower: proto.Float64(21), Upper: proto.Float64(114)},
			PValue: 2e-9, QValue: 4e-7, ExampleIndices: []int64{977},
		},
		{
			Sign: pb.AuditSign_AUDIT_SIGN_DRIFT, Shop: "tarn-and-beck", Characteristic: "chain_slack",
			Because:        "Worth a look, because readings of chain slack fall by 0.15 mm a month here and stand still elsewhere",
			InnocentCauses: "A rule that wears, a change of stand, or a new batch of chains would show the same.",
			HitCount:       0, OpportunityCount: 212,
			Effect: &pb.AuditEstimate{Value: -0.41, Lower: proto.Float64(-0.52), Upper: proto.Float64(-0.29)},
			PValue: 0.0002, QValue: 0.012, ExampleIndices: []int64{40, 4011},
		},
		{
			Sign: pb.AuditSign_AUDIT_SIGN_DIGIT_PREFERENCE, Shop: "fell-motors", Technician: "t04", Characteristic: "clutch_free_play",
			Because:        "Worth a look, because 71 of 112 last digits are 0 or 5; elsewhere 24 % are",
			InnocentCauses: "A gauge that is divided in halves would show the same.",
			HitCount:       71, OpportunityCount: 112, Share: 71.0 / 112, ShareElsewhere: 0.24,
			Effect: &pb.AuditEstimate{Value: 0.33}, PValue: 0.003, QValue: 0.041,
		},
	}
	test := func(sign pb.AuditSign, method, measure string, least int64, effect float64, tested, small, told int64) *pb.AuditTest {
		return &pb.AuditTest{Sign: sign, Method: method, EffectMeasure: measure, LeastCount: least, LeastEffect: effect, GreatestQValue: 0.05, TestedCount: tested, TooSmallCount: small, ToldCount: told}
	}
	s.Tests = []*pb.AuditTest{
		test(pb.AuditSign_AUDIT_SIGN_REPEATED_READINGS, "Mantel–Haenszel test, by month", "odds ratio", 20, 3, 31, 8, 1),
		test(pb.AuditSign_AUDIT_SIGN_FASTER_THAN_LEAST_TIME, "Fisher’s exact test", "odds ratio", 20, 3, 31, 8, 0),
		test(pb.AuditSign_AUDIT_SIGN_INSTRUMENT_ELSEWHERE, "Fisher’s exact test", "odds ratio", 20, 3, 0, 19, 0),
		test(pb.AuditSign_AUDIT_SIGN_VIN_SEEN_BEFORE, "Fisher’s exact test", "odds ratio", 20, 3, 0, 0, 0),
		test(pb.AuditSign_AUDIT_SIGN_DIGIT_PREFERENCE, "chi-squared test of homogeneity", "Cramér’s V", 60, 0.15, 204, 131, 1),
		test(pb.AuditSign_AUDIT_SIGN_PILED_AT_NOMINAL, "Fisher’s exact test", "ratio of shares", 30, 2, 260, 75, 0),
		test(pb.AuditSign_AUDIT_SIGN_PILED_AT_LIMIT, "Fisher’s exact test", "ratio of shares", 30, 2, 260, 75, 1),
		test(pb.AuditSign_AUDIT_SIGN_DRIFT, "Mann–Kendall test", "Kendall’s tau", 40, 0.25, 96, 40, 1),
	}
	s.Notes = []string{"212 technicians of records without a name were counted as one.", "Shops after the 500th were counted together"}
	return s
}

// fewer is a part of the rich one that still has something of everything, and
// more than is seen at once.
func fewer() *pb.AuditSummary {
	s := rich()
	s.Characteristics, s.Technicians = s.Characteristics[:8], s.Technicians[:18]
	kept := map[string]bool{}
	for _, c := range s.Characteristics {
		kept[c.Characteristic] = true
	}
	s.Cells = slices.DeleteFunc(s.Cells, func(c *pb.AuditCell) bool { return !kept[c.Characteristic] })
	return s
}

// size is how much there is of everything in an audit that is made up.
type size struct {
	specs, each, months, shops, technicians, observations int
}

// large is a summary of that size.
func large(z size) *pb.AuditSummary {
	r := rand.New(rand.NewPCG(3, 4))
	s := rich()
	s.Options.Title = "A large audit"
	s.Shops, s.Technicians, s.Specs, s.Revisions, s.Months = nil, nil, nil, nil, nil
	s.Characteristics, s.Cells = nil, nil
	first := s.Observations
	s.Observations = nil
	for i := range z.months {
		s.Months = append(s.Months, group(r, month(i), "", 300, 0.9))
	}
	shop := func(i int) string { return fmt.Sprintf("shop-number-%d", i+1) }
	for i := range z.shops {
		s.Shops = append(s.Shops, group(r, shop(i), "", int64(400/(i/20+1)+5), 0.9))
	}
	for i := range z.technicians {
		s.Technicians = append(s.Technicians, group(r, fmt.Sprintf("t%02d", i+1), shop(i%z.shops), int64(200/(i/40+1)+5), 0.8+0.2*r.Float64()))
	}
	kinds := sampleKinds()
	for i := range z.specs {
		spec := fmt.Sprintf("varnholt-scree-%d-2026-eu", 100+i)
		s.Specs = append(s.Specs, group(r, spec, "Scree", 500, 0.9))
		for j := range 3 {
			s.Revisions = append(s.Revisions, group(r, fmt.Sprintf("specs/%s/revisions/%d", spec, j+1), spec, 160, 0.9))
		}
		for j := range z.each {
			k := kinds[j%len(kinds)]
			if round := j / len(kinds); round > 0 {
				k.id, k.name = fmt.Sprintf("%s_%d", k.id, round+1), fmt.Sprintf("%s, place %d", k.name, round+1)
				k.deviation /= float64(round + 1)
			}
			s.Characteristics = append(s.Characteristics, k.makeOver(r, spec, z.months*10, z.months, 40))
			if i > 0 {
				continue // cells take specs together
			}
			for l := range z.shops {
				n := int32(4 + r.IntN(200))
				wrong := r.Int32N(n/20 + 1)
				s.Cells = append(s.Cells, &pb.AuditCell{Shop: shop(l), Characteristic: k.id, Tally: &pb.Tally{Conforming: n - wrong, Nonconforming: wrong}})
			}
		}
	}
	for i := range z.observations {
		o := proto.Clone(first[i%len(first)]).(*pb.AuditObservation)
		if c := s.Characteristics[i*7%len(s.Characteristics)]; o.Characteristic != "" {
			o.Characteristic, o.SpecId, o.DisplayName = c.Characteristic, c.SpecId, c.DisplayName
		}
		s.Observations = append(s.Observations, o)
	}
	return s
}

// many is one with more characteristics than are drawn.
func many() *pb.AuditSummary {
	return large(size{specs: 3, each: 30, months: 14, shops: 13, technicians: 20, observations: 14})
}

// zero is an audit of nothing.
func zero() *pb.AuditSummary {
	return &pb.AuditSummary{Options: &pb.AuditOptions{KnownTime: day(2026, 6, 3, 9)}, EngineVersion: "7", AuditVersion: "1", Total: &pb.AuditYield{Yield: &pb.AuditEstimate{}}}
}

// single is an audit of one record that was accepted.
func single() *pb.AuditSummary {
	one := func(name, parent string) *pb.AuditYield {
		return &pb.AuditYield{Name: name, Parent: parent, RecordCount: 1, AcceptedCount: 1, Yield: wilson(1, 1)}
	}
	play := described([]float64{4.2}, 3, 5, 4, 4.4, 4)
	return &pb.AuditSummary{
		Options: &pb.AuditOptions{Title: "One machine", SpecRevision: "specs/varnholt-scree-200i-2026-eu/revisions/4", UnitSystem: pb.UnitSystem_UNIT_SYSTEM_US},
		Total:   one("", ""), RecordCount: 1, FirstFinishTime: day(2026, 7, 2, 11), LastFinishTime: day(2026, 7, 2, 11),
		Shops: []*pb.AuditYield{one("ridge-cycles", "")}, Technicians: []*pb.AuditYield{one("t07", "ridge-cycles")},
		Specs: []*pb.AuditYield{one("varnholt-scree-200i-2026-eu", "Scree 200i")}, Revisions: []*pb.AuditYield{one("4", "varnholt-scree-200i-2026-eu")},
		Phases: []*pb.AuditYield{one("HANDOVER", "")}, Months: []*pb.AuditYield{one("2026-07", "")},
		Characteristics: []*pb.AuditCharacteristic{{
			SpecId: "varnholt-scree-200i-2026-eu", Characteristic: "clutch_free_play", DisplayName: "Clutch lever free play", Unit: "mm", Group: pb.Group_GROUP_CONTROLS,
			Tally: &pb.Tally{Conforming: 1},
			Distributions: []*pb.AuditDistribution{{
				Lower: proto.Float64(3), Upper: proto.Float64(5), AsLeft: play, Capability: &pb.AuditCapability{AbsentBecause: "one reading has no spread"},
			}},
			Months: []*pb.AuditPeriod{{Name: "2026-07", Count: 1, Mean: 4.2, RecordCount: 1}},
		}},
		Cells: []*pb.AuditCell{{Shop: "ridge-cycles", Characteristic: "clutch_free_play", Tally: &pb.Tally{Conforming: 1}}},
		Tests: []*pb.AuditTest{{Sign: pb.AuditSign_AUDIT_SIGN_DRIFT, Method: "Mann–Kendall test", EffectMeasure: "Kendall’s tau", LeastCount: 40, LeastEffect: 0.25, GreatestQValue: 0.05, TooSmallCount: 1}},
	}
}

// wordless has characteristics, none of them a number.
func wordless() *pb.AuditSummary {
	s := rich()
	s.Options.Title = "Checks only"
	s.Characteristics = slices.DeleteFunc(s.Characteristics, func(c *pb.AuditCharacteristic) bool { return len(c.Distributions) > 0 })
	s.Observations, s.Tests, s.Notes = nil, nil, nil
	return s
}

// failed has no record that could be judged.
func failed() *pb.AuditSummary {
	s := zero()
	s.Options.Title = "Nothing could be read"
	s.RecordCount, s.ErrorCount = 12, 12
	s.Errors = []*pb.AuditErrorCount{{Reason: "UNREADABLE", RecordCount: 11}, {RecordCount: 1}}
	return s
}

// hostile is the rich one with every text made to do harm, and with numbers that
// are none.
func hostile() *pb.AuditSummary {
	s := rich()
	return spoil(s)
}
