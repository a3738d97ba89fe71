package jobplan

import (
	"math"
	"slices"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/phrase"
	"github.com/snapgauge/snapgauge/service/workshop"
)

const (
	// referenceC is the temperature that the calculation compares with, since
	// sheets name none: a mild day. Common practice, no source.
	referenceC = 20
	// noticedKPa is a change of a tyre's pressure that is worth a sentence.
	noticedKPa = 2
)

// tyres works out what the sheet's pressures at 20 °C read at the temperature
// planned for, at the same altitude: a sheet's pressure is one above that of the
// air outside. It changes no target. A cold pressure is one at the temperature of
// the air the machine is ridden in, and the plan knows no other air than that one.
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
		phrase.Sentence("What %s reads here when it is that of the sheet at %s",
			s.GetDisplayName(), said(j.req.Units, referenceC, celsius, resultDigits)),
		"Gay-Lussac's law, with the pressure of the air from ISO 2533")
	c.in("wanted", "pressure of the sheet", wanted, kilopascal)
	c.in("reference_temperature", "temperature it is for", referenceC, celsius)
	temperature := c.in("temperature", "temperature planned for", ambient.GetTemperatureC(), celsius)
	altitude := c.in("altitude", "altitude above the sea", ambient.GetAltitudeM(), metre)
	air, err := workshop.StandardAtmosphere(altitude)
	if err != nil {
		return err
	}
	set, err := workshop.TyrePressureAt(wanted, referenceC, air.PressureKPa, temperature, air.PressureKPa)
	if err != nil {
		return err
	}
	c.out("reads", "what it reads here", set, kilopascal)

	c.beware("Set the pressure of the sheet with the tyres at the temperature they will be ridden at.")
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
