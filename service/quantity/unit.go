package quantity

import "slices"

// Unit is one unit of measure of the registry. Units are immutable, and equal
// under == exactly when they are the same unit; a millilitre and a cubic
// centimetre are two units of one size. The zero Unit is the unit one, that
// of plain numbers.
type Unit struct {
	def *definition // nil for the unit one
}

// Units returns every unit of the registry: grouped by what they measure,
// always in the same order. The caller may change the slice.
func Units() []Unit { return slices.Clone(units.all) }

// Code returns the UCUM code of u, the name by which data should refer to it:
// "N.m", "[in_i]", "1". [ParseUnit] of it gives u.
func (u Unit) Code() string { return u.definition().code }

// Symbol returns what people read for u: "N·m", "in", "°C", "turns". It is
// empty for the unit one. [ParseUnit] of any other symbol gives u.
func (u Unit) Symbol() string { return u.definition().symbol }

// String is the symbol of u, or "1" for the unit one, so that messages always
// show something.
func (u Unit) String() string {
	if u.def == nil {
		return "1"
	}
	return u.def.symbol
}

// Aliases returns the further spellings of u that [ParseUnit] takes, besides
// its code and its symbol. The caller may change the slice.
func (u Unit) Aliases() []string { return slices.Clone(u.definition().aliases) }

// Dimension returns what u measures.
func (u Unit) Dimension() Dimension { return u.definition().dim }

// NonNegative reports whether a value in u below zero can only be a mistake.
//
// It is true for volume, area, mass, time, torque, spring rate, density,
// viscosity, speed, rotational speed, resistance, battery capacity (A·h, W·h),
// kelvin, links and teeth. It is false for lengths and angles, which also
// serve as offsets; for pressures, which are read on a gauge and go below zero
// under vacuum; for force, voltage, current and power, whose sign is their
// direction; for clicks, which may be counted from a reference position; and
// for plain numbers and percentages, which serve as deviations.
func (u Unit) NonNegative() bool { return u.definition().nonNegative }

func (u Unit) definition() *definition {
	if u.def == nil {
		return units.one
	}
	return u.def
}
