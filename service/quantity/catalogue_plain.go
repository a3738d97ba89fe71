package quantity

// The catalogues list the units in the order of [Units]. Factors stand as the
// definitions give them; registry_test.go names the source of each.

func plainCatalogue() []*definition {
	return []*definition{
		{code: "1", dim: dimNone, factor: exact("1"),
			aliases: []string{"ratio"}},
		{code: "%", symbol: "%", dim: dimNone, factor: exact("0.01"),
			aliases: []string{"percent", "pct"}},
		{code: "{link}", symbol: "links", singular: "link", dim: dimNone, factor: exact("1"), nonNegative: true,
			aliases: []string{"link"}},
		{code: "{tooth}", symbol: "teeth", singular: "tooth", dim: dimNone, factor: exact("1"), nonNegative: true,
			aliases: []string{"tooth"}},

		{code: "{click}", symbol: "clicks", singular: "click", dim: dimClicks, factor: exact("1"),
			aliases: []string{"click", "clk"}},

		{code: "ms", symbol: "ms", dim: dimTime, factor: exact("0.001"), nonNegative: true},
		{code: "s", symbol: "s", dim: dimTime, factor: exact("1"), nonNegative: true,
			aliases: []string{"sec", "secs", "second", "seconds"}},
		{code: "min", symbol: "min", dim: dimTime, factor: exact("60"), nonNegative: true,
			aliases: []string{"mins", "minute", "minutes", "MIN"}},
		{code: "h", symbol: "h", dim: dimTime, factor: exact("3600"), nonNegative: true,
			aliases: []string{"hr", "hrs", "hour", "hours"}},
		{code: "d", symbol: "d", dim: dimTime, factor: exact("86400"), nonNegative: true,
			aliases: []string{"day", "days"}},

		{code: "Cel", symbol: "°C", dim: dimTemperature, factor: exact("1"), offset: exact("273.15"),
			aliases: []string{"C", "℃", "degC", "deg C", "ºC", "celsius"}},
		{code: "[degF]", symbol: "°F", dim: dimTemperature, factor: exact("5", "/9"), offset: exact("459.67", "5", "/9"),
			aliases: []string{"F", "℉", "degF", "deg F", "ºF", "fahrenheit"}},
		{code: "K", symbol: "K", dim: dimTemperature, factor: exact("1"), nonNegative: true,
			aliases: []string{"kelvin"}},
	}
}
