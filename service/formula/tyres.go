package formula

import "github.com/snapgauge/snapgauge/service/workshop"

const tyreCaution = "The tyre maker's marking and the machine's papers govern."

var tyreInput = input{name: "tyre", read: readTyre, param: "marking", what: "Size marking as on the side wall: 110/80-18, 90/100-21 57M, 3.00-21"}

// circumferenceInputs say what a wheel rolls in one turn; [circumferenceOf]
// reads them.
var circumferenceInputs = []input{
	{name: "tyre", optional: true, read: readTyre, param: "marking", what: "Size marking of the tyre, for its design circumference; or give the circumference"},
	{name: "circumference", unit: "mm", optional: true, param: "circumferenceMM", what: "What the tyre rolls in one turn, measured: better where road speed matters"},
}

func circumferenceOf(a *arguments) (mm float64, err error) {
	if err := a.exactlyOne("circumference", "tyre"); err != nil {
		return 0, err
	}
	if a.has("tyre") {
		return value[workshop.Tyre](a, "tyre").CircumferenceMM(), nil
	}
	return a.num("circumference"), nil
}

// ambientInputs say what the air presses with; [ambientOf] reads them.
func ambientInputs(prefix, param, when string) []input {
	return []input{
		{name: prefix + "ambient", unit: "kPa", optional: true, param: param, what: "Ambient pressure " + when + ", the absolute one at the place; or give the altitude"},
		{name: prefix + "altitude", unit: "m", optional: true, what: "Altitude " + when + ", for the pressure of the standard atmosphere; sea level when both are left out"},
	}
}

func ambientOf(a *arguments, prefix string) (kPa float64, err error) {
	if a.has(prefix + "ambient") {
		return a.num(prefix + "ambient"), a.exactlyOne(prefix+"ambient", prefix+"altitude")
	}
	air, err := workshop.StandardAtmosphere(a.numOr(prefix+"altitude", 0))
	return air.PressureKPa, blame(prefix+"altitude", err)
}

var tyres = []Formula{
	{
		name: "tyre-size", topic: "tyres",
		description: "What a tyre's size marking says, and the tyre's design diameter and circumference.",
		source:      "UN Regulation 75, 2, 3 and 6.1.2; the section of inch markings from a tyre maker's published side-wall guide",
		caution:     "A real off-road tyre with tall knobs may be several per cent larger, and under load a tyre rolls some 3 to 5 % less. " + tyreCaution,
		inputs:      []input{tyreInput},
		results: []result{
			{name: "width", unit: "mm", what: "Nominal section width"},
			{name: "aspect", unit: "%", what: "Section height over section width"},
			{name: "aspect_assumed", what: "Whether the marking states no aspect ratio, so that a rule of thumb does"},
			{name: "rim", unit: "[in_i]", form: asStands, what: "Nominal rim diameter code"},
			{name: "construction", what: "Build of the carcass: radial, bias-belted or diagonal"},
			{name: "diameter", unit: "mm", what: "Design overall diameter"},
			{name: "circumference", unit: "mm", what: "Design circumference"},
			{name: "load_index", unit: "1", what: "Load-capacity index, where marked"},
			{name: "load_capacity", unit: "kg", what: "What the tyre may carry, where marked"},
			{name: "speed_symbol", what: "Speed category symbol, where marked"},
			{name: "speed", unit: "km/h", what: "Speed of that symbol, where marked"},
		},
		work: tyreSize,
	},
	{
		name: "load-capacity", topic: "tyres",
		description: "What one tyre may carry by its load-capacity index.",
		source:      "UN Regulation 75, Annex 4", caution: tyreCaution,
		inputs:  []input{{name: "load_index", unit: "1", whole: true, param: "loadIndex", what: "Load-capacity index, 0 to 120"}},
		results: []result{{name: "load", unit: "kg", what: "Mass that one tyre may carry"}},
		work: func(a *arguments) (outputs, error) {
			return one(workshop.LoadCapacityKg(a.count("load_index")))
		},
	},
	{
		name: "speed-category", topic: "tyres",
		description: "The speed of a tyre's speed category symbol.",
		source:      "UN Regulation 75, 2, for B, C and F to W; the rest, from memory, from ISO 4000-1", caution: tyreCaution,
		inputs:  []input{{name: "symbol", read: plainText, param: "symbol", what: "Speed category symbol, A1 to Y"}},
		results: []result{{name: "speed", unit: "km/h", what: "Speed of the symbol"}},
		work: func(a *arguments) (outputs, error) {
			return one(workshop.SpeedCategoryKMH(value[string](a, "symbol")))
		},
	},
	{
		name: "tyre-service", topic: "tyres",
		description: "Whether a tyre's service description is enough for the load on its axle and the machine's top speed.",
		source:      "UN Regulation 75, 2 (load-capacity index, speed category symbol)", caution: tyreCaution,
		inputs: []input{
			{name: "tyre", optional: true, read: readTyre, param: "marking", what: "Size marking with its service description, such as 140/80B18 65M; or give index and symbol"},
			{name: "load_index", unit: "1", whole: true, optional: true, param: "loadIndex", what: "Load-capacity index"},
			{name: "speed_symbol", optional: true, read: plainText, param: "speedSymbol", what: "Speed category symbol"},
			{name: "axle_load", unit: "kg", param: "axleLoadKg", what: "Load on the axle's one tyre, with rider, passenger and luggage"},
			{name: "top_speed", unit: "km/h", param: "topSpeedKMH", what: "Top speed of the machine"},
		},
		results: []result{
			{name: "adequate", what: "Whether it is enough for both"},
			{name: "load_margin", unit: "kg", what: "Load capacity less the load; negative falls short"},
			{name: "speed_margin", unit: "km/h", what: "Speed of the symbol less top speed; negative falls short"},
		},
		work: tyreService,
	},
	{
		name: "tyre-pressure", topic: "tyres",
		description: "What pressure a tyre shows at another temperature and altitude than it was set at.",
		source:      "Gay-Lussac's law (closed form); US Standard Atmosphere 1976 for altitudes",
		caution:     "A tyre gives a little, so the real change is somewhat smaller. Exchange the two states for what to set here so that it is right there.",
		inputs: append(append([]input{
			{name: "set_pressure", unit: "kPa", param: "setGaugeKPa", what: "Gauge pressure as set"},
			{name: "set_temperature", unit: "Cel", param: "setTempC", what: "Temperature of the tyre when set"},
			{name: "temperature", unit: "Cel", param: "tempC", what: "Temperature of the tyre then"},
		}, ambientInputs("set_", "setAmbientKPa", "when set")...), ambientInputs("", "ambientKPa", "then")...),
		results: []result{{name: "pressure", unit: "kPa", what: "Gauge pressure then"}},
		work:    tyrePressure,
	},
}

func tyreSize(a *arguments) (outputs, error) {
	t := value[workshop.Tyre](a, "tyre")
	construction := "diagonal"
	switch t.Construction {
	case workshop.TyreRadial:
		construction = "radial"
	case workshop.TyreBiasBelted:
		construction = "bias-belted"
	}
	index, load, symbol, speed := absent(), absent(), absent(), absent()
	if t.SpeedSymbol != "" {
		kg, err := workshop.LoadCapacityKg(t.LoadIndex)
		if err != nil {
			return nil, blame("tyre", err)
		}
		kmh, err := workshop.SpeedCategoryKMH(t.SpeedSymbol)
		if err != nil {
			return nil, blame("tyre", err)
		}
		index, load, symbol, speed = number(float64(t.LoadIndex)), number(kg), words(t.SpeedSymbol), number(kmh)
	}
	return outputs{
		number(t.WidthMM), number(t.AspectPercent), yes(t.AspectAssumed), number(t.RimCode), words(construction),
		number(t.DiameterMM()), number(t.CircumferenceMM()), index, load, symbol, speed,
	}, nil
}

func tyreService(a *arguments) (outputs, error) {
	if err := a.exactlyOne("tyre", "load_index"); err != nil {
		return nil, err
	}
	var index int
	var symbol string
	if a.has("tyre") {
		t := value[workshop.Tyre](a, "tyre")
		if t.SpeedSymbol == "" {
			return nil, refuse("tyre", "has no service description, such as the 65M in 140/80B18 65M")
		}
		if a.has("speed_symbol") {
			return nil, refuse("speed_symbol", "says the same as tyre; leave out one of the two")
		}
		index, symbol = t.LoadIndex, t.SpeedSymbol
	} else {
		if err := a.exactlyOne("speed_symbol"); err != nil {
			return nil, err
		}
		index, symbol = a.count("load_index"), value[string](a, "speed_symbol")
	}
	s, err := workshop.CheckTyreService(index, symbol, a.num("axle_load"), a.num("top_speed"))
	return outputs{yes(s.Adequate), number(s.LoadMarginKg), number(s.SpeedMarginKMH)}, err
}

func tyrePressure(a *arguments) (outputs, error) {
	setAmbient, err := ambientOf(a, "set_")
	if err != nil {
		return nil, err
	}
	ambient, err := ambientOf(a, "")
	if err != nil {
		return nil, err
	}
	return one(workshop.TyrePressureAt(a.num("set_pressure"), a.num("set_temperature"), setAmbient, a.num("temperature"), ambient))
}
