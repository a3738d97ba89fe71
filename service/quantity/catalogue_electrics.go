package quantity

func electricsCatalogue() []*definition {
	return []*definition{
		{code: "mV", symbol: "mV", dim: dimVoltage, factor: exact("0.001"),
			aliases: []string{"millivolt", "millivolts"}},
		{code: "V", symbol: "V", dim: dimVoltage, factor: exact("1"),
			aliases: []string{"volt", "volts"}},
		{code: "mA", symbol: "mA", dim: dimCurrent, factor: exact("0.001"),
			aliases: []string{"milliamp", "milliamps", "milliampere", "milliamperes"}},
		{code: "A", symbol: "A", dim: dimCurrent, factor: exact("1"),
			aliases: []string{"amp", "amps", "ampere", "amperes"}},
		{code: "Ohm", symbol: "Ω", dim: dimResistance, factor: exact("1"), nonNegative: true,
			aliases: []string{"\u2126", "ohms"}},
		{code: "A.h", symbol: "A·h", dim: dimCharge, factor: exact("3600"), nonNegative: true,
			aliases: []string{"Ah", "A h", "amp-hour", "amp-hours"}},
		{code: "W", symbol: "W", dim: dimPower, factor: exact("1"),
			aliases: []string{"watt", "watts"}},
		{code: "kW", symbol: "kW", dim: dimPower, factor: exact("1000"),
			aliases: []string{"kilowatt", "kilowatts"}},
		{code: "W.h", symbol: "W·h", dim: dimEnergy, factor: exact("3600"), nonNegative: true,
			aliases: []string{"Wh", "W h"}},
		{code: "kW.h", symbol: "kW·h", dim: dimEnergy, factor: exact("3600000"), nonNegative: true,
			aliases: []string{"kWh", "kW h"}},
	}
}
