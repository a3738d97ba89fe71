package gauge

import (
	"math"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/phrase"
	"github.com/snapgauge/snapgauge/service/quantity"
)

// remedy makes a remedy for a characteristic, or for the whole record when it is
// nil.
func (r *run) remedy(action pb.RemedyAction, ck *check, text string) *pb.Remedy {
	rem := &pb.Remedy{Action: action, Text: text}
	if ck != nil && action != pb.RemedyAction_REMEDY_ACTION_CORRECT_RECORD {
		rem.Tools = ck.c.GetTools()
	}
	return rem
}

// sheetRemedy is the sheet's own instruction, for what cannot be computed, or
// the given one where the sheet has none.
func (ck *check) sheetRemedy(otherwise string) string {
	if own := ck.c.GetRemedy(); own != "" {
		return phrase.Stop(own)
	}
	return otherwise
}

// volumeRemedy says how much to drain or to fill.
func (r *run) volumeRemedy(ck *check, s *slot) *pb.Remedy {
	target := ck.target()
	action, verb := pb.RemedyAction_REMEDY_ACTION_DRAIN, "Drain"
	if s.value < target {
		action, verb = pb.RemedyAction_REMEDY_ACTION_FILL, "Fill in"
	}
	rem := r.remedy(action, ck, phrase.Sentence("%s %s, down to %s", verb, r.sayAmount(ck, abs(s.value-target)), r.sayValue(ck, target)))
	if action == pb.RemedyAction_REMEDY_ACTION_FILL {
		rem = r.remedy(action, ck, phrase.Sentence("%s %s of %s, up to %s", verb, r.sayAmount(ck, abs(s.value-target)), ck.c.GetCapacity().GetFluid(), r.sayValue(ck, target)))
	}
	rem.Amount, rem.Target = r.dualDifference(ck, abs(s.value-target)), r.dualValue(ck, target)
	return rem
}

// plainRemedy says how far to move a measured quantity that has no adjuster on
// the sheet. A tyre's pressure is let out or pumped up.
func (r *run) plainRemedy(ck *check, s *slot) *pb.Remedy {
	target := ck.target()
	change := abs(s.value - target)
	var rem *pb.Remedy
	switch air := ck.unit.Dimension() == pressure && ck.c.GetGroup() == pb.Group_GROUP_WHEELS_AND_TYRES; {
	case air && s.value > target:
		rem = r.remedy(pb.RemedyAction_REMEDY_ACTION_DRAIN, ck,
			phrase.Sentence("Let out %s, down to %s", r.sayDifference(ck, change), r.sayValue(ck, target)))
	case air:
		rem = r.remedy(pb.RemedyAction_REMEDY_ACTION_FILL, ck,
			phrase.Sentence("Pump up by %s, to %s", r.sayDifference(ck, change), r.sayValue(ck, target)))
	default:
		way := "less"
		if s.value < target {
			way = "more"
		}
		text := phrase.Sentence("Set it to %s (%s %s)", r.sayValue(ck, target), r.sayDifference(ck, change), way)
		if own := ck.sheetRemedy(""); own != "" {
			text = own + " " + phrase.Sentence("It should then read %s (%s %s)", r.sayValue(ck, target), r.sayDifference(ck, change), way)
		}
		rem = r.remedy(pb.RemedyAction_REMEDY_ACTION_SET, ck, text)
	}
	rem.Amount, rem.Target = r.dualDifference(ck, change), r.dualValue(ck, target)
	return rem
}

var pressure = quantity.MustUnit("kPa").Dimension()

// roundToStep rounds turns or clicks to whole steps.
func roundToStep(v, step float64) float64 { return math.Round(v/step) * step }
