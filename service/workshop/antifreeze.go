package workshop

import "math"

// glycolFreeze holds the freezing point of ethylene glycol in water by volume
// per cent of pure glycol.
//
// Source: ASHRAE Handbook, Fundamentals, freezing points of aqueous solutions of
// ethylene glycol (from memory).
var glycolFreeze = []struct{ volPct, tempC float64 }{
	{0, 0}, {4.4, -1.4}, {8.9, -3.2}, {13.6, -5.4}, {18.1, -7.8}, {22.9, -10.7},
	{27.7, -14.1}, {32.6, -17.9}, {37.5, -22.3}, {42.5, -27.5}, {47.6, -33.8},
	{52.7, -41.1}, {57.8, -48.3},
}

// Limits of the glycol table. More glycol than that protects no better and cools
// worse.
const (
	maxGlycolVolPct = 57.8
	minFreezeC      = -48.3
)

// GlycolFreezePoint returns the temperature in °C at which the first ice forms
// in a mixture with glycolVolPct volume per cent of ethylene glycol, 0 to 57.8:
// a table of about every 5 per cent, straight between. Between the table's
// points, and between published tables, the difference is up to about 1.5 °C;
// allow a margin.
//
// Antifreeze as sold contains inhibitors and some water, and may be based on
// propylene glycol or come ready mixed: the table on the container governs.
//
// Source: ASHRAE Handbook, Fundamentals (from memory).
func GlycolFreezePoint(glycolVolPct float64) (float64, error) {
	if err := inRange("glycolVolPct", glycolVolPct, 0, maxGlycolVolPct); err != nil {
		return 0, err
	}
	i := 1
	for glycolVolPct > glycolFreeze[i].volPct {
		i++
	}
	a, b := glycolFreeze[i-1], glycolFreeze[i]
	return a.tempC + (b.tempC-a.tempC)*(glycolVolPct-a.volPct)/(b.volPct-a.volPct), nil
}

// GlycolForFreezePoint returns the volume per cent of ethylene glycol whose
// first ice forms at freezeC, -48.3 to 0 °C. It is the inverse of
// [GlycolFreezePoint] and shares its caveats. Corrosion protection may ask for
// more than the frost does.
func GlycolForFreezePoint(freezeC float64) (float64, error) {
	if err := inRange("freezeC", freezeC, minFreezeC, 0); err != nil {
		return 0, err
	}
	i := 1
	for freezeC < glycolFreeze[i].tempC {
		i++
	}
	a, b := glycolFreeze[i-1], glycolFreeze[i]
	return a.volPct + (b.volPct-a.volPct)*(freezeC-a.tempC)/(b.tempC-a.tempC), nil
}

// CoolantMix is a fill made of concentrate and water.
type CoolantMix struct {
	GlycolVolPct  float64 // of the mixture
	ConcentrateML float64
	WaterML       float64
}

// MixCoolant returns the concentrate and water for an empty system of systemML
// millilitres (at least 0), so that the first ice forms at freezeC (-48.3 to
// 0 °C). Concentrate is taken as pure ethylene glycol, and the small loss of
// volume on mixing is neglected. Its caveats are those of
// [GlycolForFreezePoint].
func MixCoolant(systemML, freezeC float64) (CoolantMix, error) {
	if err := nonNegative("systemML", systemML); err != nil {
		return CoolantMix{}, err
	}
	pct, err := GlycolForFreezePoint(freezeC)
	if err != nil {
		return CoolantMix{}, err
	}
	concentrate := systemML * pct / 100
	return CoolantMix{GlycolVolPct: pct, ConcentrateML: concentrate, WaterML: systemML - concentrate}, nil
}

// CoolantExchange returns the millilitres to drain from a full system and replace
// by pure concentrate, so that its glycol rises from currentVolPct to
// targetVolPct: V·(target-current)/(100-current). The system must be at least 0;
// both per cents 0 to 57.8, the target at least the current.
func CoolantExchange(systemML, currentVolPct, targetVolPct float64) (float64, error) {
	if err := firstErr(
		nonNegative("systemML", systemML),
		inRange("currentVolPct", currentVolPct, 0, maxGlycolVolPct),
		inRange("targetVolPct", targetVolPct, currentVolPct, maxGlycolVolPct),
	); err != nil {
		return 0, err
	}
	return math.Max(0, systemML*(targetVolPct-currentVolPct)/(100-currentVolPct)), nil
}
