package workshop

import "slices"

// wetClutchMeets lists the JASO T 903 classes that meet a required one. MA1 and
// MA2 are the halves of MA with less and more friction.
//
// Source: JASO T 903:2016, clutch friction classes, as quoted by an additive
// maker.
var wetClutchMeets = map[string][]string{
	"MA":  {"MA", "MA1", "MA2"},
	"MA1": {"MA1"},
	"MA2": {"MA2"},
	"MB":  {"MB"},
}

// WetClutchOilSuits says whether a four-stroke oil of one JASO T 903 class may
// stand in for the required one: MA takes MA, MA1 or MA2, the others only
// themselves. MB lets a wet clutch slip and never stands in for an MA class. A
// prefix JASO may be there or not.
func WetClutchOilSuits(required, offered string) (bool, error) {
	meets, ok := wetClutchMeets[bareGrade(required)]
	if !ok {
		return false, badText("required", required, "a JASO T 903 class: MA, MA1, MA2 or MB")
	}
	o := bareGrade(offered)
	if _, ok := wetClutchMeets[o]; !ok {
		return false, badText("offered", offered, "a JASO T 903 class: MA, MA1, MA2 or MB")
	}
	return slices.Contains(meets, o), nil
}

// ClutchFrictionClass returns the JASO T 903 class, MA1, MA2, MA or MB, for the
// three indices of the clutch friction test: dynamic friction, static friction
// and stop time, each 0.40 to 2.50. It is MA2 or MA1 when all three lie in that
// class, MA when all three lie in MA but not in one half of it, and MB when any
// is below MA.
//
// Source: JASO T 903:2016, limits of MA and MA2 as quoted by an additive maker,
// of MA1 by an oil maker; 0.40 from memory.
func ClutchFrictionClass(dynamic, static, stopTime float64) (string, error) {
	const lowest, highest = 0.40, 2.50
	if err := firstErr(inRange("dynamic", dynamic, lowest, highest), inRange("static", static, lowest, highest), inRange("stopTime", stopTime, lowest, highest)); err != nil {
		return "", err
	}
	switch {
	case dynamic < 1.35 || static < 1.45 || stopTime < 1.40:
		return "MB", nil
	case dynamic >= 1.50 && static >= 1.60 && stopTime >= 1.60:
		return "MA2", nil
	case dynamic < 1.50 && static < 1.60 && stopTime < 1.60:
		return "MA1", nil
	default:
		return "MA", nil
	}
}
