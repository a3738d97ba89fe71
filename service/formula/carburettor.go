package formula

import (
	"slices"

	"github.com/snapgauge/snapgauge/service/workshop"
)

const jetCaution = "This is the least correction. Start from a jet that is right in the densest air the machine sees: coming down from a jet found at altitude it is lean and can seize a two-stroke. Read the plug."

var (
	jetInput = input{name: "jet", unit: "1", param: "number", what: "Number of the main jet that is right in the first air"}
	// jetNumberings are named as [workshop.JetNumbering] names them.
	numberingInput = input{name: "numbering", choices: []string{workshop.JetByFlow.String(), workshop.JetByDiameter.String()},
		param: "numbering", what: "What the number means: flow in mL/min under a standard head, or diameter in hundredths of a millimetre"}
	seriesInput = input{name: "series", unit: "1", repeated: true, param: "series", what: "Numbers of the jets that exist: 165, 168, 170"}
	jetResults  = []result{
		{name: "number", unit: "1", what: "Computed number, not rounded"},
		{name: "jet", unit: "1", what: "The jet of the series that is nearest on the rich, safe side"},
	}
)

// airInputs describe one air; [relativeDensityOf] reads them.
func airInputs(prefix, where string) []input {
	return []input{
		{name: prefix + "altitude", unit: "m", optional: true, what: "Altitude " + where + "; or give the pressure"},
		{name: prefix + "pressure", unit: "kPa", optional: true, what: "Ambient pressure " + where + ", the absolute one at the place"},
		{name: prefix + "temperature", unit: "Cel", what: "Air temperature " + where},
		{name: prefix + "humidity", unit: "%", fallback: "50 %", what: "Relative humidity " + where},
	}
}

var carburettor = []Formula{
	{
		name: "main-jet", topic: "carburettor",
		description: "The main jet that keeps the mixture when altitude and weather change.",
		source:      "Bernoulli's equation (closed form); densities by ISO 2533 and CIPM-2007", caution: jetCaution,
		inputs: slices.Concat([]input{jetInput, numberingInput},
			airInputs("from_", "where the jet is right"),
			airInputs("to_", "where it goes"),
			[]input{optionally(seriesInput)}),
		results: append([]result{
			{name: "from_density", unit: "1", what: "Relative density of the air where the jet is right"},
			{name: "to_density", unit: "1", what: "Relative density of the air where it goes"},
		}, jetResults...),
		work: mainJet,
	},
	{
		name: "main-jet-for-density", topic: "carburettor",
		description: "The main jet that keeps the mixture when the air's relative density changes.",
		source:      "Bernoulli's equation (closed form)", caution: jetCaution,
		inputs: []input{jetInput, numberingInput,
			{name: "from", unit: "1", param: "from.Total", what: "Relative density of the air where the jet is right"},
			{name: "from_dry", unit: "1", optional: true, param: "from.Dry", what: "The same without its vapour; left out, dry air"},
			{name: "to", unit: "1", param: "to.Total", what: "Relative density of the air where it goes"},
			{name: "to_dry", unit: "1", optional: true, param: "to.Dry", what: "The same without its vapour; left out, dry air"},
			optionally(seriesInput),
		},
		results: jetResults,
		work: func(a *arguments) (outputs, error) {
			density := func(name string) workshop.RelativeDensity {
				return workshop.RelativeDensity{Total: a.num(name), Dry: a.numOr(name+"_dry", a.num(name))}
			}
			return jetFor(a, density("from"), density("to"))
		},
	},
	{
		name: "jet-in-series", topic: "carburettor",
		description: "The jet of a series that is nearest to a computed number on the rich, safe side.",
		source:      commonPractice,
		caution:     "A lean main jet damages the engine; a rich one only costs power.",
		inputs: []input{
			{name: "number", unit: "1", param: "number", what: "Computed number"},
			seriesInput,
		},
		results: []result{{name: "jet", unit: "1", what: "Number of the jet"}},
		work: func(a *arguments) (outputs, error) {
			return one(workshop.JetForNumber(a.num("number"), a.nums("series")))
		},
	},
	{
		name: "idle-check-band", topic: "carburettor",
		description: "The idle speeds that are right, and whether a reading counts yet.",
		source:      commonPractice,
		caution:     "Idle is set warm, in steps of about half a turn, and not while the engine still runs on double oil.",
		inputs: []input{
			{name: "nominal", unit: "/min", param: "nominalRPM", what: "Idle speed aimed at"},
			{name: "tolerance", unit: "/min", param: "toleranceRPM", what: "What it may be off either way"},
			{name: "engine_temperature", unit: "Cel", param: "engineTempC", what: "Temperature of the engine now"},
			{name: "warm_from", unit: "Cel", param: "warmTempC", what: "Temperature from which the engine is warm"},
			{name: "double_oil", choices: yesOrNo, fallback: "no", what: "Whether an injected two-stroke still burns pre-mix from its first tank"},
		},
		results: []result{
			{name: "lowest", unit: "/min", what: "Lowest idle speed that is right"},
			{name: "highest", unit: "/min", what: "Highest idle speed that is right"},
			{name: "counts", what: "Whether a reading counts"},
			{name: "state", what: "Ready, or what stands in the way"},
		},
		work: func(a *arguments) (outputs, error) {
			b, err := workshop.IdleCheckBand(a.num("nominal"), a.num("tolerance"), a.num("engine_temperature"), a.num("warm_from"), a.yes("double_oil"))
			return outputs{number(b.LowRPM), number(b.HighRPM), yes(b.State == workshop.IdleReady), words(b.State.String())}, err
		},
	},
}

// optionally returns an input that may be left out.
func optionally(in input) input {
	in.optional = true
	return in
}

func mainJet(a *arguments) (outputs, error) {
	from, err := relativeDensityOf(a, "from_")
	if err != nil {
		return nil, ofAir("from_", err)
	}
	to, err := relativeDensityOf(a, "to_")
	if err != nil {
		return nil, ofAir("to_", err)
	}
	jets, err := jetFor(a, from, to)
	return append(outputs{number(from.Total), number(to.Total)}, jets...), err
}

// jetFor returns the computed number and, where the series is given, the jet.
func jetFor(a *arguments, from, to workshop.RelativeDensity) (outputs, error) {
	numbering := workshop.JetByFlow
	if a.choice("numbering") == workshop.JetByDiameter.String() {
		numbering = workshop.JetByDiameter
	}
	n, err := workshop.MainJetNumber(a.num("jet"), numbering, from, to)
	if err != nil || !a.has("series") {
		return outputs{number(n), absent()}, err
	}
	jet, err := workshop.JetForNumber(n, a.nums("series"))
	return outputs{number(n), number(jet)}, blame("series", err)
}

// airParams are the parameters of one air and the inputs that they are here.
var airParams = map[string]string{
	"altitudeM": "altitude", "pressureKPa": "pressure", "tempC": "temperature", "humidityPercent": "humidity",
}

// ofAir blames the input of one of two airs.
func ofAir(prefix string, err error) error {
	if name := airParams[paramOf(err)]; name != "" {
		return blame(prefix+name, err)
	}
	return err
}
