package formula

import "github.com/snapgauge/snapgauge/service/workshop"

const (
	glycolSource  = "ASHRAE Handbook, Fundamentals, freezing points of aqueous solutions of ethylene glycol (from memory)"
	glycolCaution = "The table is good to about 1.5 K: allow a margin. Antifreeze as sold contains inhibitors and water, or is propylene glycol: the table on its container governs."
	scaldCaution  = "Never open a hot cooling system: it boils over when the pressure goes."
	ifSteam       = "IAPWS R7-97 (IAPWS-IF97), region 4"
)

var (
	systemInput = input{name: "system", unit: "mL", param: "systemML", what: "Volume of the cooling system"}
	freezeInput = input{name: "freeze_point", unit: "Cel", param: "freezeC", what: "Temperature at which the first ice may form"}
)

var cooling = []Formula{
	{
		name: "coolant-freeze-point", topic: "cooling",
		description: "The temperature at which the first ice forms in a mixture of ethylene glycol and water.",
		source:      glycolSource, caution: glycolCaution,
		inputs:  []input{{name: "glycol", unit: "%", param: "glycolVolPct", what: "Ethylene glycol by volume"}},
		results: []result{{name: "freeze_point", unit: "Cel", digits: 3, what: "Temperature of the first ice"}},
		work: func(a *arguments) (outputs, error) {
			return one(workshop.GlycolFreezePoint(a.num("glycol")))
		},
	},
	{
		name: "coolant-glycol", topic: "cooling",
		description: "How much ethylene glycol a coolant needs for a freezing point.",
		source:      glycolSource, caution: glycolCaution + " Corrosion protection may ask for more than the frost does.",
		inputs:  []input{freezeInput},
		results: []result{{name: "glycol", unit: "%", digits: 3, what: "Ethylene glycol by volume"}},
		work: func(a *arguments) (outputs, error) {
			return one(workshop.GlycolForFreezePoint(a.num("freeze_point")))
		},
	},
	{
		name: "coolant-mix", topic: "cooling",
		description: "The concentrate and water to fill an empty cooling system for a freezing point.",
		source:      glycolSource, caution: glycolCaution,
		inputs: []input{systemInput, freezeInput},
		results: []result{
			{name: "concentrate", unit: "mL", what: "Concentrate, taken as pure ethylene glycol"},
			{name: "water", unit: "mL", what: "Water"},
			{name: "glycol", unit: "%", digits: 3, what: "Ethylene glycol of the mixture by volume"},
		},
		work: func(a *arguments) (outputs, error) {
			m, err := workshop.MixCoolant(a.num("system"), a.num("freeze_point"))
			return outputs{number(m.ConcentrateML), number(m.WaterML), number(m.GlycolVolPct)}, err
		},
	},
	{
		name: "coolant-exchange", topic: "cooling",
		description: "How much coolant to drain and replace by concentrate to raise its share of glycol.",
		source:      closedForm, caution: glycolCaution + " " + scaldCaution,
		inputs: []input{systemInput,
			{name: "current", unit: "%", param: "currentVolPct", what: "Ethylene glycol by volume now"},
			{name: "target", unit: "%", param: "targetVolPct", what: "Ethylene glycol by volume wanted"},
		},
		results: []result{{name: "exchange", unit: "mL", what: "To drain, and to replace by pure concentrate"}},
		work: func(a *arguments) (outputs, error) {
			return one(workshop.CoolantExchange(a.num("system"), a.num("current"), a.num("target")))
		},
	},
	{
		name: "coolant-boiling-point", topic: "cooling",
		description: "The temperature at which a coolant boils under a radiator cap.",
		source:      "IAPWS-IF97 for water; Raoult's law", caution: scaldCaution + " Propylene glycol raises the boiling point less and is not covered.",
		inputs: []input{
			{name: "cap", unit: "kPa", param: "capKPa", what: "Pressure above ambient at which the cap opens; 0 for an open or leaking system"},
			{name: "ambient", unit: "kPa", fallback: "101.325 kPa", param: "ambientKPa", what: "Ambient pressure"},
			{name: "glycol", unit: "%", param: "glycolPercent", what: "Pure ethylene glycol by volume; a concentrate is about 95 % of it"},
		},
		results: []result{{name: "boiling_point", unit: "Cel", what: "Temperature at which it boils"}},
		work: func(a *arguments) (outputs, error) {
			boiling, err := workshop.CoolantBoilingPoint(a.num("cap"), a.num("ambient"), a.num("glycol"))
			return outputs{number(boiling)}, err
		},
	},
	{
		name: "fan-switch", topic: "cooling",
		description: "How a fan switch stands to the thermostat and to the coolant's boiling point.",
		source:      commonPractice,
		inputs: []input{
			{name: "thermostat", unit: "Cel", param: "thermostatC", what: "Temperature at which the thermostat opens"},
			{name: "fan_off", unit: "Cel", param: "fanOffC", what: "Temperature at which the fan switches off"},
			{name: "fan_on", unit: "Cel", param: "fanOnC", what: "Temperature at which the fan switches on"},
			{name: "boiling_point", unit: "Cel", param: "boilingC", what: "Temperature at which the coolant boils"},
			{name: "margin", unit: "K", span: true, fallback: "10 K", param: "marginK", what: "How far below boiling the fan must be on"},
		},
		results: []result{
			{name: "sane", what: "Whether none of the three is at fault"},
			{name: "above_thermostat", unit: "K", form: span, what: "From the thermostat's opening to the fan's switching off; below 0 the fan never stops"},
			{name: "hysteresis", unit: "K", form: span, what: "From switching on down to switching off; at 0 the fan chatters"},
			{name: "below_boiling", unit: "K", form: span, what: "From switching on to the boiling point, less the margin"},
		},
		work: func(a *arguments) (outputs, error) {
			f, err := workshop.CheckFanSwitch(a.num("thermostat"), a.num("fan_off"), a.num("fan_on"), a.num("boiling_point"), a.num("margin"))
			return outputs{yes(f.Sane), number(f.AboveThermostatK), number(f.HysteresisK), number(f.BelowBoilingK)}, err
		},
	},
	{
		name: "water-boiling-point", topic: "cooling",
		description: "The temperature at which water boils under a pressure.",
		source:      ifSteam + ", equation 31", caution: scaldCaution,
		inputs:  []input{{name: "pressure", unit: "kPa", param: "pressureKPa", what: "Absolute pressure: ambient plus what a cap adds"}},
		results: []result{{name: "boiling_point", unit: "Cel", what: "Temperature at which water boils"}},
		work: func(a *arguments) (outputs, error) {
			return one(workshop.WaterBoilingPoint(a.num("pressure")))
		},
	},
	{
		name: "water-vapour-pressure", topic: "cooling",
		description: "The pressure under which water boils at a temperature.",
		source:      ifSteam + ", equation 30", caution: scaldCaution,
		inputs:  []input{{name: "temperature", unit: "Cel", param: "tempC", what: "Temperature of the water"}},
		results: []result{{name: "pressure", unit: "kPa", what: "Absolute pressure"}},
		work: func(a *arguments) (outputs, error) {
			return one(workshop.WaterVapourPressure(a.num("temperature")))
		},
	},
}
