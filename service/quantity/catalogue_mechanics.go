package quantity

func mechanicsCatalogue() []*definition {
	const (
		inch    = "0.0254"
		perInch = "/0.0254"
		pound   = "0.45359237"
		gravity = "9.80665"
		// Density of mercury by convention; UCUM rounds the column of one
		// millimetre to 133.322 Pa, three parts in a million less.
		mercury = "13595.1"
	)
	return []*definition{
		{code: "g", symbol: "g", dim: dimMass, factor: exact("0.001"), nonNegative: true,
			aliases: []string{"gram", "grams", "gramme", "grammes"}},
		{code: "kg", symbol: "kg", dim: dimMass, factor: exact("1"), nonNegative: true,
			aliases: []string{"kgs", "kilo", "kilos", "kilogram", "kilograms"}},
		{code: "[oz_av]", symbol: "oz", dim: dimMass, factor: exact(pound, "/16"), nonNegative: true,
			aliases: []string{"oz.", "ounce", "ounces"}},
		{code: "[lb_av]", symbol: "lb", dim: dimMass, factor: exact(pound), nonNegative: true,
			aliases: []string{"lb.", "lbs", "pound", "pounds"}},

		{code: "N", symbol: "N", dim: dimForce, factor: exact("1"),
			aliases: []string{"newton", "newtons"}},
		{code: "kN", symbol: "kN", dim: dimForce, factor: exact("1000"),
			aliases: []string{"kilonewton", "kilonewtons"}},
		{code: "kgf", symbol: "kgf", dim: dimForce, factor: exact(gravity),
			aliases: []string{"kp"}},
		{code: "[lbf_av]", symbol: "lbf", dim: dimForce, factor: exact(pound, gravity),
			aliases: []string{"lbs-force", "lb-force"}},

		{code: "cN.m", symbol: "cN·m", dim: dimTorque, factor: exact("0.01"), nonNegative: true,
			aliases: []string{"cNm", "cN-m", "cN m"}},
		{code: "N.m", symbol: "N·m", dim: dimTorque, factor: exact("1"), nonNegative: true,
			aliases: []string{"Nm", "N-m", "N m", "N*m", "newton-metre", "newton-metres", "newton-meter", "newton-meters"}},
		{code: "kgf.m", symbol: "kgf·m", dim: dimTorque, factor: exact(gravity), nonNegative: true,
			aliases: []string{"kgfm", "kgf-m", "kgf m", "kg-m", "kg·m", "kg.m", "kgm", "m-kg", "mkg"}},
		{code: "[lbf_av].[ft_i]", symbol: "lbf·ft", dim: dimTorque, factor: exact(pound, gravity, "12", inch), nonNegative: true,
			aliases: poundTorque("ft", "foot", "feet")},
		{code: "[lbf_av].[in_i]", symbol: "lbf·in", dim: dimTorque, factor: exact(pound, gravity, inch), nonNegative: true,
			aliases: poundTorque("in", "inch", "inches")},

		{code: "Pa", symbol: "Pa", dim: dimPressure, factor: exact("1"),
			aliases: []string{"pascal", "pascals"}},
		{code: "hPa", symbol: "hPa", dim: dimPressure, factor: exact("100"),
			aliases: []string{"mbar", "millibar", "millibars"}},
		{code: "kPa", symbol: "kPa", dim: dimPressure, factor: exact("1000"),
			aliases: []string{"kilopascal", "kilopascals"}},
		{code: "MPa", symbol: "MPa", dim: dimPressure, factor: exact("1000000"),
			aliases: []string{"N/mm2", "N/mm²"}},
		{code: "bar", symbol: "bar", dim: dimPressure, factor: exact("100000"),
			aliases: []string{"bars"}},
		{code: "kgf/cm2", symbol: "kgf/cm²", dim: dimPressure, factor: exact(gravity, "10000"),
			aliases: []string{"kg/cm2", "kg/cm²", "kgf/cm^2", "kg/cm^2"}},
		{code: "[psi]", symbol: "psi", dim: dimPressure, factor: exact(pound, gravity, perInch, perInch),
			aliases: []string{"psig", "lbf/in2", "lbf/in²", "lb/in2", "lb/in²", "[lbf_av]/[in_i]2"}},
		{code: "mm[Hg]", symbol: "mmHg", dim: dimPressure, factor: exact(mercury, gravity, "0.001"),
			aliases: []string{"mm Hg"}},

		{code: "N/mm", symbol: "N/mm", dim: dimSpringRate, factor: exact("1000"), nonNegative: true},
		{code: "kgf/mm", symbol: "kgf/mm", dim: dimSpringRate, factor: exact(gravity, "1000"), nonNegative: true,
			aliases: []string{"kg/mm"}},
		{code: "[lbf_av]/[in_i]", symbol: "lbf/in", dim: dimSpringRate, factor: exact(pound, gravity, perInch), nonNegative: true,
			aliases: []string{"lb/in", "lbs/in", "lb/inch", "lbs/inch"}},

		{code: "/min", symbol: "rpm", dim: dimRotation, factor: exact("2", pi, "/60"), nonNegative: true,
			aliases: []string{"1/min", "r/min", "rev/min", "revs/min", "min-1", "min⁻¹", "turns/min"}},

		{code: "m/s", symbol: "m/s", dim: dimSpeed, factor: exact("1"), nonNegative: true},
		{code: "km/h", symbol: "km/h", dim: dimSpeed, factor: exact("1000", "/3600"), nonNegative: true,
			aliases: []string{"kph", "kmh", "km/hr", "kmph"}},
		{code: "[mi_i]/h", symbol: "mph", dim: dimSpeed, factor: exact("63360", inch, "/3600"), nonNegative: true,
			aliases: []string{"mi/h", "miles/h", "MPH"}},

		{code: "kg/m3", symbol: "kg/m³", dim: dimDensity, factor: exact("1"), nonNegative: true,
			aliases: []string{"kg/m^3"}},
		{code: "kg/L", symbol: "kg/L", dim: dimDensity, factor: exact("1000"), nonNegative: true,
			aliases: []string{"kg/l"}},
		{code: "g/cm3", symbol: "g/cm³", dim: dimDensity, factor: exact("1000"), nonNegative: true,
			aliases: []string{"g/cm^3", "g/cc", "g/mL", "g/ml"}},

		{code: "mm2/s", symbol: "mm²/s", dim: dimViscosity, factor: exact("0.000001"), nonNegative: true,
			aliases: []string{"mm^2/s"}},
		{code: "cSt", symbol: "cSt", dim: dimViscosity, factor: exact("0.000001"), nonNegative: true,
			aliases: []string{"centistokes", "centistoke"}},
	}
}

// poundTorque spells pound-force times a length every way the workshop does:
// both orders, with or without the f, joined by any mark or none.
func poundTorque(length, singular, plural string) []string {
	spellings := []string{
		"[" + length + "_i].[lbf_av]",
		singular + "-pound", singular + "-pounds", singular + " pound", singular + " pounds",
		"pound-" + singular, "pound-" + plural, "pound " + plural,
	}
	for _, pound := range []string{"lb", "lbs", "lbf"} {
		for _, mark := range []string{"-", "·", ".", " ", ""} {
			spellings = append(spellings, length+mark+pound)
			if pound != "lbf" || mark != "·" { // that one is the symbol
				spellings = append(spellings, pound+mark+length)
			}
		}
	}
	return spellings
}
