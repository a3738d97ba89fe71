package jobplan

import (
	"math"
	"slices"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/phrase"
	"github.com/snapgauge/snapgauge/service/workshop"
)

const (
	// referenceC is the temperature that a sheet's cold pressures are for, since
	// sheets do not name another (ISO 1).
	referenceC = 20
	// noticedKPa is a change of a tyre's pressure that is worth a sentence.
	noticedKPa = 2
)

// tyres works out the pressures to set at the workshop's temperature so that
// they are the sheet's at 20 °C, at the same altitude: a sheet's pressure is one
// above that of the air outside.
func (j *job) tyres() {
	if j.req.Ambient == nil {
		return
	}
	for _, s := range j.steps {
		if !isColdTyrePressure(s.c) {
			continue
		}
		if err := j.tyrePressure(s); err != nil {
			j.leftOut(s.GetDisplayName()+" at this temperature", err)
		}
	}
}

// isColdTyrePressure reports whether a characteristic is a pressure that is read
// with the tyres at the temperature of the air.
func isColdTyrePressure(c *pb.Characteristic) bool {
	f, ok := figureOf(c)
	return ok && c.GetMeasured() != nil && c.GetGroup() == pb.Group_GROUP_WHEELS_AND_TYRES &&
		f.Unit.Dimension() == kilopascal.Dimension() &&
		slices.Contains(c.GetReferenceConditions(), pb.Condition_CONDITION_TYRES_COLD)
}

func (j *job) tyrePressure(s *step) error {
	wanted, ok := s.figure.aim(kilopascal)
	if !ok {
		return nil // nothing is aimed at
	}
	ambient := j.req.Ambient
	c := j.calculation("tyre-pressure",
		phrase.Sentence("%s to set at the workshop's temperature, so that it is that of the sheet at %s",
			s.GetDisplayName(), said(j.req.Units, referenceC, celsius, resultDigits)),
		"Gay-Lussac's law, with the pressure of the air from ISO 2533")
	c.in("wanted", "pressure of the sheet", wanted, kilopascal)
	c.in("reference_temperature", "temperature it is for", referenceC, celsius)
	temperature := c.in("temperature", "temperature at the workshop", ambient.GetTemperatureC(), celsius)
	altitude := c.in("altitude", "altitude above the sea", ambient.GetAltitudeM(), metre)
	air, err := workshop.StandardAtmosphere(altitude)
	if err != nil {
		return err
	}
	set, err := workshop.TyrePressureAt(wanted, referenceC, air.PressureKPa, temperature, air.PressureKPa)
	if err != nil {
		return err
	}
	c.out("set", "pressure to set here", set, kilopascal)

	own, err := kilopascal.Convert(set, s.figure.Unit)
	if err != nil {
		return err
	}
	target, stopped := s.figure.within(phrase.Round(own, resultDigits))
	s.figure.target = target
	s.ComputedBy = c.Formula
	if stopped {
		c.beware(phrase.Sentence("The sheet allows no less than %s and no more than %s, whatever the temperature: set %s, and look again in other weather",
			s.figure.Value(j.req.Units, s.figure.lower), s.figure.Value(j.req.Units, s.figure.upper), s.figure.Value(j.req.Units, target)))
	}
	sea, err := workshop.StandardAtmosphere(0)
	if err != nil {
		return err
	}
	if down := air.PressureKPa - sea.PressureKPa; math.Abs(down) >= noticedKPa {
		c.out("change_at_sea_level", "how much more, or less, the gauge shows at sea level, no air let in", down, kilopascal)
		c.beware("Ridden at another altitude, set it again there.")
	}
	j.add(c)
	return nil
}
