package workshop

import "math"

// Sag is how far a wheel's suspension sinks under a load.
type Sag struct {
	// SagMM is free of friction: the middle between settling from above and from
	// below.
	SagMM float64
	// FrictionMM is the whole distance between the two settled readings. Much
	// friction (over some 10 mm at the rear or 25 mm at the fork; common
	// practice, no source) means that something binds.
	FrictionMM float64
}

// MeasuredSag returns the sag from three lengths between the same two points,
// axle to chassis: extendedMM with the wheel off the ground; liftedMM after
// lifting the machine on its wheels and letting it settle; pushedMM after
// pushing it down and letting it settle. Sag is extendedMM − (liftedMM +
// pushedMM)/2. With the machine alone this is the static sag, with the rider on
// in riding position the race sag.
//
// The lengths must fall in that order; where they do not, the readings are
// exchanged or something moved.
//
// Source: the three-measurement method of the suspension workshops, published
// by several; common practice.
func MeasuredSag(extendedMM, liftedMM, pushedMM float64) (Sag, error) {
	if err := firstErr(
		positive("extendedMM", extendedMM),
		positive("liftedMM", liftedMM),
		positive("pushedMM", pushedMM),
	); err != nil {
		return Sag{}, err
	}
	if liftedMM > extendedMM {
		return Sag{}, badInput("liftedMM", liftedMM, "at most the fully extended length")
	}
	if pushedMM > liftedMM {
		return Sag{}, badInput("pushedMM", pushedMM, "at most the length settled from above")
	}
	return Sag{SagMM: extendedMM - (liftedMM+pushedMM)/2, FrictionMM: liftedMM - pushedMM}, nil
}

// Spring is a spring and its preload for one wheel. Where two springs carry the
// wheel, as in a fork, RateNPerMM is that of both together.
type Spring struct {
	RateNPerMM float64
	// WheelRateNPerMM is the rate felt at the wheel: the spring's times the motion
	// ratio squared.
	WheelRateNPerMM float64
	// PreloadMM is how much the spring is compressed with the wheel fully
	// extended.
	PreloadMM float64
}

func checkSuspension(machineLoadN, riderLoadN, motionRatio float64) error {
	return firstErr(
		positive("machineLoadN", machineLoadN),
		positive("riderLoadN", riderLoadN),
		checkMotionRatio(motionRatio),
	)
}

func checkMotionRatio(motionRatio float64) error {
	// Wide enough for any linkage and for a fork; beyond, the ratio is upside down.
	return inRange("motionRatio", motionRatio, 0.1, 2)
}

// SpringForSag returns the spring rate and preload that give a wanted static sag
// (machine alone) and race sag (rider on), both in millimetres at the wheel.
// machineLoadN and riderLoadN are the sprung loads on this wheel in newtons:
// the machine's without the wheel and what turns with it, and what the rider in
// riding position with gear adds. motionRatio is spring travel over wheel travel,
// about 1 for a fork and 0.3 to 0.5 for a rear linkage, taken as constant over
// the sag.
//
//	wheel rate = riderLoadN/(raceSagMM − staticSagMM) = rate × motionRatio²
//
// A wanted static sag at which the spring would be loose with the wheel extended
// is refused: no spring gives both figures.
//
// Source: closed form; wheel rate as in any text on vehicle dynamics, from
// memory.
func SpringForSag(machineLoadN, riderLoadN, staticSagMM, raceSagMM, motionRatio float64) (Spring, error) {
	if err := firstErr(
		checkSuspension(machineLoadN, riderLoadN, motionRatio),
		positive("staticSagMM", staticSagMM),
		positive("raceSagMM", raceSagMM),
	); err != nil {
		return Spring{}, err
	}
	if raceSagMM <= staticSagMM {
		return Spring{}, badInput("raceSagMM", raceSagMM, "more than the static sag")
	}
	wheelRate := riderLoadN / (raceSagMM - staticSagMM)
	rate := wheelRate / (motionRatio * motionRatio)
	preload, err := PreloadForSag(machineLoadN, staticSagMM, rate, motionRatio)
	if err != nil {
		return Spring{}, badInput("staticSagMM", staticSagMM, "a static sag at which the spring stays preloaded")
	}
	return Spring{RateNPerMM: rate, WheelRateNPerMM: wheelRate, PreloadMM: preload}, nil
}

// PreloadForSag returns the preload in millimetres at the spring that gives a
// sag at the wheel under a load, with a spring already fitted: loadN/(motionRatio
// × rateNPerMM) − motionRatio × sagMM. Parameters as at [SpringForSag].
// A negative preload, a spring that is loose with the wheel extended, is
// refused: the spring is too stiff for that sag.
//
// Source: closed form.
func PreloadForSag(loadN, sagMM, rateNPerMM, motionRatio float64) (float64, error) {
	if err := firstErr(
		positive("loadN", loadN),
		nonNegative("sagMM", sagMM),
		positive("rateNPerMM", rateNPerMM),
		checkMotionRatio(motionRatio),
	); err != nil {
		return 0, err
	}
	preload := loadN/(motionRatio*rateNPerMM) - motionRatio*sagMM
	if preload < 0 {
		return 0, badInput("sagMM", sagMM, "a sag at which the spring stays preloaded")
	}
	return preload, nil
}

// SagForSpring returns the static and the race sag, in millimetres at the wheel,
// that a spring and its preload give: the inverse of [SpringForSag]. A preload
// that carries a load by itself gives a sag of 0. Parameters as at
// [SpringForSag].
//
// Source: closed form.
func SagForSpring(machineLoadN, riderLoadN, rateNPerMM, preloadMM, motionRatio float64) (staticMM, raceMM float64, err error) {
	if err := firstErr(
		checkSuspension(machineLoadN, riderLoadN, motionRatio),
		positive("rateNPerMM", rateNPerMM),
		nonNegative("preloadMM", preloadMM),
	); err != nil {
		return 0, 0, err
	}
	sag := func(loadN float64) float64 {
		return math.Max(0, (loadN/(motionRatio*rateNPerMM)-preloadMM)/motionRatio)
	}
	return sag(machineLoadN), sag(machineLoadN + riderLoadN), nil
}
