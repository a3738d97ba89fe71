package jobplan

import (
	"math"
	"regexp"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/phrase"
	"github.com/snapgauge/snapgauge/service/workshop"
)

var (
	engineGrade = regexp.MustCompile(`\bSAE (\d{1,2}W(?:-?\d{1,2})?|\d{2})\b`)
	// notForEngines marks fluids whose grades look like those of engine oils and
	// are not.
	notForEngines = regexp.MustCompile(`(?i)\b(?:gear|fork|suspension|damper|shock|J ?306|GL-?\d)\b`)
)

// engineOils looks whether the engine oils of the job suit the temperature of
// the air.
func (j *job) engineOils() {
	if j.req.Ambient == nil {
		return
	}
	for _, s := range j.steps {
		if grade, ok := gradeOf(s.c); ok {
			if err := j.engineOil(s, grade); err != nil {
				j.leftOut("Whether "+grade+" suits the temperature", err)
			}
		}
	}
}

// gradeOf finds the SAE J300 grade in the designation of an engine oil.
func gradeOf(c *pb.Characteristic) (string, bool) {
	fluid := c.GetCapacity().GetFluid()
	found := engineGrade.FindStringSubmatch(fluid)
	if found == nil || notForEngines.MatchString(fluid) {
		return "", false
	}
	if _, err := workshop.ParseViscosity(found[1]); err != nil {
		return "", false
	}
	return found[1], true
}

func (j *job) engineOil(s *step, grade string) error {
	viscosity, err := workshop.ParseViscosity(grade)
	if err != nil {
		return err
	}
	band, err := viscosity.Ambient()
	if err != nil {
		return err
	}
	c := j.calculation("viscosity-suits",
		phrase.Sentence("Whether the grade of %s suits the temperature of the air", phrase.LowerFirst(s.GetDisplayName())),
		"SAE J300 for the cold end; the warm end is common practice, no source")
	c.inText("grade", "SAE J300 grade of the oil", viscosity.String())
	air := c.in("temperature", "temperature of the air", j.req.Ambient.GetTemperatureC(), celsius)
	suits, err := workshop.ViscositySuits(grade, air, air)
	if err != nil {
		return err
	}
	c.out("coldest", "coldest air that it is used in", band.Lower, celsius)
	if !math.IsInf(band.Upper, 0) {
		c.out("warmest", "warmest air that it is used in", band.Upper, celsius)
	}
	said := phrase.MeasureOf(celsius, 100)
	if suits {
		c.outText("verdict", "whether it suits", "suits")
	} else {
		c.outText("verdict", "whether it suits", "does not suit")
		warning := phrase.Sentence("%s: SAE %s is used in air of %s, and the air is at %s. Ask the maker which grade to fill",
			s.GetDisplayName(), viscosity, said.Limits(j.req.Units, band.Lower, band.Upper), said.Value(j.req.Units, air))
		c.beware(warning)
		j.caution(warning)
	}
	j.add(c)
	return nil
}
