package formula

import "github.com/snapgauge/snapgauge/service/workshop"

const batteryCaution = "Measure after hours of rest without load or charge. The battery maker's figures govern."

var (
	chemistries = []workshop.BatteryChemistry{
		workshop.LeadAcidFlooded, workshop.LeadAcidAGM, workshop.LithiumIronPhosphate, workshop.LithiumNMC,
	}
	chemistryInput = input{name: "chemistry", choices: chemistryNames(), param: "chemistry", what: "Kind of cell"}
	cellsInput     = input{name: "cells", unit: "1", whole: true, param: "cells", what: "Cells in series: six make a 12 V lead-acid battery, four a 12 V lithium iron phosphate one"}
	batteryTemp    = input{name: "temperature", unit: "Cel", fallback: "25 Cel", param: "tempC", what: "Temperature of the battery itself"}
)

func chemistryNames() []string {
	names := make([]string, len(chemistries))
	for i, c := range chemistries {
		names[i] = c.String()
	}
	return names
}

func chemistryOf(a *arguments) workshop.BatteryChemistry {
	for _, c := range chemistries {
		if c.String() == a.choice("chemistry") {
			return c
		}
	}
	return 0 // which package workshop refuses
}

var battery = []Formula{
	{
		name: "state-of-charge", topic: "battery",
		description: "The charge of a battery from its resting voltage.",
		source:      "the battery industry's table (BCI) for flooded cells; the others, " + commonPractice,
		caution:     "A lithium iron phosphate battery lies within 0.1 V between 40 and 70 %: there the result is a guess. " + batteryCaution,
		inputs: []input{chemistryInput, cellsInput,
			{name: "voltage", unit: "V", param: "restingV", what: "Voltage of the whole battery at rest"},
			batteryTemp,
		},
		results: []result{{name: "charge", unit: "%", digits: 3, what: "State of charge"}},
		work: func(a *arguments) (outputs, error) {
			return one(workshop.StateOfCharge(chemistryOf(a), a.count("cells"), a.num("voltage"), a.num("temperature")))
		},
	},
	{
		name: "resting-voltage", topic: "battery",
		description: "The voltage that a battery shows at rest with a charge.",
		source:      "the battery industry's table (BCI) for flooded cells; the others, " + commonPractice,
		caution:     batteryCaution,
		inputs: []input{chemistryInput, cellsInput,
			{name: "charge", unit: "%", param: "chargePercent", what: "State of charge"},
			batteryTemp,
		},
		results: []result{{name: "voltage", unit: "V", what: "Voltage of the whole battery at rest"}},
		work: func(a *arguments) (outputs, error) {
			return one(workshop.RestingVoltage(chemistryOf(a), a.count("cells"), a.num("charge"), a.num("temperature")))
		},
	},
	{
		name: "charging-band", topic: "battery",
		description: "The voltages at the terminals in which a battery charges.",
		source:      commonPractice,
		caution:     "A lithium cell charged below freezing plates metal and can later burn; a lead-acid one above the band gasses. " + batteryCaution,
		inputs:      []input{chemistryInput, cellsInput, batteryTemp},
		results: []result{
			{name: "lowest", unit: "V", what: "Below it the battery does not fill"},
			{name: "highest", unit: "V", what: "Above it the battery gasses or is destroyed"},
			{name: "may_charge", what: "Whether it may be charged at this temperature at all"},
		},
		work: func(a *arguments) (outputs, error) {
			b, err := workshop.ChargingBand(chemistryOf(a), a.count("cells"), a.num("temperature"))
			return outputs{number(b.LowV), number(b.HighV), yes(b.MayCharge)}, err
		},
	},
}
