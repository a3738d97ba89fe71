package jobplan

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/phrase"
	"github.com/snapgauge/snapgauge/service/quantity"
	"github.com/snapgauge/snapgauge/service/workshop"
)

// jetting works out the main jet for the air. It never changes a target: which
// jets a record may name is for the sheet to say.
func (j *job) jetting() {
	data := j.sheet.GetPlanning().GetCarburettor()
	if data == nil || j.req.Ambient == nil {
		return
	}
	const what = "The main jet for this air"
	jet, id := j.fittedFigure(data.GetMainJet(), statedJet)
	if !slices.Contains(data.GetAvailableJets(), jet) {
		j.leftOut(what, fmt.Errorf("the jet of the fitted parts, %s, is none of the series that the sheet gives", jetText(jet)))
		return
	}
	if err := j.mainJet(data, jet, id); err != nil {
		j.leftOut(what, err)
	}
}

func (j *job) mainJet(data *pb.CarburettorData, jet float64, id string) error {
	c := j.calculation("main-jet", "Main jet that keeps the mixture in this air.",
		"Bernoulli's equation at venturi and jet; density of moist air by CIPM-2007, pressure by ISO 2533")
	c.in("main_jet", "jet that is right in the reference air", jet, plain)
	numbering := workshop.JetByFlow
	if data.GetNumbering() == pb.JetNumbering_JET_NUMBERING_DIAMETER {
		numbering = workshop.JetByDiameter
	}
	c.inText("numbering", "what its number counts", numbering.String())
	from, err := c.air("reference_", "the reference air's ", data.GetReference())
	if err != nil {
		return err
	}
	to, err := c.air("", "the air's ", j.req.Ambient)
	if err != nil {
		return err
	}
	number, err := workshop.MainJetNumber(jet, numbering, from, to)
	if err != nil {
		return err
	}
	c.out("relative_density", "density of the air over that of the reference air", to.Total/from.Total, plain)
	c.out("number", "jet worked out", number, plain)
	fit, err := workshop.JetForNumber(number, data.GetAvailableJets())
	if err != nil {
		return fmt.Errorf("it would take %s, and the largest that can be had is %s",
			quantity.Format(number, plain, resultDigits), jetText(slices.Max(data.GetAvailableJets())))
	}
	c.out("jet", "nearest that can be had and is not leaner", fit, plain)

	switch {
	case fit == jet:
		c.beware("The jet stays.")
	case fit < jet:
		c.beware("Ridden in denser air, lower or colder, that jet is too lean and can seize the engine: change it back first.")
	}
	if accepted := j.fitted[id].GetChoice().GetAccepted(); fit != jet && id != "" {
		if !slices.ContainsFunc(accepted, func(a string) bool { v, ok := jetNumber(a); return ok && v == fit }) {
			c.beware(phrase.Sentence("The sheet accepts %s only: a record with another jet is not accepted by it", phrase.Any(accepted)))
		}
	}
	c.beware("This is the least correction: go by the colour of the plug.")
	j.add(c)
	return nil
}

// air adds the state of air to the inputs and returns its density.
func (c calculation) air(prefix, whose string, a *pb.Ambient) (workshop.RelativeDensity, error) {
	return workshop.RelativeAirDensity(
		c.in(prefix+"altitude", whose+"altitude above the sea", a.GetAltitudeM(), metre),
		c.in(prefix+"temperature", whose+"temperature", a.GetTemperatureC(), celsius),
		c.in(prefix+"humidity", whose+"relative humidity", a.GetHumidityPercent(), percent),
	)
}

// statedJet reads the number of the one jet that a characteristic accepts.
func statedJet(c *pb.Characteristic) (float64, bool) {
	accepted := c.GetChoice().GetAccepted()
	if len(accepted) != 1 || c.GetGroup() != pb.Group_GROUP_IDLE_AND_MIXTURE {
		return 0, false
	}
	return jetNumber(accepted[0])
}

func jetNumber(text string) (float64, bool) {
	v, err := strconv.ParseFloat(strings.TrimSpace(text), 64)
	return v, err == nil && v > 0 && !math.IsInf(v, 0)
}

func jetText(jet float64) string { return quantity.Format(jet, plain, inputDigits) }
