package workshop

// A TorqueToolType is ISO 6789's division of hand torque tools.
type TorqueToolType uint8

const (
	// Indicating is type I: the user reads the torque off a scale, dial or
	// display.
	Indicating TorqueToolType = 1
	// Setting is type II: the tool signals that the set torque is reached.
	Setting TorqueToolType = 2
)

// TorqueToolDeviation returns the permissible deviation of a hand torque tool
// from the torque it shows or is set to, as a share of that torque: 0.04 is
// ±4 %. maxTorqueNM is the largest torque of the tool, above 0. The class is one
// letter:
//
//	type I   A bar wrench, B rigid wrench with scale or dial, C electronic
//	         wrench, D screwdriver with scale, E electronic screwdriver
//	type II  A adjustable wrench with scale, B fixed wrench, C adjustable wrench
//	         without scale, D, E, F the same as screwdrivers, G bar wrench,
//	         adjustable
//
// Type I A and D and type II D to G may deviate by 6 %, the others by 4 %, or by
// 6 % when the tool's largest torque is at most 10 N·m. It is the deviation of a
// tool in calibration, used between 20 % and 100 % of its largest torque.
//
// Source: ISO 6789:2003, 5.1.5 (type II class A as quoted in a torque wrench's
// instructions; the other classes from memory).
func TorqueToolDeviation(tool TorqueToolType, class string, maxTorqueNM float64) (float64, error) {
	if err := positive("maxTorqueNM", maxTorqueNM); err != nil {
		return 0, err
	}
	var coarse bool
	switch tool {
	case Indicating:
		switch class {
		case "A", "D":
			coarse = true
		case "B", "C", "E":
		default:
			return 0, badText("class", class, "A to E for an indicating tool")
		}
	case Setting:
		switch class {
		case "D", "E", "F", "G":
			coarse = true
		case "A", "B", "C":
		default:
			return 0, badText("class", class, "A to G for a setting tool")
		}
	default:
		return 0, badInput("tool", float64(tool), "Indicating (1) or Setting (2)")
	}
	if coarse || maxTorqueNM <= 10 {
		return 0.06, nil
	}
	return 0.04, nil
}

// Calibration interval of hand torque tools where the user has no procedure of
// his own: whichever of the two comes first.
//
// Source: ISO 6789:2003, 6.3; ISO 6789-1:2017, 5.3 (from memory).
const (
	TorqueToolCalibrationMonths = 12
	TorqueToolCalibrationCycles = 5000
)

// TorqueToolCalibrationDue says whether a hand torque tool is due for
// calibration: 12 months after it was first used or last calibrated, or after
// 5000 operations, whichever comes first. Both must be at least 0. An overload,
// a fall or a repair makes it due at once; that is not seen here.
//
// Source: see [TorqueToolCalibrationMonths].
func TorqueToolCalibrationDue(months, cycles float64) (bool, error) {
	if err := firstErr(nonNegative("months", months), nonNegative("cycles", cycles)); err != nil {
		return false, err
	}
	return months >= TorqueToolCalibrationMonths || cycles >= TorqueToolCalibrationCycles, nil
}
