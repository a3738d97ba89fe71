package workshop

import (
	"math"
	"strconv"
	"strings"
)

// Viscosity is an SAE J300 engine oil grade.
type Viscosity struct {
	// Winter is the number before the W, one of 0, 5, 10, 15, 20 and 25; -1 for
	// an oil without one.
	Winter int
	// Hot is the number for the running engine: 8, 12, 16, 20, 30, 40, 50 or 60; 0
	// for an oil with a winter grade only.
	Hot int
}

// winterCrankingC holds the temperature in °C of the cold cranking test. The
// pumping test is 5 °C colder.
//
// Source: SAE J300 (JAN 2015), table 1.
var winterCrankingC = map[int]float64{0: -35, 5: -30, 10: -25, 15: -20, 20: -15, 25: -10}

// hotGrade: kinematic viscosity at 100 °C in mm²/s, from at least min to less
// than max, and the warmest ambient the grade is used in.
//
// Source: viscosity, SAE J300 (JAN 2015), table 1; ambient, common practice, no
// source.
var hotGrades = map[int]struct{ min, max, ambientC float64 }{
	8:  {4.0, 6.1, 20},
	12: {5.0, 7.1, 20},
	16: {6.1, 8.2, 25},
	20: {6.9, 9.3, 25},
	30: {9.3, 12.5, 30},
	40: {12.5, 16.3, 40},
	50: {16.3, 21.9, 50},
	60: {21.9, 26.1, 55},
}

// ParseViscosity reads a grade as it stands on the can: 10W-40, 10W40, SAE 30,
// 5W. Spaces and small letters are allowed. Gear oil grades (SAE J306, such as
// 75W-90) are another scale and are refused.
//
// Source: SAE J300 for the grades that exist.
func ParseViscosity(grade string) (Viscosity, error) {
	bad := func() (Viscosity, error) {
		return Viscosity{}, badText("grade", grade, "an SAE J300 engine oil grade such as 10W-40 or 30")
	}
	s := strings.ToUpper(strings.Join(strings.Fields(grade), ""))
	s = strings.TrimPrefix(s, "SAE")
	v := Viscosity{Winter: -1}
	winter, hot, multi := strings.Cut(s, "W")
	if !multi {
		hot = winter
	} else {
		n, ok := gradeNumber(winter)
		if _, exists := winterCrankingC[n]; !ok || !exists {
			return bad()
		}
		v.Winter = n
		hot = strings.TrimPrefix(hot, "-")
		if hot == "" {
			if strings.HasSuffix(s, "-") {
				return bad()
			}
			return v, nil
		}
	}
	n, ok := gradeNumber(hot)
	if _, exists := hotGrades[n]; !ok || !exists {
		return bad()
	}
	v.Hot = n
	return v, nil
}

func gradeNumber(s string) (int, bool) {
	if s == "" || len(s) > 2 || strings.Trim(s, "0123456789") != "" || (len(s) == 2 && s[0] == '0') {
		return 0, false
	}
	n, err := strconv.Atoi(s)
	return n, err == nil
}

// String returns the grade as on the can: "10W-40", "30", "5W".
func (v Viscosity) String() string {
	switch {
	case v.Winter < 0:
		return strconv.Itoa(v.Hot)
	case v.Hot == 0:
		return strconv.Itoa(v.Winter) + "W"
	default:
		return strconv.Itoa(v.Winter) + "W-" + strconv.Itoa(v.Hot)
	}
}

// Kinematic returns the range of kinematic viscosity at 100 °C in mm²/s: at
// least Lower and less than Upper. A grade without a hot number is refused.
//
// Source: SAE J300 (JAN 2015), table 1.
func (v Viscosity) Kinematic() (Interval, error) {
	g, ok := hotGrades[v.Hot]
	if !ok {
		return Interval{}, badInput("Hot", float64(v.Hot), "a hot grade: 8, 12, 16, 20, 30, 40, 50 or 60")
	}
	return Interval{Lower: g.min, Upper: g.max}, nil
}

// Ambient returns the band of outside temperature in °C that the grade is used
// in. Its cold end is the temperature of the cold cranking test for a winter
// grade, and 0 °C for an oil that has none; its warm end is a habit of the
// trade, and open for an oil with a winter grade only, whose hot viscosity is
// not known. The engine maker's chart governs.
//
// Source: cold end, SAE J300 (JAN 2015), table 1; 0 °C and warm end, common
// practice, no source.
func (v Viscosity) Ambient() (Interval, error) {
	band := Interval{Lower: 0, Upper: math.Inf(1)}
	if v.Winter >= 0 {
		c, ok := winterCrankingC[v.Winter]
		if !ok {
			return Interval{}, badInput("Winter", float64(v.Winter), "a winter grade (0, 5, 10, 15, 20 or 25), or -1 for none")
		}
		band.Lower = c
	}
	if v.Hot == 0 && v.Winter >= 0 {
		return band, nil
	}
	g, ok := hotGrades[v.Hot]
	if !ok {
		return Interval{}, badInput("Hot", float64(v.Hot), "a hot grade: 8, 12, 16, 20, 30, 40, 50 or 60")
	}
	band.Upper = g.ambientC
	return band, nil
}

// ViscositySuits says whether a grade, as on the can, covers all outside
// temperatures from lowestC to highestC. Errors are those of [ParseViscosity];
// lowestC must be at most highestC, both -60 to 60.
func ViscositySuits(grade string, lowestC, highestC float64) (bool, error) {
	v, err := ParseViscosity(grade)
	if err != nil {
		return false, err
	}
	if err := firstErr(inRange("highestC", highestC, -60, 60), inRange("lowestC", lowestC, -60, highestC)); err != nil {
		return false, err
	}
	band, err := v.Ambient()
	if err != nil {
		return false, err
	}
	return band.Contains(lowestC) && band.Contains(highestC), nil
}
