package audit

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"time"

	"google.golang.org/protobuf/proto"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

// DifferError says that two audits cannot be joined: they did not judge alike, or
// are one and the same, or hold too many records.
type DifferError struct {
	// What differs, as a clause.
	What string
}

func (e *DifferError) Error() string { return "the audits cannot be joined: " + e.What }

// Join adds the records of another audit, as if they had come after those here.
// Sums are the same as those of one audit of all records, but for rounding. Of
// what shows only in the light of another record, a repeated set of readings or
// half of one, a second record of a VIN and an instrument in two places are found
// across the audits as far as both remember; they count for the person, the shop
// and in all, and not by revision, phase and month, which are not remembered.
// Records that repeat most of another in another way are not compared across. The
// other auditor must not be used again. The error is a *[DifferError], and nothing
// has changed then.
func (a *Auditor) Join(b *Auditor) error {
	if err := a.alike(b); err != nil {
		return err
	}
	shops := renumber(&a.Shops, &b.Shops, b.ByShop, mostShops)
	people := renumber(&a.People, &b.People, b.ByHand, mostTechnicians)
	revised := renumber(&a.Revised, &b.Revised, b.ByRev, mostRevisions)
	if b.Total.records() > 0 {
		if a.Total.records() == 0 || b.First.before(a.First) {
			a.First = b.First
		}
		if a.Total.records() == 0 || a.Last.before(b.Last) {
			a.Last = b.Last
		}
	}
	offset := a.Records
	a.Records += b.Records
	a.Errors += b.Errors
	for _, reason := range inOrder(b.Reasons) {
		a.countReason(reason, b.Reasons[reason])
	}
	a.Total.merge(&b.Total)
	joinTallies(&a.ByShop, b.ByShop, shops, a.Shops.size())
	joinTallies(&a.ByHand, b.ByHand, people, a.People.size())
	joinTallies(&a.ByRev, b.ByRev, revised, a.Revised.size())
	grow(&a.Works, a.People.size())
	for i, shop := range b.Works {
		if to := people[i]; to != pool {
			a.Works[to] = shops[shop]
		}
	}
	grow(&a.Models, a.Revised.size())
	for i, model := range b.Models {
		if to := revised[i]; to != pool && a.Models[to] == "" {
			a.Models[to] = model
		}
	}
	for _, phase := range inOrder(b.ByPhase) {
		joinTally(a, a.ByPhase, phase, mostPhases, b.ByPhase[phase])
	}
	for _, month := range inOrder(b.ByMonth) {
		joinTally(a, a.ByMonth, month, mostMonths, b.ByMonth[month])
	}
	for _, duty := range inOrder(b.Duties) {
		revision, phase, person := revised[duty>>40], pb.Phase(uint8(duty>>32)), people[personOf(duty)]
		joinTally(a, a.Duties, dutyOf(revision, phase, person), mostDuties, b.Duties[duty])
	}
	for _, k := range b.Kinds {
		a.addKind(k)
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
	if a == b {
		return &DifferError{"they are one and the same"}
	}
	if a.Records+b.Records > mostRecords {
		return &DifferError{fmt.Sprintf("together they hold more than %d records", int64(mostRecords))}
	}
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

func (a *Auditor) note(format string, args ...any) {
	if n := fmt.Sprintf(format, args...); !slices.Contains(a.Notes, n) && len(a.Notes) < mostNotes {
		a.Notes = append(a.Notes, n)
	}
}

// renumber gives the place in a for each place in b. Names of b that find no place
// are pooled, with as many records as they have.
func renumber(a, b *roster, tallies []tally, most int) []int32 {
	places := make([]int32, b.size())
	before := a.Pooled
	var pooled int64
	for i := 1; i < len(b.Names); i++ {
		if places[i] = a.place(b.Names[i], most); places[i] == pool && i < len(tallies) {
			pooled += tallies[i].records()
		}
	}
	a.Pooled = before + b.Pooled + pooled
	return places
}

// joinTally adds a tally to that of a key; what finds no place is as many records
// as it has.
func joinTally[K comparable](a *Auditor, into map[K]*tally, key K, most int, from *tally) {
	crowded := a.Crowded
	tallyOf(a, into, key, most).merge(from)
	if a.Crowded > crowded {
		a.Crowded = crowded + from.records()
	}
}

func joinTallies(into *[]tally, from []tally, places []int32, size int) {
	grow(into, size)
	for i := range from {
		(*into)[places[i]].merge(&from[i])
	}
}

// inOrder gives the keys of a map in order. Whatever sums or lists goes by it: the
// order of a map itself is another every time.
func inOrder[K cmp.Ordered, V any](m map[K]V) []K {
	keys := make([]K, 0, len(m))
	for k := range m {
		keys = append(keys, k)
	}
	slices.Sort(keys)
	return keys
}

func (a *Auditor) joinCharacteristic(b *characteristic, shops, people, revised []int32) {
	at, ok := a.chars[charKey{b.Spec, b.ID, b.Unit}]
	if !ok {
		if len(a.Chars) >= mostCharacteristics {
			a.Crowded += b.Outcomes.sum()
			return
		}
		at = int32(len(a.Chars))
		a.chars[charKey{b.Spec, b.ID, b.Unit}] = at
		a.Chars = append(a.Chars, &characteristic{
			Spec: b.Spec, ID: b.ID, Name: b.Name, Unit: b.Unit, Group: b.Group, Order: b.Order,
		})
	}
	c := a.Chars[at]
	c.Outcomes.merge(b.Outcomes)
	for _, month := range inOrder(b.Months) {
		joinPeriod(cellOf(a, &c.Months, month, &a.cells.months, mostCells), b.Months[month])
	}
	for _, r := range inOrder(b.Revisions) {
		joinPeriod(cellOf(a, &c.Revisions, revised[r], &a.cells.revisions, mostCells), b.Revisions[r])
	}
	for _, s := range inOrder(b.Shops) {
		if to := cellOf(a, &c.Shops, shops[s], &a.cells.shops, mostCells); to != nil {
			to.Outcomes.merge(b.Shops[s].Outcomes)
			to.Line.Merge(b.Shops[s].Line)
		}
	}
	for _, l := range b.Limits {
		if to := a.limits(c, l.frame(), revised[l.Revision]); to != nil {
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
		func(here, there sighting) bool { return !here.Weak && !there.Weak })
	a.joinSightings(&a.Repeats, &b.Repeats, offset, people, mostRepeatBuckets, pb.AuditSign_AUDIT_SIGN_REPEATED_READINGS,
		func(here, there sighting) bool { return here.Unit != there.Unit && !there.Weak })
	a.joinSightings(&a.Places, &b.Places, offset, people, mostPlaceBuckets, pb.AuditSign_AUDIT_SIGN_INSTRUMENT_ELSEWHERE,
		func(here, there sighting) bool { return a.apart(here.Owner, there.Owner) })
	for _, p := range inOrder(b.Rings) {
		to := people[p]
		if to == pool {
			continue
		}
		latest := a.Rings[to]
		for _, k := range b.Rings[p] {
			k.Record += offset
			latest.push(k)
		}
		a.Rings[to] = latest
	}
}

// joinSightings adds sightings, and counts the later one's records of which one
// thing at least was seen by both audits, where that counts.
func (a *Auditor) joinSightings(into, from *sightings, offset int64, owners []int32, most int, sign pb.AuditSign, counts func(here, there sighting) bool) {
	found := map[int64]int32{} // owners by record
	for _, b := range from.Buckets {
		for _, s := range b {
			s.Record += offset
			s.Owner = owners[s.Owner]
			if earlier, seen := into.see(s, most); seen && counts(earlier, s) {
				found[s.Record] = s.Owner
			}
		}
	}
	into.Forgotten += from.Forgotten
	for _, record := range inOrder(found) {
		owner := found[record]
		a.Total.showLate(sign)
		a.ByHand[owner].showLate(sign)
		if owner != pool {
			a.ByShop[a.Works[owner]].showLate(sign)
		}
		a.example(owner, sign, record)
	}
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
