package workshop

import "math"

// MovePerTurn returns by how many millimetres the adjusted thing moves for one
// turn of a screw adjuster: pitch × lever ratio. The ratio is the travel of the
// adjusted thing over the travel of the adjuster; it is negative when turning in
// makes the reading smaller, and not 0.
func MovePerTurn(pitchMM, leverRatio float64) (float64, error) {
	if err := firstErr(positive("pitchMM", pitchMM), finite("leverRatio", leverRatio)); err != nil {
		return 0, err
	}
	if leverRatio == 0 {
		return 0, badInput("leverRatio", leverRatio, "a ratio other than 0")
	}
	return pitchMM * leverRatio, nil
}

// AdjusterMove returns the movement in millimetres after a number of turns
// (negative: backwards): pitch × turns × lever ratio.
func AdjusterMove(pitchMM, turns, leverRatio float64) (float64, error) {
	per, err := MovePerTurn(pitchMM, leverRatio)
	if err != nil {
		return 0, err
	}
	if err := finite("turns", turns); err != nil {
		return 0, err
	}
	return per * turns, nil
}

// TurnsToTarget returns the turns, exact and signed, from one reading to
// another: (target-current)/movePerTurn. All three are in the same unit, which
// may be any; movePerTurn is finite and not 0. For clicks, give the movement per
// click.
func TurnsToTarget(current, target, movePerTurn float64) (float64, error) {
	if err := firstErr(finite("current", current), finite("target", target), finite("movePerTurn", movePerTurn)); err != nil {
		return 0, err
	}
	turns := (target - current) / movePerTurn
	if movePerTurn == 0 || math.IsInf(turns, 0) {
		return 0, badInput("movePerTurn", movePerTurn, "a movement that is not 0")
	}
	return turns, nil
}

// BacklashTurns returns the part of a turn that is lost when a screw with free
// play reverses: play/pitch. Play is measured along the screw.
func BacklashTurns(playMM, pitchMM float64) (float64, error) {
	if err := firstErr(nonNegative("playMM", playMM), positive("pitchMM", pitchMM)); err != nil {
		return 0, err
	}
	return playMM / pitchMM, nil
}

// TurnsWithBacklash returns the turns to make at the screw for a wanted number
// of turns of effect. When the direction reverses from the last one, the
// backlash (at least 0) is turned first without effect; otherwise nothing is
// added.
func TurnsWithBacklash(turns, backlashTurns float64, reversed bool) (float64, error) {
	if err := firstErr(finite("turns", turns), nonNegative("backlashTurns", backlashTurns)); err != nil {
		return 0, err
	}
	if !reversed || turns == 0 {
		return turns, nil
	}
	return turns + math.Copysign(backlashTurns, turns), nil
}

// Adjuster describes one adjuster and where it stands. Positions are turns from
// its reference position (usually fully in), or clicks if everything is in
// clicks.
type Adjuster struct {
	// Position is where it stands.
	Position float64
	// Permitted is the range that the sheet allows, Mechanical the range that the
	// part can reach. Either may be open (infinite).
	Permitted, Mechanical Interval
	// MovePerTurn is the change of the reading for one turn towards higher
	// positions.
	MovePerTurn float64
	// Detent is the smallest step in turns: 1/4, 1/8, or 1 when counting clicks.
	// 0 stands for a screw that stays anywhere.
	Detent float64
}

// AdjusterPlan says what to do at the adjuster.
type AdjusterPlan struct {
	// Exact is the turns to the target, before rounding and limits.
	Exact float64
	// Turns is what to turn: whole detents, the lesser turn of two equally near,
	// inside the usable range.
	Turns float64
	// Position is where the adjuster then stands.
	Position float64
	// Reading is what the characteristic should then read.
	Reading float64
	// Shortfall is target minus Reading, in the reading's unit: the rounding to
	// detents, and what the range does not allow.
	Shortfall float64
	// Allowed says whether the range allows the target to the nearest detent.
	Allowed bool
	// RemainingTurns is the travel left beyond Position in the direction turned
	// (infinite where the range is open, 0 when nothing is turned).
	RemainingTurns float64
	// AtEnd says that the adjuster already stands at an end of its usable range
	// and would have to go further: look for the cause (routing, stretch, wear)
	// before turning anything.
	AtEnd bool
}

// PlanAdjuster works out how far to turn an adjuster so that a reading comes
// from current to target, both in the unit of MovePerTurn. The usable range is
// what Permitted and Mechanical share.
//
// It refuses readings that are not finite, a MovePerTurn of 0, a negative
// detent, ranges that share nothing, and a position outside the mechanical
// range. A position outside the permitted range is no error: the plan then leads
// back into it.
func PlanAdjuster(a Adjuster, current, target float64) (AdjusterPlan, error) {
	if err := firstErr(
		finite("Position", a.Position),
		nonNegative("Detent", a.Detent),
		checkRange("Permitted", a.Permitted),
		checkRange("Mechanical", a.Mechanical),
	); err != nil {
		return AdjusterPlan{}, err
	}
	if !a.Mechanical.Contains(a.Position) {
		return AdjusterPlan{}, badInput("Position", a.Position, "a position within the mechanical range")
	}
	usable := Interval{
		Lower: math.Max(a.Permitted.Lower, a.Mechanical.Lower),
		Upper: math.Min(a.Permitted.Upper, a.Mechanical.Upper),
	}
	if usable.Empty() {
		return AdjusterPlan{}, badInput("Permitted.Lower", a.Permitted.Lower, "a permitted range that overlaps the mechanical one")
	}
	exact, err := TurnsToTarget(current, target, a.MovePerTurn)
	if err != nil {
		return AdjusterPlan{}, err
	}

	low, high := usable.Lower-a.Position, usable.Upper-a.Position
	wanted := roundToDetent(exact, a.Detent, roundHalfIn)
	turns := wanted
	switch {
	case turns < low-turnSlack:
		turns = roundToDetent(low, a.Detent, math.Ceil)
	case turns > high+turnSlack:
		turns = roundToDetent(high, a.Detent, math.Floor)
	}
	if turns < low-turnSlack || turns > high+turnSlack {
		return AdjusterPlan{}, badInput("Detent", a.Detent, "a step that fits into the usable range")
	}
	turns = min(max(turns, low), high)

	p := AdjusterPlan{
		Exact:    exact,
		Turns:    turns,
		Position: min(max(a.Position+turns, usable.Lower), usable.Upper),
		Reading:  current + turns*a.MovePerTurn,
		Allowed:  math.Abs(turns-wanted) <= turnSlack,
		AtEnd:    turns == 0 && wanted != 0,
	}
	p.Shortfall = target - p.Reading
	switch {
	case turns > 0:
		p.RemainingTurns = math.Max(0, high-turns)
	case turns < 0:
		p.RemainingTurns = math.Max(0, turns-low)
	}
	return p, nil
}

// turnSlack keeps the rounding of binary arithmetic from costing a detent.
const turnSlack = 1e-9

func roundToDetent(turns, detent float64, round func(float64) float64) float64 {
	if detent == 0 {
		return turns
	}
	steps := turns / detent
	if nearest := math.Round(steps); math.Abs(steps-nearest) < turnSlack {
		return nearest * detent
	}
	return round(steps) * detent
}

// roundHalfIn rounds to the nearest whole number, halves towards 0: between two
// detents that are equally near, the one that turns less.
func roundHalfIn(x float64) float64 {
	return math.Copysign(math.Ceil(math.Abs(x)-0.5), x)
}

func checkRange(param string, i Interval) error {
	if i.Empty() || math.IsInf(i.Lower, 1) || math.IsInf(i.Upper, -1) {
		return badInput(param+".Lower", i.Lower, "a range whose lower end is at most its upper end")
	}
	return nil
}
