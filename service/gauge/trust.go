package gauge

import (
	"fmt"
	"time"

	"google.golang.org/protobuf/types/known/timestamppb"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/phrase"
	"github.com/snapgauge/snapgauge/service/quantity"
	"github.com/snapgauge/snapgauge/service/workshop"
)

// This file judges whether a reading can be trusted, before its value is looked
// at: when it was taken, under what conditions, and with what.

// judgeTimes tells of readings out of order and outside the job. They do not
// keep the value from being judged: the machine may be right all the same.
func (r *run) judgeTimes(i int) {
	ck, s := &r.plan.checks[i], &r.slots[i]
	at := s.reading.GetTime()
	if at != nil {
		if begin := r.rec.GetStartTime(); begin != nil && before(at, begin) {
			r.outsideJob(ck, s, "before the work began")
		} else if before(r.rec.GetFinishTime(), at) {
			r.outsideJob(ck, s, "after the work was finished")
		}
		if s.found != nil && s.found.GetTime() != nil && before(at, s.found.GetTime()) {
			s.worsen(undecided)
			f := r.find(pb.FindingCode_FINDING_CODE_OUT_OF_ORDER, ck, s,
				fmt.Sprintf("%s: read as left (%s) before it was read as found (%s).", ck.name(), clock(at), clock(s.found.GetTime())))
			f.Remedy = r.remedy(pb.RemedyAction_REMEDY_ACTION_READ_AGAIN, ck, "Read it again as it is now.")
		}
	}
	var untimed []string
	for _, j := range ck.prerequisites {
		first, fs := &r.plan.checks[j], &r.slots[j]
		switch {
		case fs.reading == nil:
			// Required now: its own finding says that it is missing. Required in an
			// earlier phase: an earlier record shows it.
			if !first.requiredIn[r.rec.GetPhase()] && !first.requiredBefore(r.rec.GetPhase()) {
				s.worsen(undecided)
				f := r.find(pb.FindingCode_FINDING_CODE_PREREQUISITE_MISSING, ck, s,
					fmt.Sprintf("%s: %s comes first, and the record does not show it.", ck.name(), first.inSentence()))
				f.Remedy = r.remedy(pb.RemedyAction_REMEDY_ACTION_READ_AGAIN, ck,
					phrase.Sentence("First: %s. Then: %s", first.inSentence(), ck.inSentence()))
				f.Remedy.Characteristic = first.c.GetId()
			}
		case at == nil || fs.reading.GetTime() == nil:
			untimed = append(untimed, first.inSentence())
		case before(at, fs.reading.GetTime()):
			s.worsen(undecided)
			f := r.find(pb.FindingCode_FINDING_CODE_OUT_OF_ORDER, ck, s,
				fmt.Sprintf("%s: done at %s, before %s at %s; it must come after.",
					ck.name(), clock(at), first.inSentence(), clock(fs.reading.GetTime())))
			f.Remedy = r.remedy(pb.RemedyAction_REMEDY_ACTION_READ_AGAIN, ck,
				"Set and read it again, now that what comes first is done.")
			f.Remedy.Characteristic = first.c.GetId()
		}
	}
	if len(untimed) > 0 {
		s.worsen(undecided)
		f := r.find(pb.FindingCode_FINDING_CODE_ORDER_NOT_SHOWN, ck, s,
			fmt.Sprintf("%s: must come after %s; without the time of both the record does not show it.", ck.name(), phrase.All(untimed)))
		f.Remedy = r.remedy(pb.RemedyAction_REMEDY_ACTION_CORRECT_RECORD, ck, "Write down when each was done.")
	}
}

func (r *run) outsideJob(ck *check, s *slot, when string) {
	f := r.find(pb.FindingCode_FINDING_CODE_TIME_OUTSIDE_JOB, ck, s,
		fmt.Sprintf("%s: read at %s, %s.", ck.name(), clock(s.reading.GetTime()), when))
	f.Remedy = r.remedy(pb.RemedyAction_REMEDY_ACTION_CORRECT_RECORD, ck,
		"Correct the time; if it is right, the reading belongs to another record.")
}

// judgeConditions compares the conditions the reading was taken under with those
// it is specified for. It reports false when one is wrong: the value then says
// nothing.
func (r *run) judgeConditions(ck *check, s *slot) bool {
	if len(ck.c.GetReferenceConditions()) == 0 {
		return true
	}
	at := r.conditions
	for _, c := range s.reading.GetConditions() {
		at.set(c)
	}
	ok := true
	var unstated []string
	for _, want := range ck.c.GetReferenceConditions() {
		switch got := at[aspect(want)]; got {
		case want:
		case pb.Condition_CONDITION_UNSPECIFIED:
			unstated = append(unstated, phrase.Condition(want))
		default:
			ok = false
			f := r.find(pb.FindingCode_FINDING_CODE_WRONG_CONDITION, ck, s,
				fmt.Sprintf("%s: read with %s, specified with %s.", ck.name(), phrase.Condition(got), phrase.Condition(want)))
			f.Remedy = r.remedy(pb.RemedyAction_REMEDY_ACTION_READ_AGAIN, ck,
				phrase.Sentence("Set and read it again with %s", phrase.Condition(want)))
		}
	}
	if len(unstated) > 0 {
		s.worsen(undecided)
		f := r.find(pb.FindingCode_FINDING_CODE_CONDITION_NOT_STATED, ck, s,
			fmt.Sprintf("%s: specified with %s; the record does not say so.", ck.name(), phrase.All(unstated)))
		f.Remedy = r.remedy(pb.RemedyAction_REMEDY_ACTION_CORRECT_RECORD, ck, "State the condition, or read it again under it.")
	}
	return ok
}

// judgeInstrument looks at the calibration and range of the instrument. It
// reports false when the reading says nothing because of it.
func (r *run) judgeInstrument(ck *check, s *slot) bool {
	if s.reading.GetInstrument() == "" {
		return true
	}
	in, listed := r.instrument(s.reading)
	if !listed {
		s.worsen(undecided)
		f := r.find(pb.FindingCode_FINDING_CODE_INSTRUMENT_NOT_LISTED, ck, s,
			fmt.Sprintf("%s: read with %q, which the record does not list.", ck.name(), s.reading.GetInstrument()))
		f.Remedy = r.remedy(pb.RemedyAction_REMEDY_ACTION_CORRECT_RECORD, ck, "List the instrument with its accuracy and calibration.")
		return true
	}
	if expires := in.in.GetCalibrationExpireTime(); expires != nil {
		at := s.reading.GetTime()
		if at == nil {
			at = r.rec.GetFinishTime()
		}
		if before(expires, at) {
			f := r.find(pb.FindingCode_FINDING_CODE_INSTRUMENT_OUT_OF_CALIBRATION, ck, s,
				fmt.Sprintf("%s: read with %q, whose calibration ran out on %s.", ck.name(), in.in.GetId(), date(expires)))
			f.Remedy = r.remedy(pb.RemedyAction_REMEDY_ACTION_READ_AGAIN, ck, calibrationRemedy(ck))
			return false
		}
	}
	if rng := in.in.GetRange(); rng != nil {
		if !ck.kind.numeric() || s.reading.GetResult() == nil {
			return true
		}
		value, err := ck.unit.Convert(s.value, in.unit)
		if limits := interval(rng.Lower, rng.Upper); err == nil && !limits.Contains(phrase.Round(value, conversionDigits)) {
			f := r.find(pb.FindingCode_FINDING_CODE_INSTRUMENT_OUT_OF_RANGE, ck, s,
				fmt.Sprintf("%s: %s is outside the range of %q.", ck.name(), r.sayValue(ck, s.value), in.in.GetId()))
			f.Measured = r.dualValue(ck, s.value)
			f.Remedy = r.remedy(pb.RemedyAction_REMEDY_ACTION_READ_AGAIN, ck, "Read again with an instrument made for this range.")
			// Off the scale on a side where even the scale's end breaks the limit, it is
			// wrong, however badly it is known.
			return ck.beyond(limits, in.unit, s.value)
		}
	}
	return true
}

// beyond says whether a value off an instrument's range, given in its unit, is out
// of limits wherever off the range it lies.
func (ck *check) beyond(scale workshop.Interval, unit quantity.Unit, value float64) bool {
	lower, errLower := unit.Convert(scale.Lower, ck.unit)
	upper, errUpper := unit.Convert(scale.Upper, ck.unit)
	if errLower != nil || errUpper != nil {
		return false
	}
	return value > upper && upper > ck.tolerance.Upper || value < lower && lower < ck.tolerance.Lower
}

func calibrationRemedy(ck *check) string {
	if ck.kind == fastener {
		return "Tighten again with a wrench in calibration, and have this one calibrated: what it tightened lately is in doubt too."
	}
	return "Read again with an instrument in calibration, and have this one calibrated."
}

func before(a, b *timestamppb.Timestamp) bool { return a.AsTime().Before(b.AsTime()) }

func clock(t *timestamppb.Timestamp) string {
	layout := "2006-01-02 15:04 UTC"
	if t.GetSeconds()%60 != 0 {
		layout = "2006-01-02 15:04:05 UTC"
	}
	return t.AsTime().Format(layout)
}

func date(t *timestamppb.Timestamp) string { return t.AsTime().Format(time.DateOnly) }
