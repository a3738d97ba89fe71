package audit

import (
	"cmp"
	"fmt"
	"math"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/phrase"
)

// signWords are what is said of a sign.
type signWords struct {
	// of what it is a share: records or readings.
	things string
	// clause follows "Worth a look, because 12 of 40 records".
	clause string
	// innocent is what else may explain it.
	innocent string
}

var words = map[pb.AuditSign]signWords{
	pb.AuditSign_AUDIT_SIGN_REPEATED_READINGS: {"records", "repeat most readings of another unit's record",
		"Records may have been entered twice under another VIN, or taken over from a template and not yet overwritten."},
	pb.AuditSign_AUDIT_SIGN_FASTER_THAN_LEAST_TIME: {"records", "took less time than the sheet says the work takes at least",
		"Work may have begun before the record was opened, or been shared by several people; the sheet's least time may be too long."},
	pb.AuditSign_AUDIT_SIGN_TIMES_OUT_OF_ORDER: {"records", "have time stamps that contradict the order of the work or lie outside the job",
		"Readings may have been entered from notes after the work, or clocks may differ."},
	pb.AuditSign_AUDIT_SIGN_INSTRUMENT_ELSEWHERE: {"records", "name an instrument that was in use in another shop in the same hour",
		"A serial number may be mistyped, or an instrument lent or sold on that day."},
	pb.AuditSign_AUDIT_SIGN_VIN_SEEN_BEFORE: {"records", "bear a VIN that has another record of the same phase",
		"A correction may have been entered as a new record, or a machine set up again for another customer."},
	pb.AuditSign_AUDIT_SIGN_FINER_THAN_INSTRUMENT: {"records", "hold a value that is finer than the instrument shows",
		"Values may be means of several readings or converted from another unit, or another instrument was used than the one named."},
	pb.AuditSign_AUDIT_SIGN_DIGIT_PREFERENCE: {"readings", "", // see say
		"Rounding to a scale that is easy to read, or an instrument whose last digit moves in steps, does the same."},
	pb.AuditSign_AUDIT_SIGN_PILED_AT_NOMINAL: {"readings", "stand exactly at the nominal value",
		"Someone who sets to the nominal value with care, or reads a coarse scale, does the same."},
	pb.AuditSign_AUDIT_SIGN_PILED_AT_LIMIT: {"readings", "stand at a limit, to the last digit",
		"Adjusting until a value just comes inside its limits does the same."},
	pb.AuditSign_AUDIT_SIGN_DRIFT: {"readings", "",
		"Other tyres, fluids or batches of parts, or a change of method in that shop, do the same."},
}

// say puts an observation in words.
func (w signWords) say(o *pb.AuditObservation) {
	o.InnocentCauses = w.innocent
	who := o.GetShop()
	if o.GetTechnician() != "" {
		who = o.GetTechnician() + " at " + o.GetShop()
	}
	switch o.GetSign() {
	case pb.AuditSign_AUDIT_SIGN_DIGIT_PREFERENCE:
		o.Because = fmt.Sprintf("Worth a look, because the last digits of %s readings by %s, 0 and 5 left aside, are not spread as elsewhere: one of them makes up %s, against %s in the same places elsewhere.",
			phrase.Grouped(o.GetOpportunityCount()), who, percent(o.GetShare()), percent(o.GetShareElsewhere()))
	case pb.AuditSign_AUDIT_SIGN_DRIFT:
		o.Because = fmt.Sprintf("Worth a look, because readings of %s (%s) at %s moved by %s of their limits over the period, against %s elsewhere.",
			cmp.Or(o.GetDisplayName(), o.GetCharacteristic()), o.GetSpecId(), who, signed(o.GetShare()), signed(o.GetShareElsewhere()))
	default:
		o.Because = fmt.Sprintf("Worth a look, because %s of %s %s by %s %s; elsewhere %s do.",
			phrase.Grouped(o.GetHitCount()), phrase.Grouped(o.GetOpportunityCount()), w.things, who, w.clause, percent(o.GetShareElsewhere()))
	}
}

// percent says a share; nought as "none".
func percent(share float64) string {
	if share == 0 {
		return "none"
	}
	return phrase.Percent(share)
}

func signed(share float64) string {
	if math.Abs(share) < 0.0005 {
		return "0 %"
	}
	return fmt.Sprintf("%+.1f %%", 100*share)
}
