package formula

import (
	"math"

	"github.com/snapgauge/snapgauge/service/workshop"
)

// Groups of inputs that share a unit.
const (
	readingGroup  = "reading"  // what is measured, whatever it is
	positionGroup = "position" // where an adjuster stands, in turns or clicks
)

const adjusterCaution = "If the adjuster is already all the way in or out, look for the cause (routing, stretch, wear) before turning."

var (
	pitchInput = input{name: "pitch", unit: "mm", param: "pitchMM", what: "Pitch of the adjuster's thread"}
	leverInput = input{name: "lever_ratio", unit: "1", fallback: "1", param: "leverRatio",
		what: "Travel of the adjusted thing over travel of the adjuster; negative when turning in makes the reading smaller"}
	currentInput = input{name: "current", group: readingGroup, param: "current", what: "What it reads now, in any unit"}
	targetInput  = input{name: "target", group: readingGroup, param: "target", what: "What it is to read"}
)

// positionInput is a place on an adjuster that may be open where it is optional.
func positionInput(name, param, what string) input {
	return input{name: name, unit: "circ", group: positionGroup, optional: true, param: param, what: what}
}

var adjusters = []Formula{
	{
		name: "move-per-turn", topic: "adjusters",
		description: "How far the adjusted thing moves for one turn of a screw adjuster.",
		source:      closedForm + ": pitch × lever ratio",
		inputs:      []input{pitchInput, leverInput},
		results:     []result{{name: "move", unit: "mm", what: "Movement for one turn"}},
		work: func(a *arguments) (outputs, error) {
			return one(workshop.MovePerTurn(a.num("pitch"), a.num("lever_ratio")))
		},
	},
	{
		name: "adjuster-move", topic: "adjusters",
		description: "How far the adjusted thing moves for a number of turns of a screw adjuster.",
		source:      closedForm + ": pitch × turns × lever ratio",
		inputs: []input{pitchInput,
			{name: "turns", unit: "circ", param: "turns", what: "Turns of the screw, negative backwards"},
			leverInput,
		},
		results: []result{{name: "move", unit: "mm", what: "Movement"}},
		work: func(a *arguments) (outputs, error) {
			return one(workshop.AdjusterMove(a.num("pitch"), a.num("turns"), a.num("lever_ratio")))
		},
	},
	{
		name: "turns-to-target", topic: "adjusters",
		description: "How far to turn an adjuster from one reading to another.",
		source:      closedForm, caution: adjusterCaution,
		inputs: []input{currentInput, targetInput,
			{name: "move_per_turn", group: readingGroup, span: true, param: "movePerTurn", what: "Change of the reading for one turn, or for one click"},
			{name: "counted_in", choices: []string{"turns", "clicks"}, fallback: "turns", what: "What the adjuster is counted in"},
		},
		results: []result{{name: "turn", group: positionGroup, what: "Turns or clicks to make, negative backwards"}},
		work: func(a *arguments) (outputs, error) {
			a.bases[positionGroup] = turns
			if a.choice("counted_in") == "clicks" {
				a.bases[positionGroup] = clicks
			}
			return one(workshop.TurnsToTarget(a.num("current"), a.num("target"), a.num("move_per_turn")))
		},
	},
	{
		name: "backlash", topic: "adjusters",
		description: "What part of a turn is lost when a screw with free play reverses.",
		source:      closedForm + ": play over pitch",
		inputs: []input{
			{name: "play", unit: "mm", param: "playMM", what: "Free play along the screw"},
			pitchInput,
		},
		results: []result{{name: "backlash", unit: "circ", what: "Turns without effect on reversing"}},
		work: func(a *arguments) (outputs, error) {
			return one(workshop.BacklashTurns(a.num("play"), a.num("pitch")))
		},
	},
	{
		name: "turns-with-backlash", topic: "adjusters",
		description: "How far to turn a screw with backlash for a wanted effect.",
		source:      closedForm,
		inputs: []input{
			{name: "turns", unit: "circ", param: "turns", what: "Turns of effect wanted, negative backwards"},
			{name: "backlash", unit: "circ", param: "backlashTurns", what: "Turns without effect on reversing"},
			{name: "reversed", choices: yesOrNo, what: "Whether the direction reverses from the last one"},
		},
		results: []result{{name: "turn", unit: "circ", what: "Turns to make at the screw"}},
		work: func(a *arguments) (outputs, error) {
			return one(workshop.TurnsWithBacklash(a.num("turns"), a.num("backlash"), a.yes("reversed")))
		},
	},
	{
		name: "adjuster-plan", topic: "adjusters",
		description: "How far to turn an adjuster to reach a reading, in whole detents and within its range, and what it then reads.",
		source:      closedForm, caution: adjusterCaution,
		inputs: []input{
			{name: "position", unit: "circ", group: positionGroup, param: "Position", what: "Where it stands, in turns (or clicks, then all positions are) from its reference, usually fully in"},
			currentInput, targetInput,
			{name: "move_per_turn", group: readingGroup, span: true, param: "movePerTurn", what: "Change of the reading for one turn or click towards higher positions"},
			{name: "detent", unit: "circ", group: positionGroup, span: true, optional: true, param: "Detent", what: "Smallest step: ¼ turn; left out, a screw stays anywhere and clicks are whole"},
			positionInput("permitted_lower", "Permitted.Lower Permitted", "Least position that is permitted"),
			positionInput("permitted_upper", "Permitted.Upper", "Greatest position that is permitted"),
			positionInput("mechanical_lower", "Mechanical.Lower Mechanical", "Least position that the part can reach"),
			positionInput("mechanical_upper", "Mechanical.Upper", "Greatest position that the part can reach"),
		},
		results: []result{
			{name: "turn", group: positionGroup, what: "What to turn, negative backwards"},
			{name: "exact", group: positionGroup, what: "The same before rounding to detents and limits"},
			{name: "position", group: positionGroup, what: "Where it then stands"},
			{name: "reading", group: readingGroup, what: "What it should then read"},
			{name: "shortfall", group: readingGroup, form: span, what: "Target less that reading"},
			{name: "allowed", what: "Whether the range allows the target to the nearest detent"},
			{name: "remaining", group: positionGroup, what: "Travel left beyond in the direction turned"},
			{name: "at_end", what: "Whether it stands at an end and would have to go further"},
		},
		work: adjusterPlan,
	},
}

func adjusterPlan(a *arguments) (outputs, error) {
	detent := 0.0
	switch base := a.base(positionGroup); base {
	case turns:
	case clicks:
		detent = 1
	default:
		return nil, refuse("position", "is %s, want turns or clicks", base.Dimension())
	}
	adjuster := workshop.Adjuster{
		Position: a.num("position"),
		Permitted: workshop.Interval{
			Lower: a.numOr("permitted_lower", math.Inf(-1)),
			Upper: a.numOr("permitted_upper", math.Inf(1)),
		},
		Mechanical: workshop.Interval{
			Lower: a.numOr("mechanical_lower", math.Inf(-1)),
			Upper: a.numOr("mechanical_upper", math.Inf(1)),
		},
		MovePerTurn: a.num("move_per_turn"),
		Detent:      a.numOr("detent", detent),
	}
	p, err := workshop.PlanAdjuster(adjuster, a.num("current"), a.num("target"))
	if err != nil {
		return nil, err
	}
	return outputs{
		number(p.Turns), number(p.Exact), number(p.Position), number(p.Reading), number(p.Shortfall),
		yes(p.Allowed), limit(p.RemainingTurns), yes(p.AtEnd),
	}, nil
}
