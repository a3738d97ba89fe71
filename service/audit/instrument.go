package audit

import (
	"math"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/phrase"
)

// mostHours bounds the hours in which an instrument is looked for: a job that
// lies open for days shows nothing.
const mostHours = 12

// seekInstrument looks for each instrument in other shops, in the hours of the
// job.
func (a *Auditor) seekInstrument(e *Entry, index int64, unit uint32, at location, chance chanceFunc, show showFunc) {
	sign := pb.AuditSign_AUDIT_SIGN_INSTRUMENT_ELSEWHERE
	first, last := hourOf(e.begin), hourOf(e.end)
	if last-first >= mostHours {
		return
	}
	known, elsewhere := false, false
	for _, in := range e.record.GetInstruments() {
		serial, ok := serialOf(in)
		if !ok {
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
				phrase.Words(in.GetKind()), strings.TrimSpace(in.GetSerialNumber()), shopOf(a.People.name(earlier.Owner)), number(earlier.Record))
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

// leastSerial is how many letters and digits a serial number has at least where it
// is taken for one instrument's wherever it is used. Shorter ones, and those without
// a digit, such as 12 or none, are in use in many places.
const leastSerial = 4

// serialOf gives an instrument's serial number as one instrument's, however it was
// written; ok is false where it does not tell instruments apart.
func serialOf(in *pb.Instrument) (serial string, ok bool) {
	digit := false
	serial = strings.Map(func(r rune) rune {
		switch {
		case unicode.IsDigit(r):
			digit = digit || r != '0'
			return r
		case unicode.IsLetter(r):
			return unicode.ToUpper(r)
		}
		return -1
	}, in.GetSerialNumber())
	return serial, digit && utf8.RuneCountInString(serial) >= leastSerial
}
