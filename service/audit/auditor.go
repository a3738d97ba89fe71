package audit

import (
	"fmt"
	"math"
	"time"

	"google.golang.org/protobuf/proto"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/phrase"
)

// Auditor takes entries and keeps what shows over all of them. It is not safe for
// concurrent use. Make one with [New] or [Restore].
type Auditor struct {
	options *pb.AuditOptions
	engine  string
	ledger

	chars map[charKey]int32
	kinds map[kindKey]int32
	cells struct{ months, revisions, shops, hands, limits int }
}

// charKey is what a characteristic is found by.
type charKey struct{ spec, id string }

// kindKey is what a kind of finding is found by.
type kindKey struct {
	code int32
	id   string
}

// New begins an audit. The options are those by which the entries are judged, and
// state a known time; engine is the version of the engine that judges. Both stand
// in the summary.
func New(options *pb.AuditOptions, engine string) *Auditor {
	a := &Auditor{options: proto.CloneOf(options), engine: engine}
	a.Reasons = map[string]int64{}
	a.ByPhase, a.ByMonth = map[int32]*tally{}, map[int32]*tally{}
	a.Rings, a.Shown = map[int32]*ring{}, map[int32][][]int64{}
	a.chars, a.kinds = map[charKey]int32{}, map[kindKey]int32{}
	return a
}

// Options are those by which the entries are judged. They must not be modified.
func (a *Auditor) Options() *pb.AuditOptions { return a.options }

// Count is how many entries were taken.
func (a *Auditor) Count() int64 { return a.Records }

// Add takes the next entry and gives its result. The entry must not be used again.
func (a *Auditor) Add(e *Entry) *pb.AuditResult {
	index := a.Records
	a.Records++
	result := &pb.AuditResult{Index: index, Setup: e.Setup, VerdictThen: e.VerdictThen, Error: e.err}
	if r := e.record; r != nil {
		result.Vin, result.Model = r.GetUnit().GetVin(), r.GetUnit().GetModel()
		result.Shop, result.Technician = r.GetShop(), r.GetTechnician()
		result.Phase, result.FinishTime = r.GetPhase(), r.GetFinishTime()
	}
	if e.err != nil {
		a.Errors++
		a.Reasons[e.err.GetReason()]++ // the service's own, and few
		return result
	}
	result.SpecRevision, result.Verdict = e.report.GetSpecRevision(), e.report.GetVerdict()
	result.Tally = e.report.GetTally()
	for _, f := range e.report.GetFindings() {
		result.Findings = append(result.Findings, &pb.AuditFinding{
			Code: f.GetCode(), Severity: f.GetSeverity(), Characteristic: f.GetCharacteristic(), Message: f.GetMessage(),
		})
		a.countFinding(f)
	}
	at := a.locate(e)
	for i := range e.samples {
		a.addSample(&e.samples[i], int32(i), e.spec, at)
	}
	result.Remarks = a.remark(e, index, at)
	for _, t := range at.tallies {
		t.Verdicts[int(result.Verdict)%len(t.Verdicts)]++
	}
	giveBack(e)
	return result
}

// location is where one entry counts.
type location struct {
	shop, person, revision, month int32
	day                           float64 // since 1970
	tallies                       []*tally
}

// locate finds the groups that an entry belongs to, and makes those that are new.
func (a *Auditor) locate(e *Entry) location {
	r := e.record
	finish := e.end
	if nanos := finish.UnixNano(); a.Total.records() == 0 || nanos < a.First {
		a.First = nanos
	}
	if nanos := finish.UnixNano(); a.Total.records() == 0 || nanos > a.Last {
		a.Last = nanos
	}
	at := location{
		shop:     a.Shops.place(r.GetShop(), mostShops),
		person:   a.People.place(r.GetShop()+"\n"+r.GetTechnician(), mostTechnicians),
		revision: a.Revised.place(e.report.GetSpecRevision(), mostRevisions),
		month:    int32(finish.Year()*12 + int(finish.Month()) - 1),
		day:      float64(finish.Unix()) / (24 * 3600),
	}
	for len(a.Works) < a.People.size() {
		a.Works = append(a.Works, pool)
	}
	if at.person != pool {
		a.Works[at.person] = at.shop
	}
	for len(a.Models) < a.Revised.size() {
		a.Models = append(a.Models, "")
	}
	if at.revision != pool && a.Models[at.revision] == "" {
		a.Models[at.revision] = r.GetUnit().GetModel()
	}
	grow(&a.ByShop, a.Shops.size())
	grow(&a.ByHand, a.People.size())
	grow(&a.ByRev, a.Revised.size())
	at.tallies = []*tally{&a.Total, &a.ByShop[at.shop], &a.ByHand[at.person], &a.ByRev[at.revision],
		tallyOf(a.ByPhase, int32(r.GetPhase()), math.MaxInt), tallyOf(a.ByMonth, at.month, mostMonths)}
	return at
}

func grow(tallies *[]tally, size int) {
	for len(*tallies) < size {
		*tallies = append(*tallies, tally{})
	}
}

// tallyOf gives the tally of a key; of what has no place any more, a tally that
// nobody reads.
func tallyOf(tallies map[int32]*tally, key int32, most int) *tally {
	t := tallies[key]
	if t == nil {
		t = new(tally)
		if len(tallies) < most {
			tallies[key] = t
		}
	}
	return t
}

func (a *Auditor) countFinding(f *pb.Finding) {
	key := kindKey{int32(f.GetCode()), f.GetCharacteristic()}
	at, ok := a.kinds[key]
	if !ok {
		if len(a.Kinds) >= mostKinds {
			key.id = "" // counted with the code alone
			if at, ok = a.kinds[key]; !ok {
				a.Crowded++
				return
			}
		} else {
			at = int32(len(a.Kinds))
			a.Kinds = append(a.Kinds, kind{Code: key.code, ID: key.id, Name: f.GetDisplayName()})
			a.kinds[key] = at
		}
	}
	k := &a.Kinds[at]
	k.Count++
	if s := int32(f.GetSeverity()); s != 0 && (k.Severity == 0 || s < k.Severity) {
		k.Severity = s
	}
}

// addSample counts what one record says of one characteristic.
func (a *Auditor) addSample(s *sample, order int32, spec string, at location) {
	c := a.characteristic(s, order, spec)
	if c == nil {
		a.Crowded++
		return
	}
	c.Outcomes[s.outcome]++
	month := cellOf(a, &c.Months, at.month, &a.cells.months)
	revision := cellOf(a, &c.Revisions, at.revision, &a.cells.revisions)
	shop := cellOf(a, &c.Shops, at.shop, &a.cells.shops)
	if month != nil {
		month.Outcomes[s.outcome]++
	}
	if revision != nil {
		revision.Outcomes[s.outcome]++
	}
	if shop != nil {
		shop.Outcomes[s.outcome]++
	}
	if s.step > 0 {
		a.addHand(c, s, at.person)
	}
	if !s.scaled {
		return
	}
	if month != nil {
		month.Moments.Add(s.value)
	}
	if revision != nil {
		revision.Moments.Add(s.value)
	}
	in := a.limits(c, s, at.revision)
	if in == nil {
		return
	}
	f := in.frame()
	in.Left.add(s.value, f)
	if s.hasFound {
		in.Found.add(s.found, f)
	}
	if y := f.standard(s.value); shop != nil && !math.IsNaN(y) {
		shop.Line.Add(at.day, y)
	}
}

// characteristic finds the account of a characteristic; nil where there is no
// room for another.
func (a *Auditor) characteristic(s *sample, order int32, spec string) *characteristic {
	key := charKey{spec, s.c.GetId()}
	if i, ok := a.chars[key]; ok {
		return a.Chars[i]
	}
	if len(a.Chars) >= mostCharacteristics {
		return nil
	}
	c := &characteristic{
		Spec: spec, ID: s.c.GetId(), Name: s.c.GetDisplayName(), Unit: s.c.GetLimits().GetUnit(),
		Group: int32(s.c.GetGroup()), Order: order,
	}
	a.chars[key] = int32(len(a.Chars))
	a.Chars = append(a.Chars, c)
	return c
}

// cellOf gives the cell of a key, made now where there is room for it; nil where
// there is not.
func cellOf[T any](a *Auditor, cells *map[int32]*T, key int32, made *int) *T {
	if c := (*cells)[key]; c != nil {
		return c
	}
	if *made >= mostCells {
		a.Crowded++
		return nil
	}
	*made++
	if *cells == nil {
		*cells = map[int32]*T{}
	}
	c := new(T)
	(*cells)[key] = c
	return c
}

// limits finds the account of a characteristic's values under the limits that
// judged.
func (a *Auditor) limits(c *characteristic, s *sample, revision int32) *limits {
	nominal := math.NaN()
	if s.hasNominal {
		nominal = s.nominal
	}
	for _, l := range c.Limits {
		if l.Revision == revision && l.Lower == s.lower && l.Upper == s.upper && (l.Nominal == nominal || !s.hasNominal && math.IsNaN(l.Nominal)) {
			return l
		}
	}
	if a.cells.limits >= mostCells {
		a.Crowded++
		return nil
	}
	a.cells.limits++
	l := &limits{Revision: revision, Lower: s.lower, Upper: s.upper, Nominal: nominal}
	c.Limits = append(c.Limits, l)
	return l
}

// addHand counts how a reading was written.
func (a *Auditor) addHand(c *characteristic, s *sample, person int32) {
	h := a.hand(c, s.step, person)
	if h == nil {
		return
	}
	if s.digitMatters {
		h.Digits[s.digit]++
		h.Steps.Add(s.steps)
	}
	if s.nominalMatters {
		h.NominalOf++
		if s.atNominal {
			h.AtNominal++
		}
	}
	if s.limitMatters {
		h.LimitOf++
		if s.atLimit {
			h.AtLimit++
		}
	}
}

// mostStrata bounds the steps that a characteristic is read in.
const mostStrata = 16

// hand finds a person's account of a characteristic read in one step; nil where
// there is no room for another.
func (a *Auditor) hand(c *characteristic, step float64, person int32) *hand {
	for _, s := range c.Strata {
		if s.Step == step {
			return cellOf(a, &s.Hands, person, &a.cells.hands)
		}
	}
	if len(c.Strata) >= mostStrata {
		a.Crowded++
		return nil
	}
	s := &stratum{Step: step}
	c.Strata = append(c.Strata, s)
	return cellOf(a, &s.Hands, person, &a.cells.hands)
}

// repeatShare is the share of a signature that an earlier record must have in
// common with it at least to be told of.
const repeatShare = 0.6

// remark gives the signs that a record shows, and counts them. A sign that could
// have shown counts as a chance.
func (a *Auditor) remark(e *Entry, index int64, at location) []*pb.AuditRemark {
	var remarks []*pb.AuditRemark
	chance := func(sign pb.AuditSign) {
		for _, t := range at.tallies {
			t.Chances[sign]++
		}
	}
	show := func(sign pb.AuditSign, earlier int64, format string, args ...any) {
		for _, t := range at.tallies {
			t.Shown[sign]++
		}
		remark := &pb.AuditRemark{Sign: sign, Because: phrase.Sentence(format, args...)}
		if earlier >= 0 {
			remark.EarlierIndex = &earlier
		}
		remarks = append(remarks, remark)
		a.example(at.person, sign, index)
	}
	vin := plainVIN(e.record)
	unit := hash(vin, "", 0)
	a.seekRepeat(e, index, unit, at, chance, show)
	if e.paced {
		sign := pb.AuditSign_AUDIT_SIGN_FASTER_THAN_LEAST_TIME
		chance(sign)
		if e.took < e.leastTime {
			show(sign, -1, "The work took %s, and the sheet says %s at least", minutes(e.took), minutes(e.leastTime))
		}
	}
	if e.timed {
		sign := pb.AuditSign_AUDIT_SIGN_TIMES_OUT_OF_ORDER
		chance(sign)
		if e.outOfOrder() {
			show(sign, -1, "Its time stamps contradict the order of the work, or lie outside the job")
		}
	}
	a.seekInstrument(e, index, unit, at, chance, show)
	a.seekVIN(e, index, vin, unit, at, chance, show)
	if e.checked {
		sign := pb.AuditSign_AUDIT_SIGN_FINER_THAN_INSTRUMENT
		chance(sign)
		if e.finer != "" {
			show(sign, -1, "A value is finer than its instrument shows: %s", e.finer)
		}
	}
	return remarks
}

type (
	chanceFunc func(sign pb.AuditSign)
	showFunc   func(sign pb.AuditSign, earlier int64, format string, args ...any)
)

// seekRepeat looks for an earlier record of another unit with the same readings:
// among all that are remembered for one with exactly the same or the same half,
// and among the person's latest ones for one with most of them.
func (a *Auditor) seekRepeat(e *Entry, index int64, unit uint64, at location, chance chanceFunc, show showFunc) {
	if e.signature == nil {
		return
	}
	sign := pb.AuditSign_AUDIT_SIGN_REPEATED_READINGS
	r := a.Rings[at.person]
	if r == nil {
		r = new(ring)
		a.Rings[at.person] = r
	}
	same, earlier := a.seekKeys(e.signature, sighting{Record: index, Owner: at.person, Unit: unit})
	if n, record := r.nearest(e.signature, unit); n > same {
		same, earlier = n, record
	}
	if len(r.Records) > 0 || same > 0 {
		chance(sign)
	}
	switch all := len(e.signature); {
	case same == all:
		show(sign, earlier, "All %d readings compared are those of record %d, which is of another unit", all, number(earlier))
	case same >= leastKnown && 2*same >= all-1, same >= leastSignature && float64(same) >= repeatShare*float64(all):
		show(sign, earlier, "%d of %d readings compared are those of record %d, which is of another unit", same, all, number(earlier))
	}
	if at.person != pool {
		r.push(e.signature, index, unit)
	}
}

// seekKeys looks for a signature among everybody's. It gives how many readings are
// the same, and in which record.
func (a *Auditor) seekKeys(signature []uint32, now sighting) (same int, record int64) {
	keys, sizes, n := keysOf(signature)
	for i := range n {
		now.Key = keys[i]
		earlier, seen := a.Repeats.see(now, mostRepeatBuckets)
		switch {
		case !seen || earlier.Unit == now.Unit:
		case same > 0 && earlier.Record == record:
			same += sizes[i]
		case sizes[i] > same:
			same, record = sizes[i], earlier.Record
		}
	}
	return same, record
}

// nearest finds the record of another unit that shares most with a signature; of
// several the latest.
func (r *ring) nearest(signature []uint32, unit uint64) (most int, record int64) {
	for i, s := range r.Signatures {
		if r.Units[i] == unit {
			continue
		}
		if n := shared(s, signature); n >= most {
			most, record = n, r.Records[i]
		}
	}
	return most, record
}

// mostHours bounds the hours in which an instrument is looked for: a job that
// lies open for days shows nothing.
const mostHours = 12

// seekInstrument looks for each instrument in other shops, in the hours of the
// job.
func (a *Auditor) seekInstrument(e *Entry, index int64, unit uint64, at location, chance chanceFunc, show showFunc) {
	sign := pb.AuditSign_AUDIT_SIGN_INSTRUMENT_ELSEWHERE
	first, last := hourOf(e.begin), hourOf(e.end)
	if last-first >= mostHours {
		return
	}
	known, elsewhere := false, false
	for _, in := range e.record.GetInstruments() {
		serial := in.GetSerialNumber()
		if serial == "" {
			continue
		}
		known = true
		for h := first; h <= last; h++ {
			earlier, seen := a.Places.see(sighting{
				Key: hash(serial, "", uint64(h)<<8|uint64(in.GetKind())), Record: index, Owner: at.person, Unit: unit,
			}, mostPlaceBuckets)
			if !seen || elsewhere || !a.apart(earlier.Owner, at.person) {
				continue
			}
			elsewhere = true
			show(sign, earlier.Record, "The %s %s was in use in the shop %s in the same hour, in record %d",
				phrase.Words(in.GetKind()), serial, shopOf(a.People.name(earlier.Owner)), number(earlier.Record))
		}
	}
	if known {
		chance(sign)
	}
}

// apart reports whether two people are known to be of different shops.
func (a *Auditor) apart(p, q int32) bool {
	return p != pool && q != pool && a.Works[p] != a.Works[q]
}

func hourOf(t time.Time) int64 { return int64(math.Floor(float64(t.Unix()) / 3600)) }

// seekVIN looks for another record of the same unit in the same phase. A service
// has no one phase, and a correction is meant to be of the same unit.
func (a *Auditor) seekVIN(e *Entry, index int64, vin string, unit uint64, at location, chance chanceFunc, show showFunc) {
	phase := e.record.GetPhase()
	if vin == "" || phase == pb.Phase_PHASE_SERVICE {
		return
	}
	sign := pb.AuditSign_AUDIT_SIGN_VIN_SEEN_BEFORE
	chance(sign)
	earlier, seen := a.VINs.see(sighting{Key: hash(vin, "", uint64(phase)), Record: index, Owner: at.person, Unit: unit}, mostVINBuckets)
	if seen && e.record.GetSupersedes() == "" {
		show(sign, earlier.Record, "Record %d is of the same VIN in the same phase", number(earlier.Record))
	}
}

// example notes a record that shows a sign.
func (a *Auditor) example(person int32, sign pb.AuditSign, index int64) {
	shown := a.Shown[person]
	if shown == nil {
		shown = make([][]int64, recordSigns)
		a.Shown[person] = shown
	}
	if len(shown[sign]) < mostExamples {
		shown[sign] = append(shown[sign], index)
	}
}

// number is how people count records: from 1.
func number(index int64) int64 { return index + 1 }

// minutes says how long something took.
func minutes(d time.Duration) string {
	if d%time.Minute == 0 {
		return fmt.Sprintf("%d min", d/time.Minute)
	}
	return fmt.Sprintf("%.1f min", d.Minutes())
}
