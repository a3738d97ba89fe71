package audit

import (
	"google.golang.org/protobuf/proto"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

// Auditor takes entries and keeps what shows over all of them. It is not safe for
// concurrent use. Make one with [New] or [Restore].
type Auditor struct {
	options *pb.AuditOptions
	engine  string
	ledger

	size  int // what the next checkpoint may need, bytes
	chars map[charKey]int32
	kinds map[kindKey]int32
	cells struct{ months, revisions, shops, hands, limits int }
}

// charKey is what a characteristic is found by. A sheet may give its limits in
// another unit from one revision to the next; numbers in two units have no mean.
type charKey struct{ spec, id, unit string }

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
	a.Duties = map[int64]*tally{}
	a.Rings, a.Shown = map[int32]ring{}, map[int32]*examples{}
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
		a.countReason(e.err.GetReason(), 1)
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
		a.addSample(&e.samples[i], e.spec, at)
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
	now := instant{Seconds: finish.Unix(), Nanos: int32(finish.Nanosecond())}
	if a.Total.records() == 0 || now.before(a.First) {
		a.First = now
	}
	if a.Total.records() == 0 || a.Last.before(now) {
		a.Last = now
	}
	at := location{
		shop:     a.Shops.place(r.GetShop(), mostShops),
		person:   a.People.place(r.GetShop()+"\n"+r.GetTechnician(), mostTechnicians),
		revision: a.Revised.place(e.report.GetSpecRevision(), mostRevisions),
		month:    int32(finish.Year()*12 + int(finish.Month()) - 1),
		day:      float64(finish.Unix()) / (24 * 3600),
	}
	grow(&a.Works, a.People.size())
	if at.person != pool {
		a.Works[at.person] = at.shop
	}
	grow(&a.Models, a.Revised.size())
	if at.revision != pool && a.Models[at.revision] == "" {
		a.Models[at.revision] = r.GetUnit().GetModel()
	}
	grow(&a.ByShop, a.Shops.size())
	grow(&a.ByHand, a.People.size())
	grow(&a.ByRev, a.Revised.size())
	at.tallies = []*tally{&a.Total, &a.ByShop[at.shop], &a.ByHand[at.person], &a.ByRev[at.revision],
		tallyOf(a, a.ByPhase, int32(r.GetPhase()), mostPhases), tallyOf(a, a.ByMonth, at.month, mostMonths),
		tallyOf(a, a.Duties, dutyOf(at.revision, r.GetPhase(), at.person), mostDuties)}
	return at
}

// dutyOf is the key of one person's records in one phase under one revision.
func dutyOf(revision int32, phase pb.Phase, person int32) int64 {
	return int64(revision)<<40 | int64(uint8(phase))<<32 | int64(person)
}

// conditionsOf is the part of such a key that is the same for everybody, personOf
// the person.
func conditionsOf(duty int64) int64 { return duty >> 32 }

func personOf(duty int64) int32 { return int32(uint32(duty)) }

// grow lengthens a list with zero values until it has a size.
func grow[T any](list *[]T, size int) {
	if more := size - len(*list); more > 0 {
		*list = append(*list, make([]T, more)...)
	}
}

// tallyOf gives the tally of a key; of what has no place any more, a tally that
// nobody reads.
func tallyOf[K comparable](a *Auditor, tallies map[K]*tally, key K, most int) *tally {
	t := tallies[key]
	if t == nil {
		t = new(tally)
		if len(tallies) < most {
			tallies[key] = t
		} else {
			a.Crowded++
		}
	}
	return t
}

// countReason counts records that could not be judged.
func (a *Auditor) countReason(reason string, n int64) {
	if _, known := a.Reasons[reason]; !known && len(a.Reasons) >= mostReasons-1 {
		reason = rest
	}
	a.Reasons[reason] += n
}

func (a *Auditor) countFinding(f *pb.Finding) {
	a.addKind(kind{
		Code: int32(f.GetCode()), ID: f.GetCharacteristic(), Name: f.GetDisplayName(), Severity: int32(f.GetSeverity()), Count: 1,
	})
}

// addKind counts findings of a kind; where there is no room for it, with those of
// its code that speak of no characteristic.
func (a *Auditor) addKind(more kind) {
	at, ok := a.kinds[kindKey{more.Code, more.ID}]
	if !ok && len(a.Kinds) >= mostKinds {
		if at, ok = a.kinds[kindKey{more.Code, ""}]; !ok {
			a.Crowded += more.Count
			return
		}
	}
	if !ok {
		a.kinds[kindKey{more.Code, more.ID}] = int32(len(a.Kinds))
		a.Kinds = append(a.Kinds, more)
		return
	}
	k := &a.Kinds[at]
	k.Count += more.Count
	if s := more.Severity; s != 0 && (k.Severity == 0 || s < k.Severity) {
		k.Severity = s
	}
}

// addSample counts what one record says of one characteristic.
func (a *Auditor) addSample(s *sample, spec string, at location) {
	c := a.characteristic(s, spec)
	if c == nil {
		a.Crowded++
		return
	}
	c.Outcomes[s.outcome]++
	month := cellOf(a, &c.Months, at.month, &a.cells.months, mostCells)
	revision := cellOf(a, &c.Revisions, at.revision, &a.cells.revisions, mostCells)
	shop := cellOf(a, &c.Shops, at.shop, &a.cells.shops, mostCells)
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
	f := s.frame()
	in := a.limits(c, f, at.revision)
	if in == nil {
		return
	}
	in.Left.add(s.value, f)
	if s.hasFound {
		in.Found.add(s.found, f)
	}
	if y := f.standard(s.value); shop != nil && sane(y) {
		shop.Line.Add(at.day, y)
	}
}

// characteristic finds the account of a characteristic; nil where there is no
// room for another.
func (a *Auditor) characteristic(s *sample, spec string) *characteristic {
	key := charKey{spec, s.c.GetId(), s.c.GetLimits().GetUnit()}
	if i, ok := a.chars[key]; ok {
		return a.Chars[i]
	}
	if len(a.Chars) >= mostCharacteristics {
		return nil
	}
	c := &characteristic{
		Spec: spec, ID: s.c.GetId(), Name: s.c.GetDisplayName(), Unit: key.unit,
		Group: int32(s.c.GetGroup()), Order: s.order,
	}
	a.chars[key] = int32(len(a.Chars))
	a.Chars = append(a.Chars, c)
	return c
}

// cellOf gives the cell of a key, made now where there is room for it; nil where
// there is not.
func cellOf[T any](a *Auditor, cells *map[int32]*T, key int32, made *int, most int) *T {
	if c := (*cells)[key]; c != nil {
		return c
	}
	if *made >= most {
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
func (a *Auditor) limits(c *characteristic, f frame, revision int32) *limits {
	for _, l := range c.Limits {
		if l.Revision == revision && l.frame().same(f) {
			return l
		}
	}
	if a.cells.limits >= mostLimits {
		a.Crowded++
		return nil
	}
	a.cells.limits++
	l := &limits{Revision: revision, Lower: f.lower, Upper: f.upper, Nominal: f.nominal}
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

// hand finds a person's account of a characteristic read in one step; nil where
// there is no room for another.
func (a *Auditor) hand(c *characteristic, step float64, person int32) *hand {
	for _, s := range c.Strata {
		if s.Step == step {
			return cellOf(a, &s.Hands, person, &a.cells.hands, mostHands)
		}
	}
	if len(c.Strata) >= mostStrata {
		a.Crowded++
		return nil
	}
	s := &stratum{Step: step}
	c.Strata = append(c.Strata, s)
	return cellOf(a, &s.Hands, person, &a.cells.hands, mostHands)
}
