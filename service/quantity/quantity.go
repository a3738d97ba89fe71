package quantity

import "math"

// Quantity is a value with its unit. The zero Quantity is the plain number
// zero. Quantities under == compare value and unit, so 1 L is not 1000 mL.
type Quantity struct {
	Value float64
	Unit  Unit
}

// To returns q in the unit u: the same point on the scale for temperatures.
// It returns a *[DimensionError] and the zero Quantity when u measures
// something else.
func (q Quantity) To(u Unit) (Quantity, error) {
	v, err := q.Unit.Convert(q.Value, u)
	if err != nil {
		return Quantity{}, err
	}
	return Quantity{Value: v, Unit: u}, nil
}

// String writes q as people read it: "12.5 N·m", "45°", "1¼ turns". At most
// six significant digits are shown, but never fewer than the value has before
// its decimal point. Turns that are eighths are written with fractions.
// [Parse] reads the result as the same unit and, to those digits, value.
func (q Quantity) String() string {
	if q.Unit == turn && math.Abs(q.Value) < 1e6 {
		if eighths := q.Value * 8; math.Abs(eighths-math.Round(eighths)) < 1e-9 {
			return FormatTurns(q.Value)
		}
	}
	digits := 6
	if magnitude := math.Abs(q.Value); magnitude >= 1e6 && magnitude < maxPlain {
		digits = int(math.Log10(magnitude)) + 1
	}
	return Format(q.Value, q.Unit, digits)
}
