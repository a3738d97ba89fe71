package quantity

func geometryCatalogue() []*definition {
	const (
		inch   = "0.0254"
		gallon = "4.54609" // imperial, in litres
	)
	return []*definition{
		{code: "um", symbol: "µm", dim: dimLength, factor: exact("0.000001"),
			aliases: []string{"\u03bcm", "micron", "microns", "micrometre", "micrometer"}},
		{code: "mm", symbol: "mm", dim: dimLength, factor: exact("0.001"),
			aliases: []string{"MM", "millimetre", "millimetres", "millimeter", "millimeters"}},
		{code: "cm", symbol: "cm", dim: dimLength, factor: exact("0.01"),
			aliases: []string{"centimetre", "centimetres", "centimeter", "centimeters"}},
		{code: "m", symbol: "m", dim: dimLength, factor: exact("1"),
			aliases: []string{"metre", "metres", "meter", "meters"}},
		{code: "km", symbol: "km", dim: dimLength, factor: exact("1000"),
			aliases: []string{"kilometre", "kilometres", "kilometer", "kilometers"}},
		{code: "[mil_i]", symbol: "mil", dim: dimLength, factor: exact("0.001", inch),
			aliases: []string{"mils", "thou"}},
		{code: "[in_i]", symbol: "in", dim: dimLength, factor: exact(inch),
			aliases: []string{"in.", "\"", "″", "”", "inch", "inches"}},
		{code: "[ft_i]", symbol: "ft", dim: dimLength, factor: exact("12", inch),
			aliases: []string{"ft.", "'", "′", "foot", "feet"}},
		{code: "[mi_i]", symbol: "mi", dim: dimLength, factor: exact("63360", inch),
			aliases: []string{"mile", "miles", "MI"}},

		{code: "mm2", symbol: "mm²", dim: dimArea, factor: exact("0.000001"), nonNegative: true,
			aliases: []string{"mm^2", "sq mm"}},

		{code: "mL", symbol: "mL", dim: dimVolume, factor: exact("0.000001"), nonNegative: true,
			aliases: []string{"ml", "ML", "millilitre", "millilitres", "milliliter", "milliliters"}},
		{code: "cm3", symbol: "cm³", dim: dimVolume, factor: exact("0.000001"), nonNegative: true,
			aliases: []string{"cm^3", "cc", "ccm", "ccs"}},
		{code: "L", symbol: "L", dim: dimVolume, factor: exact("0.001"), nonNegative: true,
			aliases: []string{"l", "ltr", "litre", "litres", "liter", "liters"}},
		{code: "[foz_us]", symbol: "fl oz", dim: dimVolume, factor: exact("231", inch, inch, inch, "/128"), nonNegative: true,
			aliases: []string{"fl. oz.", "fl.oz.", "fl.oz", "floz", "fl-oz", "oz fl", "US fl oz", "fluid ounce", "fluid ounces"}},
		{code: "[pt_us]", symbol: "pt", dim: dimVolume, factor: exact("231", inch, inch, inch, "/8"), nonNegative: true,
			aliases: []string{"pint", "pints", "US pt"}},
		{code: "[qt_us]", symbol: "qt", dim: dimVolume, factor: exact("231", inch, inch, inch, "/4"), nonNegative: true,
			aliases: []string{"qts", "quart", "quarts", "US qt"}},
		{code: "[gal_us]", symbol: "gal", dim: dimVolume, factor: exact("231", inch, inch, inch), nonNegative: true,
			aliases: []string{"gals", "gallon", "gallons", "US gal"}},
		{code: "[foz_br]", symbol: "imp fl oz", dim: dimVolume, factor: exact("0.001", gallon, "/160"), nonNegative: true,
			aliases: []string{"imp. fl. oz.", "imp floz", "UK fl oz", "imperial fluid ounce", "imperial fluid ounces"}},
		{code: "[gal_br]", symbol: "imp gal", dim: dimVolume, factor: exact("0.001", gallon), nonNegative: true,
			aliases: []string{"imp. gal.", "UK gal", "imperial gallon", "imperial gallons"}},

		{code: "deg", symbol: "°", dim: dimAngle, factor: exact(pi, "/180"),
			aliases: []string{"degs", "degree", "degrees", "º"}},
		{code: "rad", symbol: "rad", dim: dimAngle, factor: exact("1"),
			aliases: []string{"radian", "radians"}},
		{code: "circ", symbol: "turns", singular: "turn", dim: dimAngle, factor: exact("2", pi),
			aliases: []string{"turn", "rev", "revs", "revolution", "revolutions"}},
	}
}
