package jobplan

import (
	"fmt"
	"strconv"
	"strings"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/phrase"
	"github.com/snapgauge/snapgauge/service/quantity"
	"github.com/snapgauge/snapgauge/service/workshop"
)

// premix works out the oil that goes into the fuel and, where oil is injected
// too, the ratio that the engine then runs on. It is worked out when the job has
// to do with fuel: before the first tank, and where the fuel is a step.
func (j *job) premix() {
	data := j.sheet.GetPlanning().GetPremix()
	if data == nil {
		return
	}
	ratio, ratioID := j.fittedFigure(data.GetRatio(), statedRatio)
	injects := data.GetInjectedRatio() > 0 && !j.injectionTakenOff(data)
	fuelID := data.GetFuelCharacteristic()
	fuelStep := j.byID[fuelID]
	ratioStep := j.byID[ratioID]
	if j.phase != pb.Phase_PHASE_PRE_DELIVERY && (injects || fuelStep == nil && ratioStep == nil) {
		return
	}
	const what = "The oil in the fuel"
	var f figure
	var ok bool
	if fuelStep != nil {
		f, ok = fuelStep.figure, true
	} else {
		f, ok = figureOf(j.fitted[fuelID])
	}
	fuelML, aimed := f.aim(millilitre)
	if !ok || !aimed {
		j.leftOut(what, fmt.Errorf("the sheet aims at no fill of %s", fuelID))
		return
	}
	description := "Oil to mix into the fuel of a nominal fill"
	if injects {
		description = "Oil to mix into the fuel of the first tank"
	}
	c := j.calculation("premix-dose", description+".", "Closed form: fuel over ratio, by volume")
	c.in("fuel", "fuel that is mixed", fuelML, millilitre)
	c.inRatio("ratio", "parts of fuel to one of oil", ratio)
	doseML, err := workshop.PremixDose(fuelML, ratio)
	if err != nil {
		j.leftOut(what, err)
		return
	}
	c.out("oil", phrase.LowerFirst(data.GetOil()), doseML, millilitre)
	j.add(c)

	mixed := ratioStep
	if mixed == nil {
		mixed = fuelStep
	}
	if mixed != nil {
		mixed.more = fmt.Sprintf(", that is %s of oil in %s of fuel",
			said(j.req.Units, doseML, millilitre, resultDigits), said(j.req.Units, fuelML, millilitre, resultDigits))
		mixed.ComputedBy = c.Formula
		fluids := []mixture{{data.GetOil(), doseML}}
		if fuelStep == nil {
			fluids = append(fluids, mixture{j.fitted[fuelID].GetCapacity().GetFluid(), fuelML})
		}
		j.supplies.alsoFor(mixed.GetCharacteristic(), fluids...)
	}
	if injects {
		j.effectiveRatio(ratio, data.GetInjectedRatio())
	}
}

// effectiveRatio works out what an engine runs on that gets oil both ways.
func (j *job) effectiveRatio(mixed, injected float64) {
	c := j.calculation("effective-ratio", "What the engine runs on while oil is in the fuel and injected too.",
		"Closed form: the shares of oil add")
	c.inRatio("mixed", "parts of fuel to one of oil in the tank", mixed)
	c.inRatio("injected", "parts of fuel to one of oil from the pump", injected)
	ratio, err := workshop.EffectiveRatio(mixed, injected)
	if err != nil {
		j.leftOut("The ratio of both oils together", err)
		return
	}
	c.outRatio("effective", "parts of fuel to one of oil in all", ratio)
	c.beware("The engine smokes until that tank is used up: look at the idle, but set it only on the tank after it. " +
		"The oil in the fuel is there because nothing tells of a pump that does not deliver.")
	j.add(c)
}

// injectionTakenOff reports whether the fitted options have taken away the tank
// that held the oil for injection: a fill of the same oil.
func (j *job) injectionTakenOff(data *pb.PremixData) bool {
	for _, c := range j.sheet.GetCharacteristics() {
		if c.GetCapacity().GetFluid() == data.GetOil() {
			return j.fitted[c.GetId()] == nil
		}
	}
	return false
}

// statedRatio reads the pre-mix ratio that a characteristic states, parts of fuel
// to one of oil: one choice written "1:50" or "50:1", or a plain number.
func statedRatio(c *pb.Characteristic) (float64, bool) {
	if c.GetGroup() != pb.Group_GROUP_FLUIDS {
		return 0, false
	}
	if accepted := c.GetChoice().GetAccepted(); len(accepted) == 1 {
		a, b, ok := strings.Cut(accepted[0], ":")
		switch {
		case !ok:
			return 0, false
		case strings.TrimSpace(b) == "1":
			b = a
		case strings.TrimSpace(a) != "1":
			return 0, false
		}
		v, err := strconv.ParseFloat(strings.TrimSpace(b), 64)
		return v, err == nil && v > 0
	}
	if c.GetMeasured() == nil {
		return 0, false
	}
	f, ok := figureOf(c)
	if !ok || f.Unit != plain {
		return 0, false
	}
	return f.aim(quantity.MustUnit("1"))
}
