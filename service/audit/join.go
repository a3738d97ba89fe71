package audit

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"google.golang.org/protobuf/proto"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

// DifferError says that two audits cannot be joined: they did not judge alike.
type DifferError struct {
	// What differs, as a clause.
	What string
}

func (e *DifferError) Error() string { return "the audits cannot be joined: " + e.What }

// Join adds the records of another audit, as if they had come after those here.
// Sums are the same as those of one audit of all records, but for rounding. Of
// what shows only in the light of another record, a repeated set of readings, a
// second record of a VIN and an instrument in two places are found across the
// audits as far as both remember; records that repeat most of another, and not
// all, are not compared across. The other auditor must not be used again. The
// error is a *[DifferError].
func (a *Auditor) Join(b *Auditor) error {
	if err := a.alike(b); err != nil {
		return err
	}
	shops := renumber(&a.Shops, &b.Shops, mostShops)
	people := renumber(&a.People, &b.People, mostTechnicians)
	revised := renumber(&a.Revised, &b.Revised, mostRevisions)
	if b.Total.records() > 0 {
		if a.Total.records() == 0 || b.First < a.First {
			a.First = b.First
		}
		if a.Total.records() == 0 || b.Last > a.Last {
			a.Last = b.Last
		}
	}
	offset := a.Records
	a.Records += b.Records
	a.Errors += b.Errors
	for reason, n := range b.Reasons {
		a.Reasons[reason] += n
	}
	a.Total.merge(&b.Total)
	joinTallies(&a.ByShop, b.ByShop, shops, a.Shops.size())
	joinTallies(&a.ByHand, b.ByHand, people, a.People.size())
	joinTallies(&a.ByRev, b.ByRev, revised, a.Revised.size())
	for len(a.Works) < a.People.size() {
		a.Works = append(a.Works, pool)
	}
	for i, shop := range b.Works {
		if to := people[i]; to != pool {
			a.Works[to] = shops[shop]
		}
	}
	for len(a.Models) < a.Revised.size() {
		a.Models = append(a.Models, "")
	}
	for i, model := range b.Models {
		if to := revised[i]; to != pool && a.Models[to] == "" {
			a.Models[to] = model
		}
	}
	for _, phase := range inOrder(b.ByPhase) {
		tallyOf(a.ByPhase, phase, 16).merge(b.ByPhase[phase])
	}
	for _, month := range inOrder(b.ByMonth) {
		tallyOf(a.ByMonth, month, mostMonths).merge(b.ByMonth[month])
	}
	for i := range b.Kinds {
		a.joinKind(&b.Kinds[i])
	}
	for _, c := range b.Chars {
		a.joinCharacteristic(c, shops, people, revised)
	}
	a.joinSeen(b, offset, people)
	a.Crowded += b.Crowded
	return nil
}

// alike refuses an audit that judged otherwise. When something was known is not
// part of that: parts of one audit begin at different times.
func (a *Auditor) alike(b *Auditor) error {
	if a.engine != b.engine {
		return &DifferError{fmt.Sprintf("one was judged by engine version %s, the other by %s", a.engine, b.engine)}
	}
	if got, want := b.options.GetSpecRevision(), a.options.GetSpecRevision(); got != want {
		return &DifferError{fmt.Sprintf("one was judged by %s, the other by %s", orDay(want), orDay(got))}
	}
	if !proto.Equal(a.options.GetAsOfTime(), b.options.GetAsOfTime()) {
		return &DifferError{"they were judged as of different times"}
	}
	if known := b.options.GetKnownTime(); !proto.Equal(a.options.GetKnownTime(), known) {
		a.note("Its parts were judged by what was known at different times: %s and %s.",
			a.options.GetKnownTime().AsTime().Format(time.RFC3339), known.AsTime().Format(time.RFC3339))
	}
	for _, n := range b.Notes {
		a.note("%s", n)
	}
	return nil
}

func orDay(revision string) string {
	if revision == "" {
		return "the revision of each record's day"
	}
	return revision
}

// mostNotes bounds what joins say of themselves.
const mostNotes = 16

func (a *Auditor) note(format string, args ...any) {
	if n := fmt.Sprintf(format, args...); !slices.Contains(a.Notes, n) && len(a.Notes) < mostNotes {
		a.Notes = append(a.Notes, n)
	}
}

// renumber gives the place in a for each place in b.
func renumber(a, b *roster, most int) []int32 {
	places := make([]int32, b.size())
	for i := 1; i < len(b.Names); i++ {
		places[i] = a.place(b.Names[i], most)
	}
	a.Pooled += b.Pooled
	return places
}

func joinTallies(into *[]tally, from []tally, places []int32, size int) {
	grow(into, size)
	for i := range from {
		(*into)[places[i]].merge(&from[i])
	}
}

func inOrder[V any](m map[int32]V) []int32 {
	keys := make([]int32, 0, len(m))
	for k := range m {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	return keys
}

func (a *Auditor) joinKind(k *kind) {
	at, ok := a.kinds[kindKey{k.Code, k.ID}]
	if !ok {
		if len(a.Kinds) >= mostKinds {
			a.Crowded += k.Count
			return
		}
		a.kinds[kindKey{k.Code, k.ID}] = int32(len(a.Kinds))
		a.Kinds = append(a.Kinds, *k)
		return
	}
	a.Kinds[at].Count += k.Count
	if k.Severity != 0 && (a.Kinds[at].Severity == 0 || k.Severity < a.Kinds[at].Severity) {
		a.Kinds[at].Severity = k.Severity
	}
}

func (a *Auditor) joinCharacteristic(b *characteristic, shops, people, revised []int32) {
	at, ok := a.chars[charKey{b.Spec, b.ID}]
	if !ok {
		if len(a.Chars) >= mostCharacteristics {
			a.Crowded += b.Outcomes.sum()
			return
		}
		at = int32(len(a.Chars))
		a.chars[charKey{b.Spec, b.ID}] = at
		a.Chars = append(a.Chars, &characteristic{
			Spec: b.Spec, ID: b.ID, Name: b.Name, Unit: b.Unit, Group: b.Group, Order: b.Order,
		})
	}
	c := a.Chars[at]
	c.Outcomes.merge(b.Outcomes)
	for _, month := range inOrder(b.Months) {
		joinPeriod(cellOf(a, &c.Months, month, &a.cells.months), b.Months[month])
	}
	for _, r := range inOrder(b.Revisions) {
		joinPeriod(cellOf(a, &c.Revisions, revised[r], &a.cells.revisions), b.Revisions[r])
	}
	for _, s := range inOrder(b.Shops) {
		if to := cellOf(a, &c.Shops, shops[s], &a.cells.shops); to != nil {
			to.Outcomes.merge(b.Shops[s].Outcomes)
			to.Line.Merge(b.Shops[s].Line)
		}
	}
	for _, l := range b.Limits {
		s := sample{lower: l.Lower, upper: l.Upper, nominal: l.Nominal, hasNominal: l.Nominal == l.Nominal}
		if to := a.limits(c, &s, revised[l.Revision]); to != nil {
			to.Left.merge(&l.Left)
			to.Found.merge(&l.Found)
		}
	}
	for _, s := range b.Strata {
		for _, p := range inOrder(s.Hands) {
			if to := a.hand(c, s.Step, people[p]); to != nil {
				to.merge(s.Hands[p])
			}
		}
	}
}

func joinPeriod(to, from *period) {
	if to == nil {
		return
	}
	to.Moments.Merge(from.Moments)
	to.Outcomes.merge(from.Outcomes)
}

func (h *hand) merge(other *hand) {
	for i, n := range other.Digits {
		h.Digits[i] += n
	}
	h.Steps.Merge(other.Steps)
	h.NominalOf += other.NominalOf
	h.AtNominal += other.AtNominal
	h.LimitOf += other.LimitOf
	h.AtLimit += other.AtLimit
}

// joinSeen adds what the other audit remembers of single records.
func (a *Auditor) joinSeen(b *Auditor, offset int64, people []int32) {
	for _, p := range inOrder(b.Shown) {
		for sign, examples := range b.Shown[p] {
			for _, index := range examples {
				a.example(people[p], pb.AuditSign(sign), index+offset)
			}
		}
	}
	a.joinSightings(&a.VINs, &b.VINs, offset, people, mostVINBuckets, pb.AuditSign_AUDIT_SIGN_VIN_SEEN_BEFORE,
		func(_, _ sighting) bool { return true })
	a.joinSightings(&a.Repeats, &b.Repeats, offset, people, mostRepeatBuckets, pb.AuditSign_AUDIT_SIGN_REPEATED_READINGS,
		func(here, there sighting) bool { return here.Unit != there.Unit })
	last := int64(-1) // one record may hold an instrument for hours
	a.joinSightings(&a.Places, &b.Places, offset, people, mostPlaceBuckets, pb.AuditSign_AUDIT_SIGN_INSTRUMENT_ELSEWHERE,
		func(here, there sighting) bool {
			if there.Record == last || !a.apart(here.Owner, there.Owner) {
				return false
			}
			last = there.Record
			return true
		})
	for _, p := range inOrder(b.Rings) {
		if people[p] == pool {
			continue
		}
		to := a.Rings[people[p]]
		if to == nil {
			to = new(ring)
			a.Rings[people[p]] = to
		}
		for i, s := range b.Rings[p].Signatures {
			to.push(s, b.Rings[p].Records[i]+offset, b.Rings[p].Units[i])
		}
	}
}

// joinSightings adds sightings, and counts what both audits saw as a sign of the
// later one's records where it counts.
func (a *Auditor) joinSightings(into, from *sightings, offset int64, owners []int32, most int, sign pb.AuditSign, counts func(here, there sighting) bool) {
	for _, b := range from.Buckets {
		for _, s := range b {
			s.Record += offset
			s.Owner = owners[s.Owner]
			earlier, seen := into.see(s, most)
			if !seen || !counts(earlier, s) {
				continue
			}
			a.Total.Shown[sign]++
			a.ByHand[s.Owner].Shown[sign]++
			if s.Owner != pool {
				a.ByShop[a.Works[s.Owner]].Shown[sign]++
			}
			a.example(s.Owner, sign, s.Record)
		}
	}
	into.Forgotten += from.Forgotten
}

// shopOf and technicianOf take a name of People apart.
func shopOf(person string) string {
	shop, _, _ := strings.Cut(person, "\n")
	return shop
}

func technicianOf(person string) string {
	_, technician, _ := strings.Cut(person, "\n")
	return technician
}
