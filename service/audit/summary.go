package audit

import (
	"cmp"
	"fmt"
	"maps"
	"math"
	"slices"
	"strconv"
	"strings"

	"google.golang.org/protobuf/proto"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/phrase"
	"github.com/snapgauge/snapgauge/service/statistic"
)

const (
	confidence = 0.95 // of every interval that is told
	// mostPareto bounds the findings that are listed by characteristic.
	mostPareto = 200
	// leastCapability is how many readings a capability index is told of at least:
	// with fewer its interval says nothing (it is then wider than ±30 %).
	leastCapability = 25
	// leastRevision is how many readings a revision has at least to be compared.
	leastRevision = 10
)

// Summary gives what shows over all records so far. It changes nothing.
func (a *Auditor) Summary() *pb.AuditSummary {
	s := &pb.AuditSummary{
		Options: proto.CloneOf(a.options), EngineVersion: a.engine, AuditVersion: Version,
		RecordCount: a.Records, ErrorCount: a.Errors,
		Total: yieldOf("", "", &a.Total),
	}
	if a.Total.records() > 0 {
		s.FirstFinishTime, s.LastFinishTime = a.First.proto(), a.Last.proto()
	}
	a.sayYields(s)
	a.sayFindings(s)
	a.sayCharacteristics(s)
	a.observe(s)
	s.Notes = a.notes()
	return s
}

func (a *Auditor) sayYields(s *pb.AuditSummary) {
	for i := range a.ByShop {
		s.Shops = appendYield(s.Shops, orRest(a.Shops.name(int32(i))), "", &a.ByShop[i])
	}
	for i := range a.ByHand {
		name := a.People.name(int32(i))
		s.Technicians = appendYield(s.Technicians, orRest(technicianOf(name)), shopOf(name), &a.ByHand[i])
	}
	specs, models := map[string]*tally{}, map[string]string{}
	for i := range a.ByRev {
		name := a.Revised.name(int32(i))
		spec := specOf(name)
		s.Revisions = appendYield(s.Revisions, orRest(name), spec, &a.ByRev[i])
		if specs[spec] == nil {
			specs[spec], models[spec] = new(tally), a.Models[i]
		}
		specs[spec].merge(&a.ByRev[i])
	}
	for _, spec := range slices.Sorted(maps.Keys(specs)) {
		s.Specs = appendYield(s.Specs, orRest(spec), models[spec], specs[spec])
	}
	for _, phase := range inOrder(a.ByPhase) {
		s.Phases = appendYield(s.Phases, phrase.Phase(pb.Phase(phase)), "", a.ByPhase[phase])
	}
	for _, month := range inOrder(a.ByMonth) {
		s.Months = appendYield(s.Months, monthName(month), "", a.ByMonth[month])
	}
	mostFirst := func(x, y *pb.AuditYield) int {
		return cmp.Or(cmp.Compare(y.RecordCount, x.RecordCount), cmp.Compare(x.Parent, y.Parent), cmp.Compare(x.Name, y.Name))
	}
	slices.SortFunc(s.Shops, mostFirst)
	slices.SortFunc(s.Technicians, mostFirst)
	slices.SortFunc(s.Specs, mostFirst)
	slices.SortFunc(s.Revisions, func(x, y *pb.AuditYield) int {
		return cmp.Or(cmp.Compare(x.Parent, y.Parent), cmp.Compare(revisionOf(x.Name), revisionOf(y.Name)))
	})
	for reason, n := range a.Reasons {
		s.Errors = append(s.Errors, &pb.AuditErrorCount{Reason: reason, RecordCount: n})
	}
	slices.SortFunc(s.Errors, func(x, y *pb.AuditErrorCount) int {
		return cmp.Or(cmp.Compare(y.RecordCount, x.RecordCount), cmp.Compare(x.Reason, y.Reason))
	})
}

// rest is the name of what was counted together.
const rest = "(the rest)"

func orRest(name string) string {
	if name == "" {
		return rest
	}
	return name
}

// specOf gives the spec of a revision's name, specs/{spec}/revisions/{revision}.
func specOf(revision string) string {
	spec, _, _ := strings.Cut(strings.TrimPrefix(revision, "specs/"), "/")
	return spec
}

func revisionOf(name string) int {
	n, _ := strconv.Atoi(name[strings.LastIndexByte(name, '/')+1:])
	return n
}

func monthName(month int32) string { return fmt.Sprintf("%04d-%02d", month/12, month%12+1) }

func appendYield(yields []*pb.AuditYield, name, parent string, t *tally) []*pb.AuditYield {
	if t.records() == 0 {
		return yields
	}
	return append(yields, yieldOf(name, parent, t))
}

func yieldOf(name, parent string, t *tally) *pb.AuditYield {
	y := &pb.AuditYield{
		Name: name, Parent: parent, RecordCount: t.records(),
		AcceptedCount: t.Verdicts[pb.Verdict_VERDICT_ACCEPT], RejectedCount: t.Verdicts[pb.Verdict_VERDICT_REJECT],
		IncompleteCount: t.Verdicts[pb.Verdict_VERDICT_INCOMPLETE], ReferredCount: t.Verdicts[pb.Verdict_VERDICT_REFER],
	}
	if in, err := statistic.Wilson(y.AcceptedCount, y.RecordCount, confidence); err == nil {
		y.Yield = estimate(float64(y.AcceptedCount)/float64(y.RecordCount), in)
	}
	for sign := 1; sign < recordSigns; sign++ {
		if t.Chances[sign] > 0 || t.Shown[sign] > 0 {
			y.Signs = append(y.Signs, &pb.AuditSignCount{
				Sign: pb.AuditSign(sign), OpportunityCount: t.Chances[sign], RecordCount: t.Shown[sign],
			})
		}
	}
	return y
}

// estimate tells an interval; a bound that is not finite is none.
func estimate(value float64, in statistic.Interval) *pb.AuditEstimate {
	e := &pb.AuditEstimate{Value: value}
	if !math.IsInf(in.Lower, 0) && !math.IsNaN(in.Lower) {
		e.Lower = proto.Float64(in.Lower)
	}
	if !math.IsInf(in.Upper, 0) && !math.IsNaN(in.Upper) {
		e.Upper = proto.Float64(in.Upper)
	}
	return e
}

func (a *Auditor) sayFindings(s *pb.AuditSummary) {
	byCode := map[int32]*pb.AuditFindingCount{}
	for i := range a.Kinds {
		k := &a.Kinds[i]
		all := byCode[k.Code]
		if all == nil {
			all = &pb.AuditFindingCount{Code: pb.FindingCode(k.Code)}
			byCode[k.Code] = all
			s.Pareto = append(s.Pareto, all)
		}
		all.FindingCount += k.Count
		if worst := pb.Severity(k.Severity); worst != 0 && (all.Severity == 0 || worst < all.Severity) {
			all.Severity = worst
		}
		s.ParetoCharacteristics = append(s.ParetoCharacteristics, &pb.AuditFindingCount{
			Code: pb.FindingCode(k.Code), Severity: pb.Severity(k.Severity),
			Characteristic: k.ID, DisplayName: k.Name, FindingCount: k.Count,
		})
	}
	pareto(s.Pareto)
	pareto(s.ParetoCharacteristics)
	if len(s.ParetoCharacteristics) > mostPareto {
		s.ParetoCharacteristics = s.ParetoCharacteristics[:mostPareto]
	}
}

// pareto puts the most frequent first and works out the shares.
func pareto(counts []*pb.AuditFindingCount) {
	var sum, so int64
	for _, c := range counts {
		sum += c.FindingCount
	}
	slices.SortFunc(counts, func(x, y *pb.AuditFindingCount) int {
		return cmp.Or(cmp.Compare(y.FindingCount, x.FindingCount), cmp.Compare(x.Code, y.Code), cmp.Compare(x.Characteristic, y.Characteristic))
	})
	for _, c := range counts {
		so += c.FindingCount
		c.Share, c.CumulativeShare = float64(c.FindingCount)/float64(sum), float64(so)/float64(sum)
	}
}

func (a *Auditor) sayCharacteristics(s *pb.AuditSummary) {
	chars := slices.SortedFunc(slices.Values(a.Chars), func(x, y *characteristic) int {
		return cmp.Or(cmp.Compare(x.Spec, y.Spec), cmp.Compare(x.Order, y.Order), cmp.Compare(x.ID, y.ID), cmp.Compare(x.Unit, y.Unit))
	})
	type cellKey struct {
		shop int32
		id   string
	}
	cells := map[cellKey]*outcomes{}
	for _, c := range chars {
		s.Characteristics = append(s.Characteristics, a.sayCharacteristic(c))
		for shop, cell := range c.Shops {
			key := cellKey{shop, c.ID}
			if cells[key] == nil {
				cells[key] = new(outcomes)
			}
			cells[key].merge(cell.Outcomes)
		}
	}
	for key, o := range cells {
		s.Cells = append(s.Cells, &pb.AuditCell{Shop: orRest(a.Shops.name(key.shop)), Characteristic: key.id, Tally: tallyProto(*o)})
	}
	slices.SortFunc(s.Cells, func(x, y *pb.AuditCell) int {
		return cmp.Or(cmp.Compare(x.Shop, y.Shop), cmp.Compare(x.Characteristic, y.Characteristic))
	})
}

func tallyProto(o outcomes) *pb.Tally {
	// The contract's tally is that of one record first of all; it can go no further.
	count := func(kind pb.OutcomeKind) int32 { return int32(min(o[kind], math.MaxInt32)) }
	return &pb.Tally{
		Conforming:    count(pb.OutcomeKind_OUTCOME_KIND_CONFORMING),
		Nonconforming: count(pb.OutcomeKind_OUTCOME_KIND_NONCONFORMING),
		Undecided:     count(pb.OutcomeKind_OUTCOME_KIND_UNDECIDED),
		Missing:       count(pb.OutcomeKind_OUTCOME_KIND_MISSING),
		NotApplicable: count(pb.OutcomeKind_OUTCOME_KIND_NOT_APPLICABLE),
	}
}

func (a *Auditor) sayCharacteristic(c *characteristic) *pb.AuditCharacteristic {
	said := &pb.AuditCharacteristic{
		SpecId: c.Spec, Characteristic: c.ID, DisplayName: c.Name, Group: pb.Group(c.Group), Unit: c.Unit,
		Tally: tallyProto(c.Outcomes),
	}
	for _, month := range inOrder(c.Months) {
		said.Months = append(said.Months, c.Months[month].say(monthName(month)))
	}
	revisions := inOrder(c.Revisions)
	slices.SortFunc(revisions, func(x, y int32) int {
		return cmp.Compare(revisionOf(a.Revised.name(x)), revisionOf(a.Revised.name(y)))
	})
	for _, r := range revisions {
		name := rest
		if r != pool {
			name = strconv.Itoa(revisionOf(a.Revised.name(r)))
		}
		said.Revisions = append(said.Revisions, c.Revisions[r].say(name))
	}
	var most int64
	for _, same := range sameLimits(c.Limits) {
		said.Distributions = append(said.Distributions, distributionOf(same))
		if p, n, ok := compareRevisions(same); ok && n > most {
			most = n
			said.RevisionsPValue = &p
		}
	}
	slices.SortStableFunc(said.Distributions, func(x, y *pb.AuditDistribution) int {
		return cmp.Compare(y.AsLeft.Count, x.AsLeft.Count)
	})
	return said
}

func (p *period) say(name string) *pb.AuditPeriod {
	said := &pb.AuditPeriod{
		Name: name, Count: p.Moments.N, Mean: p.Moments.Mean,
		RecordCount: p.Outcomes.sum(), NonconformingCount: p.Outcomes[pb.OutcomeKind_OUTCOME_KIND_NONCONFORMING],
	}
	if p.Moments.N > 1 {
		said.StandardDeviation = p.Moments.StdDev()
	}
	return said
}

// sameLimits puts together what revisions have the same limits, in the order in
// which they were seen.
func sameLimits(all []*limits) [][]*limits {
	type key struct {
		lower, upper, nominal float64
		hasNominal            bool
	}
	var groups [][]*limits
	at := map[key]int{}
	for _, l := range all {
		k := key{lower: l.Lower, upper: l.Upper}
		if !math.IsNaN(l.Nominal) { // which is not equal to itself, and has many forms
			k.nominal, k.hasNominal = l.Nominal, true
		}
		i, ok := at[k]
		if !ok {
			i = len(groups)
			at[k] = i
			groups = append(groups, nil)
		}
		groups[i] = append(groups[i], l)
	}
	return groups
}

// compareRevisions tests whether readings under the same limits differ between
// revisions, where at least two have readings enough.
func compareRevisions(same []*limits) (p float64, n int64, ok bool) {
	var groups []statistic.Moments
	for _, l := range same {
		if l.Left.Moments.N >= leastRevision {
			groups = append(groups, l.Left.Moments)
			n += l.Left.Moments.N
		}
	}
	if len(groups) < 2 {
		return 0, 0, false
	}
	result, err := statistic.Anova(groups)
	return result.P, n, err == nil
}

func distributionOf(same []*limits) *pb.AuditDistribution {
	var left, found values
	for _, l := range same {
		left.merge(&l.Left)
		found.merge(&l.Found)
	}
	f := same[0].frame()
	d := &pb.AuditDistribution{AsLeft: left.say(f), AsFound: found.say(f)}
	if !math.IsInf(f.lower, 0) {
		d.Lower = proto.Float64(f.lower)
	}
	if !math.IsInf(f.upper, 0) {
		d.Upper = proto.Float64(f.upper)
	}
	if !math.IsNaN(f.nominal) {
		d.Nominal = proto.Float64(f.nominal)
	}
	d.Capability = capabilityOf(left.Moments, d.Lower, d.Upper)
	return d
}

func (v *values) say(f frame) *pb.AuditValues {
	if v.Moments.N == 0 {
		return nil
	}
	said := &pb.AuditValues{
		Count: v.Moments.N, Mean: v.Moments.Mean, Minimum: v.Min, Maximum: v.Max,
		OutsideCount: v.Outside, Histogram: v.Cells, BelowCount: v.Below, AboveCount: v.Above,
	}
	if v.Moments.N > 1 {
		said.StandardDeviation = v.Moments.StdDev()
	}
	said.HistogramLower, said.HistogramUpper = f.span()
	return said
}

func capabilityOf(m statistic.Moments, lower, upper *float64) *pb.AuditCapability {
	switch {
	case lower == nil && upper == nil:
		return &pb.AuditCapability{AbsentBecause: "it has no limits"}
	case m.N < leastCapability:
		return &pb.AuditCapability{AbsentBecause: fmt.Sprintf("it has %d readings, and %d are wanted", m.N, leastCapability)}
	}
	c, err := statistic.Capability(m, lower, upper, confidence)
	if err != nil {
		return &pb.AuditCapability{AbsentBecause: "its readings are all alike, or its limits leave no room"}
	}
	said := &pb.AuditCapability{Cpk: estimate(c.Cpk.Value, c.Cpk.Interval)}
	if c.Cp != nil {
		said.Cp = estimate(c.Cp.Value, c.Cp.Interval)
	}
	return said
}

// notes say where a bound was reached.
func (a *Auditor) notes() []string {
	notes := slices.Clone(a.Notes)
	add := func(n int64, format string, args ...any) {
		if n > 0 {
			notes = append(notes, fmt.Sprintf(format, args...))
		}
	}
	g := phrase.Grouped
	add(a.Shops.Pooled, "%s records are of shops beyond the first %s; they are counted together.", g(a.Shops.Pooled), g(mostShops))
	add(a.People.Pooled, "%s records are of technicians beyond the first %s; they are counted together, and not tested.", g(a.People.Pooled), g(mostTechnicians))
	add(a.Revised.Pooled, "%s records were judged by revisions beyond the first %s; they are counted together.", g(a.Revised.Pooled), g(mostRevisions))
	add(a.Crowded, "%s or more counts by month, phase, revision, shop, technician or characteristic found no room; they are missing in those tables, and not tested.", g(a.Crowded))
	add(a.VINs.Forgotten, "A second record of a VIN is looked for among the last %s records or so.", g(a.VINs.Held))
	// A long record is remembered by both its halves.
	add(a.Repeats.Forgotten, "Records with the same readings are looked for among the last %s records or more.", g(a.Repeats.Held/2))
	add(a.Places.Forgotten, "An instrument in two shops is looked for among the last %s hours of use or so.", g(a.Places.Held))
	return notes
}
