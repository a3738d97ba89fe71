package shape

import "math"

// None of these is true for NaN.

func finite(x float64) bool      { return math.Abs(x) <= math.MaxFloat64 }
func notNegative(x float64) bool { return x >= 0 && x <= math.MaxFloat64 }
func positive(x float64) bool    { return x > 0 && x <= math.MaxFloat64 }
