package quantity

import (
	"fmt"
	"math/big"
)

// DimensionError says that a value was to be converted between units that
// measure different things.
type DimensionError struct {
	From, To Unit
}

func (e *DimensionError) Error() string {
	return fmt.Sprintf("%s measures %s and can not be converted to %s, which measures %s",
		e.From, e.From.Dimension(), e.To, e.To.Dimension())
}

// step is one ready conversion. It divides by the larger-than-one factor
// rather than multiplying by its reciprocal, because the definitions give that
// side in few digits: 25.4, 1.8, 4.54609.
type step struct {
	factor float64
	divide bool
	shift  float64 // added after multiplying, or before dividing
}

// newStep is the conversion from a unit to one that is no larger.
func newStep(from, to *definition) step {
	var s step
	s.factor, _ = new(big.Rat).Quo(from.factor, to.factor).Float64()
	if from.offset != nil || to.offset != nil {
		shift := new(big.Rat)
		if from.offset != nil {
			shift.Add(shift, from.offset)
		}
		if to.offset != nil {
			shift.Sub(shift, to.offset)
		}
		s.shift, _ = shift.Quo(shift, to.factor).Float64()
	}
	return s
}

// inverse undoes s, which multiplies.
func (s step) inverse() step {
	return step{factor: s.factor, divide: true, shift: -s.shift}
}

// Convert returns v, given in u, as a value in the unit to. Temperatures are
// points on a scale: 0 °C is 32 °F. For a span between two temperatures use
// [Unit.ConvertDifference].
//
// It returns a *[DimensionError] and zero when the units measure different
// things. Infinities and NaN pass through. It does not allocate on success.
func (u Unit) Convert(v float64, to Unit) (float64, error) {
	if u == to {
		return v, nil
	}
	from, target := u.definition(), to.definition()
	if from.dim != target.dim {
		return 0, &DimensionError{From: u, To: to}
	}
	s := &from.steps[target.place]
	if s.divide {
		return (v + s.shift) / s.factor, nil
	}
	// The conversion to float64 forbids a fused multiply-add, which would
	// give other last digits on processors that have one.
	return float64(v*s.factor) + s.shift, nil
}

// ConvertDifference returns the difference v, given in u, as a difference in
// the unit to: a span of 1 °C is one of 1.8 °F. Uncertainties, tolerances and
// deviations are differences. It differs from [Unit.Convert] for temperatures
// only, and has its errors.
func (u Unit) ConvertDifference(v float64, to Unit) (float64, error) {
	if u == to {
		return v, nil
	}
	from, target := u.definition(), to.definition()
	if from.dim != target.dim {
		return 0, &DimensionError{From: u, To: to}
	}
	s := &from.steps[target.place]
	if s.divide {
		return v / s.factor, nil
	}
	return v * s.factor, nil
}
