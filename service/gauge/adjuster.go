package gauge

import (
	"fmt"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/phrase"
	"github.com/snapgauge/snapgauge/service/workshop"
)

// judgeAdjuster compares an adjuster's position with what its thread or clicks
// allow and with what the sheet permits.
func (r *run) judgeAdjuster(ck *check, s *slot) {
	mechanical := ck.adjuster.mechanical
	var f *pb.Finding
	switch {
	case s.value < mechanical.Lower && ck.c.GetAdjuster().GetFlushLimit():
		f = r.find(pb.FindingCode_FINDING_CODE_ADJUSTER_PAST_FLUSH, ck, s,
			fmt.Sprintf("%s: stands proud by %s; flush is as far as it goes.", ck.name(), r.sayValue(ck, mechanical.Lower-s.value)))
		r.measuredAgainst(f, ck, s.value, mechanical.Lower)
	case !mechanical.Contains(s.value):
		limit := nearest(mechanical, s.value)
		f = r.find(pb.FindingCode_FINDING_CODE_ADJUSTER_PAST_MECHANICAL_RANGE, ck, s,
			fmt.Sprintf("%s: at %s; it goes no further than %s.", ck.name(), r.sayAt(ck, s.value), r.sayValue(ck, limit)))
		r.measuredAgainst(f, ck, s.value, limit)
	case !ck.tolerance.Contains(s.value):
		limit := nearest(ck.tolerance, s.value)
		f = r.find(pb.FindingCode_FINDING_CODE_ADJUSTER_PAST_PERMITTED_RANGE, ck, s,
			fmt.Sprintf("%s: at %s; permitted is %s.", ck.name(), r.sayAt(ck, s.value), r.sayLimits(ck)))
		r.measuredAgainst(f, ck, s.value, limit)
	default:
		return
	}
	s.worsen(nonconforming)
	target := ck.target()
	turn := ck.turn(target - s.value)
	text := phrase.Sentence("Turn it %s %s, to %s", turn.way, r.sayValue(ck, turn.amount), r.sayAt(ck, target))
	if f.GetCode() == pb.FindingCode_FINDING_CODE_ADJUSTER_PAST_MECHANICAL_RANGE {
		text = "Count its position again. If it is right, look at the thread before anything else. Then: " + phrase.LowerFirst(text)
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
// adjusters that set it, where there are any, else by the sheet's method.
// Several adjusters are turned together, by the same amount. When one has too
// little travel left, that is a finding of its own: the cause is elsewhere, and
// turning would hide it.
func (r *run) settingRemedy(ck *check, s *slot) *pb.Remedy {
	if len(ck.movers) == 0 {
		return r.plainRemedy(ck, s)
	}
	first := &r.plan.checks[ck.movers[0]]
	exact, err := workshop.TurnsToTarget(s.value, ck.target(), ck.perStep)
	if err != nil {
		return r.plainRemedy(ck, s)
	}
	steps := roundToStep(exact, first.adjuster.step)
	where := "if there is that much travel left (the record does not say where it stands)"
	for _, i := range ck.movers {
		by, at := &r.plan.checks[i], &r.slots[i]
		// The adjuster's own slot may not have been judged yet; its reading is known.
		position, known := at.position()
		if !known || !by.adjuster.mechanical.Contains(position) {
			continue
		}
		plan, err := workshop.PlanAdjuster(workshop.Adjuster{
			Position:    position,
			Permitted:   by.tolerance,
			Mechanical:  by.adjuster.mechanical,
			MovePerTurn: ck.perStep,
			Detent:      by.adjuster.step,
		}, s.value, ck.target())
		if err != nil {
			return r.plainRemedy(ck, s)
		}
		if !plan.Allowed && !ck.tolerance.Contains(phrase.Round(plan.Reading, conversionDigits)) {
			return r.outOfTravel(ck, by, at, position, plan)
		}
		if steps = plan.Turns; len(ck.movers) == 1 {
			where = "to " + r.sayAt(by, plan.Position)
		}
	}
	if steps == 0 {
		return r.plainRemedy(ck, s) // nearer to the target than a step
	}
	if len(ck.movers) > 1 {
		where = "all by the same amount"
	}
	turn := first.turn(steps)
	rem := r.remedy(turn.action, first, phrase.Sentence("Turn %s %s %s, %s; %s should then read about %s",
		phrase.All(r.names(ck.movers)), turn.way, r.sayValue(first, turn.amount), where,
		ck.inSentence(), r.sayValue(ck, phrase.Round(s.value+steps*ck.perStep, 3))))
	rem.Characteristic = first.c.GetId()
	rem.Amount = r.dualDifference(first, turn.amount)
	rem.Target = r.dualValue(ck, ck.target())
	return rem
}

func (r *run) names(places []int) []string {
	names := make([]string, len(places))
	for n, i := range places {
		names[n] = r.plan.checks[i].inSentence()
	}
	return names
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

// outOfTravel adds the finding about the adjuster and gives the remedy of the
// quantity that it cannot bring into limits.
func (r *run) outOfTravel(ck, by *check, at *slot, position float64, plan workshop.AdjusterPlan) *pb.Remedy {
	at.worsen(nonconforming)
	needed, possible := by.turn(plan.Exact), by.turn(plan.Turns)
	f := r.find(pb.FindingCode_FINDING_CODE_ADJUSTER_OUT_OF_TRAVEL, by, at,
		fmt.Sprintf("%s: at %s it has too little travel left to set %s: the target takes %s %s, and %s is left.",
			by.name(), r.sayAt(by, position), ck.inSentence(),
			r.sayValue(by, needed.amount), needed.way, r.sayValue(by, possible.amount)))
	f.Severity = worse(f.GetSeverity(), ck.c.GetSeverity())
	f.Measured = r.dualValue(by, position)
	wanted := position + plan.Exact
	limit := nearest(by.tolerance, wanted)
	f.Limit, f.Excess = r.dualValue(by, limit), r.dualDifference(by, abs(wanted-limit))
	const cause = "Do not turn further: look for the cause first (routing, an outer that is not seated, stretch, wear)."
	f.Remedy = r.remedy(pb.RemedyAction_REMEDY_ACTION_FIND_CAUSE, by, cause)
	rem := r.remedy(pb.RemedyAction_REMEDY_ACTION_FIND_CAUSE, ck, cause)
	rem.Characteristic = by.c.GetId()
	rem.Target = r.dualValue(ck, ck.target())
	return rem
}
