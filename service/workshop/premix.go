package workshop

import "math"

// LeastPremixRatio is the least ratio that is one of fuel and oil: with more oil
// no engine runs, and whoever says so most often means per cent.
const LeastPremixRatio = 5

// MostPremixRatio is the greatest: with less oil it is none to speak of.
const MostPremixRatio = 1000

// Pre-mix ratios are parts of fuel to one part of oil by volume: 50 stands for
// 50:1.
func checkRatio(param string, ratio float64) error {
	return inRange(param, ratio, LeastPremixRatio, MostPremixRatio)
}

// PremixDose returns the millilitres of oil to add to fuelML of fuel for a
// pre-mix ratio: fuel/ratio. The fuel must be at least 0, the ratio 5 to 1000.
func PremixDose(fuelML, ratio float64) (float64, error) {
	if err := firstErr(nonNegative("fuelML", fuelML), checkRatio("ratio", ratio)); err != nil {
		return 0, err
	}
	return fuelML / ratio, nil
}

// PremixDoseForTotal returns the millilitres of oil in mixtureML of finished
// mixture: mixture/(ratio+1). It is the dose for filling a container to a mark.
// The mixture must be at least 0, the ratio 5 to 1000.
func PremixDoseForTotal(mixtureML, ratio float64) (float64, error) {
	if err := firstErr(nonNegative("mixtureML", mixtureML), checkRatio("ratio", ratio)); err != nil {
		return 0, err
	}
	return mixtureML / (ratio + 1), nil
}

// PremixRatio returns the ratio of a mixture: fuel/oil. Both must be above 0.
func PremixRatio(fuelML, oilML float64) (float64, error) {
	if err := firstErr(positive("fuelML", fuelML), positive("oilML", oilML)); err != nil {
		return 0, err
	}
	ratio := fuelML / oilML
	if math.IsInf(ratio, 0) {
		return 0, badInput("oilML", oilML, "more oil than that")
	}
	return ratio, nil
}

// EffectiveRatio returns the ratio that an engine runs on when oil reaches the
// fuel by several ways at once, as with an injected two-stroke whose first tank
// also gets pre-mix so that a pump that does not prime ruins nothing: the oil
// shares add, 1/ratio = 1/a + 1/b. Two times 50:1 is 25:1, on which it smokes
// until that tank is gone. Each ratio is 5 to 1000; one is needed at least. An
// oil pump's ratio varies with throttle and speed: give the one at the running
// condition that is meant.
func EffectiveRatio(ratios ...float64) (float64, error) {
	if len(ratios) == 0 {
		return 0, badInput("ratios", 0, "at least one ratio")
	}
	var share float64
	for _, r := range ratios {
		if err := checkRatio("ratios", r); err != nil {
			return 0, err
		}
		share += 1 / r
	}
	return 1 / share, nil
}
