package workshop

// IdleState says whether an idle speed may be judged now.
type IdleState int

const (
	// IdleReady means that a reading counts.
	IdleReady IdleState = iota + 1
	// IdleCold means that the engine is below its warm temperature: a cold
	// engine idles on an enriched mixture and thick oil.
	IdleCold
	// IdleDoubleOil means that an injected two-stroke still burns pre-mix from
	// its first tank: it idles slower and smokes until that is gone.
	IdleDoubleOil
)

// String names the state.
func (s IdleState) String() string {
	switch s {
	case IdleReady:
		return "ready"
	case IdleCold:
		return "engine cold"
	case IdleDoubleOil:
		return "double oil in the first tank"
	}
	return "unknown"
}

// IdleBand is the range in which an idle speed is right and whether it may be
// judged.
type IdleBand struct {
	LowRPM  float64
	HighRPM float64
	State   IdleState
}

// IdleCheckBand returns the idle speeds that are right, nominalRPM ±
// toleranceRPM, and whether a reading counts with the engine at engineTempC. A
// reading counts at or above warmTempC and not while an injected two-stroke
// burns pre-mix as well (doubleOil). When both stand in the way, the oil is
// named: warming up does not cure it.
//
// Source: common practice, no source.
func IdleCheckBand(nominalRPM, toleranceRPM, engineTempC, warmTempC float64, doubleOil bool) (IdleBand, error) {
	if err := firstErr(
		positive("nominalRPM", nominalRPM),
		nonNegative("toleranceRPM", toleranceRPM),
		inRange("engineTempC", engineTempC, -40, 200),
		inRange("warmTempC", warmTempC, -40, 200),
	); err != nil {
		return IdleBand{}, err
	}
	if toleranceRPM >= nominalRPM {
		return IdleBand{}, badInput("toleranceRPM", toleranceRPM, "less than the nominal idle speed")
	}
	band := IdleBand{LowRPM: nominalRPM - toleranceRPM, HighRPM: nominalRPM + toleranceRPM, State: IdleReady}
	switch {
	case doubleOil:
		band.State = IdleDoubleOil
	case engineTempC < warmTempC:
		band.State = IdleCold
	}
	return band, nil
}
