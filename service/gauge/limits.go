package gauge

import (
	"fmt"
	"math"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/phrase"
	"github.com/snapgauge/snapgauge/service/workshop"
)

// judgeMeasured compares a measured quantity with its limits.
func (r *run) judgeMeasured(ck *check, s *slot) {
	if f := r.judgeLimits(ck, s); f != nil {
		f.Remedy = r.settingRemedy(ck, s)
	}
}

// judgeCapacity compares a fill with the level that is safe when the machine
// leans, then with its limits.
func (r *run) judgeCapacity(ck *check, s *slot) {
	safe := workshop.Interval{Lower: math.Inf(-1), Upper: ck.safeFill}
	switch workshop.Decide(s.value, safe, r.guardBand(ck, s)) {
	case workshop.Nonconforming:
		s.worsen(nonconforming)
		r.fillAboveSafeLevel(ck, s)
		return
	case workshop.Undecided:
		u, _ := r.uncertainty(ck, s)
		s.worsen(undecided)
		r.undecided(ck, s, safe, u)
		return
	}
	if f := r.judgeLimits(ck, s); f != nil {
		f.Remedy = r.volumeRemedy(ck, s)
	}
}

func (r *run) fillAboveSafeLevel(ck *check, s *slot) {
	got, limit := r.sayPair(ck, s.value, ck.safeFill)
	f := r.find(pb.FindingCode_FINDING_CODE_FILL_ABOVE_SAFE_LEVEL, ck, s,
		fmt.Sprintf("%s: %s; above the safe level of %s it can rise into the neck when the machine leans on its stand.", ck.name(), got, limit))
	// Oil where it does not belong ruins a machine whatever else the sheet says
	// of this fill; it may say worse.
	f.Severity = worse(f.GetSeverity(), pb.Severity_SEVERITY_DAMAGE)
	r.measuredAgainst(f, ck, s.value, ck.safeFill)
	f.Remedy = r.volumeRemedy(ck, s)
}

// judgeLimits compares a value with its limits by the sheet's decision rule. For
// a value out of limits it returns the finding, to which the caller owes the
// remedy; every other finding it makes whole, and returns nil.
func (r *run) judgeLimits(ck *check, s *slot) *pb.Finding {
	tolerance := ck.tolerance
	u, known := r.uncertainty(ck, s)
	var w float64
	if ck.guarded && known {
		w = ck.guard * CoverageFactor * u
	}
	decision := workshop.Decide(s.value, tolerance, w)
	limit := nearest(tolerance, s.value)
	switch {
	case decision == workshop.Nonconforming:
		s.worsen(nonconforming)
		code, side := pb.FindingCode_FINDING_CODE_BELOW_LOWER_LIMIT, "below the lower limit"
		if s.value > tolerance.Upper {
			code, side = pb.FindingCode_FINDING_CODE_ABOVE_UPPER_LIMIT, "above the upper limit"
		}
		got, bound := r.sayPair(ck, s.value, limit)
		f := r.find(code, ck, s, fmt.Sprintf("%s: %s, %s %s %s.",
			ck.name(), got, r.sayDifference(ck, abs(s.value-limit)), side, bound))
		r.measuredAgainst(f, ck, s.value, limit)
		return f
	case ck.guarded && !known:
		s.worsen(undecided)
		f := r.find(pb.FindingCode_FINDING_CODE_UNCERTAINTY_NOT_STATED, ck, s,
			fmt.Sprintf("%s: can only be decided when its uncertainty is known; the record states none.", ck.name()))
		f.Measured = r.dualValue(ck, s.value)
		f.Remedy = r.remedy(pb.RemedyAction_REMEDY_ACTION_CORRECT_RECORD, ck, "Name the instrument, and its accuracy with its unit.")
	case known && tooCoarse(tolerance, u):
		s.worsen(undecided)
		width := tolerance.Upper - tolerance.Lower
		f := r.find(pb.FindingCode_FINDING_CODE_INSTRUMENT_TOO_COARSE, ck, s,
			fmt.Sprintf("%s: known to ±%s only, and its limits are %s apart.",
				ck.name(), r.sayDifference(ck, CoverageFactor*u), r.sayDifference(ck, width)))
		f.Measured = r.dualValue(ck, s.value)
		f.Remedy = r.remedy(pb.RemedyAction_REMEDY_ACTION_READ_AGAIN, ck,
			phrase.Sentence("Read again with an instrument good to ±%s or better", r.sayDifference(ck, width/4)))
	case decision == workshop.Undecided:
		s.worsen(undecided)
		r.undecided(ck, s, tolerance, u)
	}
	return nil
}

// undecided tells of a reading whose uncertainty straddles a limit.
func (r *run) undecided(ck *check, s *slot, tolerance workshop.Interval, u float64) {
	limit := nearest(tolerance, s.value)
	distance := abs(s.value - limit)
	got, bound := r.sayPair(ck, s.value, limit)
	inside := "inside"
	if !tolerance.Contains(s.value) {
		inside = "outside"
	}
	message := fmt.Sprintf("%s: %s, %s %s the limit %s, and known to ±%s only.",
		ck.name(), got, r.sayDifference(ck, distance), inside, bound, r.sayDifference(ck, CoverageFactor*u))
	f := r.find(pb.FindingCode_FINDING_CODE_UNDECIDED, ck, s, message)
	r.measuredAgainst(f, ck, s.value, limit)
	if p, err := workshop.ConformanceProbability(s.value, u, tolerance); err == nil {
		p = phrase.Round(p, 6)
		f.ConformanceProbability = &p
		f.Message += fmt.Sprintf(" The probability that it conforms is %s.", percent(p))
	}
	target := r.sayValue(ck, ck.target())
	if inside == "inside" && distance > 0 {
		// Rounded down, so that the instrument asked for really decides.
		need := phrase.RoundDown(distance/ck.guard, 2)
		f.Remedy = r.remedy(pb.RemedyAction_REMEDY_ACTION_READ_AGAIN, ck,
			phrase.Sentence("Read again with an instrument good to ±%s or better, or set it to %s", r.sayDifference(ck, need), target))
		f.Remedy.Amount = r.dualDifference(ck, need)
	} else {
		f.Remedy = r.remedy(pb.RemedyAction_REMEDY_ACTION_SET, ck,
			phrase.Sentence("Set it to %s and read again, or have a person with a better instrument decide", target))
	}
	f.Remedy.Target = r.dualValue(ck, ck.target())
}

// tooCoarse says whether the coverage interval is wider than the tolerance: no
// reading could then be decided (measurement capability index below 1, JCGM
// 106:2012, 7.6.3).
func tooCoarse(tolerance workshop.Interval, u float64) bool {
	if math.IsInf(tolerance.Lower, 0) || math.IsInf(tolerance.Upper, 0) || u == 0 {
		return false
	}
	capability, err := workshop.MeasurementCapability(tolerance, u)
	return err == nil && capability > 0 && capability < 1
}

// guardBand is the guard band of a reading: nought under simple acceptance, and
// where no uncertainty is known.
func (r *run) guardBand(ck *check, s *slot) float64 {
	if !ck.guarded {
		return 0
	}
	u, _ := r.uncertainty(ck, s)
	return ck.guard * CoverageFactor * u
}

// measuredAgainst fills in measured, limit and excess.
func (r *run) measuredAgainst(f *pb.Finding, ck *check, value, limit float64) {
	f.Measured, f.Limit = r.dualValue(ck, value), r.dualValue(ck, limit)
	f.Excess = r.dualDifference(ck, abs(value-limit))
}

// nearest is the end of an interval that is nearest to a value: the one that is
// broken or straddled.
func nearest(i workshop.Interval, v float64) float64 {
	if abs(v-i.Lower) < abs(v-i.Upper) {
		return i.Lower
	}
	return i.Upper
}

func abs(v float64) float64 { return math.Abs(v) }
