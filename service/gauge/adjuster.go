package gauge

import (
	"fmt"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/workshop"
)

// judgeAdjuster compares an adjuster's position with what its thread or clicks
// allow and with what the sheet permits.
func (r *run) judgeAdjuster(ck *check, s *slot) {
	reference := ck.c.GetAdjuster().GetReferencePosition()
	mechanical := ck.adjuster.mechanical
	var f *pb.Finding
	switch {
	case s.value < mechanical.Lower && ck.c.GetAdjuster().GetFlushLimit():
		f = r.find(pb.FindingCode_FINDING_CODE_ADJUSTER_PAST_FLUSH, ck, s,
			fmt.Sprintf("%s stands proud by %s; flush is as far as it goes.", ck.name(), r.sayPosition(ck, mechanical.Lower-s.value)))
		r.measuredAgainst(f, ck, s.value, mechanical.Lower)
	case !mechanical.Contains(s.value):
		limit := nearest(mechanical, s.value)
		f = r.find(pb.FindingCode_FINDING_CODE_ADJUSTER_PAST_MECHANICAL_RANGE, ck, s,
			fmt.Sprintf("%s is at %s from %q; it has only %s.", ck.name(), r.sayPosition(ck, s.value), reference, r.sayPosition(ck, limit)))
		r.measuredAgainst(f, ck, s.value, limit)
	case !ck.tolerance.Contains(s.value):
		limit := nearest(ck.tolerance, s.value)
		f = r.find(pb.FindingCode_FINDING_CODE_ADJUSTER_PAST_PERMITTED_RANGE, ck, s,
			fmt.Sprintf("%s is at %s from %q; permitted is %s.", ck.name(), r.sayPosition(ck, s.value), reference, r.sayLimits(ck)))
		r.measuredAgainst(f, ck, s.value, limit)
	default:
		return
	}
	s.worsen(nonconforming)
	target := ck.target()
	turn := ck.turn(target - s.value)
	text := sentence("Turn it %s %s, to %s from %q", turn.way, r.sayPosition(ck, turn.amount), r.sayPosition(ck, target), reference)
	if f.GetCode() == pb.FindingCode_FINDING_CODE_ADJUSTER_PAST_MECHANICAL_RANGE {
		text = "Count its position again. If it is right, look at the thread before anything else. Then: " + lowerFirst(text)
	}
	f.Remedy = r.remedy(turn.action, ck, text)
	f.Remedy.Amount = r.dualDifference(ck, turn.amount)
	f.Remedy.Target = r.dualValue(ck, target)
}

// turning is what a hand does at an adjuster.
type turning struct {
	action pb.RemedyAction
	way    string  // "in" or "out"
	amount float64 // turns or clicks, never negative
}

// turn says which way and how far for a change of position.
func (ck *check) turn(delta float64) turning {
	out := delta > 0 == ck.adjuster.countsOut
	if out {
		return turning{pb.RemedyAction_REMEDY_ACTION_TURN_OUT, "out", abs(delta)}
	}
	return turning{pb.RemedyAction_REMEDY_ACTION_TURN_IN, "in", abs(delta)}
}

// settingRemedy says how to bring a measured quantity to its target: by the
// adjuster that sets it, where there is one, else by the sheet's method. When
// the adjuster has too little travel left, that is a finding of its own: the
// cause is elsewhere, and turning would hide it.
func (r *run) settingRemedy(ck *check, s *slot) *pb.Remedy {
	if ck.movedBy < 0 {
		return r.plainRemedy(ck, s)
	}
	by, at := &r.plan.checks[ck.movedBy], &r.slots[ck.movedBy]
	target := ck.target()
	// The adjuster's own slot may not have been judged yet; its reading is known.
	position, known := at.position()
	if known && by.adjuster.mechanical.Contains(position) {
		plan, err := workshop.PlanAdjuster(workshop.Adjuster{
			Position:    position,
			Permitted:   by.tolerance,
			Mechanical:  by.adjuster.mechanical,
			MovePerTurn: ck.perStep,
			Detent:      by.adjuster.step,
		}, s.value, target)
		switch {
		case err != nil:
			return r.plainRemedy(ck, s)
		case !plan.Allowed && !ck.tolerance.Contains(roundTo(plan.Reading, conversionDigits)):
			return r.outOfTravel(ck, s, by, at, position, plan)
		}
		return r.turnRemedy(ck, by, plan.Turns, plan.Reading,
			fmt.Sprintf("to %s from %q", r.sayPosition(by, plan.Position), by.c.GetAdjuster().GetReferencePosition()))
	}
	exact, err := workshop.TurnsToTarget(s.value, target, ck.perStep)
	if err != nil {
		return r.plainRemedy(ck, s)
	}
	steps := roundToStep(exact, by.adjuster.step)
	return r.turnRemedy(ck, by, steps, s.value+steps*ck.perStep, "if it has that much travel left (the record does not say where it stands)")
}

// position gives the adjuster's position as read, whether or not it has been
// judged.
func (s *slot) position() (float64, bool) {
	if s.reading == nil {
		return 0, false
	}
	if _, _, duplicated := s.duplicated(); duplicated {
		return 0, false
	}
	return s.value, true
}

func (r *run) turnRemedy(ck, by *check, delta, reading float64, where string) *pb.Remedy {
	turn := by.turn(delta)
	rem := r.remedy(turn.action, by, sentence("Turn %s %s %s, %s; %s should then read about %s",
		lowerFirst(by.name()), turn.way, r.sayPosition(by, turn.amount), where, lowerFirst(ck.name()), r.sayValue(ck, roundTo(reading, 3))))
	rem.Characteristic = by.c.GetId()
	rem.Amount = r.dualDifference(by, turn.amount)
	rem.Target = r.dualValue(ck, ck.target())
	return rem
}

// outOfTravel adds the finding about the adjuster and gives the remedy of the
// quantity that it cannot bring into limits.
func (r *run) outOfTravel(ck *check, s *slot, by *check, at *slot, position float64, plan workshop.AdjusterPlan) *pb.Remedy {
	at.worsen(nonconforming)
	needed, possible := by.turn(plan.Exact), by.turn(plan.Turns)
	f := r.find(pb.FindingCode_FINDING_CODE_ADJUSTER_OUT_OF_TRAVEL, by, at,
		fmt.Sprintf("%s is at %s and cannot bring %s into its limits: that takes %s %s, and %s is left.",
			by.name(), r.sayPosition(by, position), lowerFirst(ck.name()), r.sayPosition(by, needed.amount), needed.way, r.sayPosition(by, possible.amount)))
	f.Severity = worse(f.GetSeverity(), ck.c.GetSeverity())
	f.Measured = r.dualValue(by, position)
	f.Limit = r.dualValue(by, nearest(by.tolerance, position+plan.Exact))
	f.Excess = r.dualDifference(by, needed.amount-possible.amount)
	const cause = "Do not turn further: look for the cause first (routing, an outer that is not seated, stretch, wear)."
	f.Remedy = r.remedy(pb.RemedyAction_REMEDY_ACTION_FIND_CAUSE, by, cause)
	rem := r.remedy(pb.RemedyAction_REMEDY_ACTION_FIND_CAUSE, ck, cause)
	rem.Characteristic = by.c.GetId()
	rem.Target = r.dualValue(ck, ck.target())
	return rem
}
