package workshop

import (
	"math"
	"testing"
)

func TestInputErrorSays(t *testing.T) {
	for want, err := range map[string]error{
		"lengthMM is -3, want a finite number above 0":                             positive("lengthMM", -3),
		"lengthMM is NaN, want a finite number above 0":                            positive("lengthMM", math.NaN()),
		"u is +Inf, want a finite number of at least 0":                            nonNegative("u", math.Inf(1)),
		"leanDeg is 91, want -90 to 90":                                            inRange("leanDeg", 91, -90, 90),
		"x is -Inf, want a finite number":                                          finite("x", math.Inf(-1)),
		`grade is "DOT 6", want DOT 3`:                                             badText("grade", "DOT 6", "DOT 3"),
		"grade is empty, want DOT 3":                                               badText("grade", "", "DOT 3"),
		"b is 2, want 0 to 1":                                                      firstErr(nil, inRange("b", 2, 0, 1), positive("c", 0)),
		"tolerance.Lower is 2, want at most tolerance.Upper":                       checkTolerance(Interval{2, 1}),
		"tolerance.Upper is NaN, want a finite number, or +Inf for no upper limit": checkTolerance(Interval{2, math.NaN()}),
	} {
		if err == nil || err.Error() != want {
			t.Errorf("got %v, want %s", err, want)
		}
	}
	if err := firstErr(nil, nil); err != nil {
		t.Errorf("nothing wrong, yet %v", err)
	}
}
