package jobplan

import (
	"github.com/snapgauge/snapgauge/service/phrase"
	"github.com/snapgauge/snapgauge/service/spec"
	"github.com/snapgauge/snapgauge/service/workshop"
)

// safeFills works out, for each fill of the job whose tank the sheet describes,
// how much stays off the neck when the machine leans, and what of the fill the
// pick-ups reach. It changes no target: a sheet that aims at more than is safe is
// refused before it becomes a revision.
func (j *job) safeFills() {
	for _, s := range j.steps {
		if s.c.GetCapacity().GetContainer() != nil {
			j.safeFill(s)
		}
	}
}

func (j *job) safeFill(s *step) {
	capacity := s.c.GetCapacity()
	geometry := capacity.GetContainer()
	what := "The safe fill of " + phrase.LowerFirst(s.GetDisplayName())
	tank, neck, err := spec.ContainerOf(geometry)
	if err != nil {
		j.leftOut(what, err)
		return
	}
	c := j.calculation("tilt-safe-fill",
		phrase.Sentence("How much of %s stays below the neck by the margin, upright and leaning on the side stand", phrase.LowerFirst(capacity.GetFluid())),
		"Closed form: volume under a level surface in the tank of the sheet")
	lean := c.in("stand_lean", "lean on the side stand", capacity.GetStandLeanDeg(), degree)
	margin := c.in("margin", "how far below the lip the liquid stays", geometry.GetMarginMm(), millimetre)
	upright, leaning := workshop.Attitude{}, workshop.Attitude{LeanDeg: lean}
	safe, err := tank.LargestSafeFill(neck, []workshop.Attitude{upright, leaning}, workshop.Margin{MM: margin})
	if err != nil {
		j.leftOut(what, err)
		return
	}
	brim, err := tank.FloodVolume(neck, upright)
	if err != nil {
		j.leftOut(what, err)
		return
	}
	spill, err := tank.FloodVolume(neck, leaning)
	if err != nil {
		j.leftOut(what, err)
		return
	}
	c.out("safe_fill", "largest fill that is safe upright and leaning", safe.VolumeML, millilitre)
	c.out("brim_upright", "fill that reaches the neck's lip upright", brim, millilitre)
	c.out("brim_leaning", "fill that reaches the neck's lip on the side stand", spill, millilitre)
	if aim, ok := s.figure.aim(millilitre); ok {
		if freeboard, err := tank.Freeboard(neck, aim, leaning); err == nil {
			c.in("fill", "fill aimed at", aim, millilitre)
			c.out("freeboard_leaning", "how far below the lip that fill stands on the side stand", freeboard, millimetre)
		}
		j.pickups(s, c, tank, aim)
	}
	j.add(c)
}

// pickups says what of a fill can be drawn off, upright.
func (j *job) pickups(s *step, c calculation, tank *workshop.Container, fillML float64) {
	geometry := s.c.GetCapacity().GetContainer()
	if geometry.GetPickup() == nil {
		return
	}
	main, upright := spec.PointOf(geometry.GetPickup()), workshop.Attitude{}
	if geometry.GetReservePickup() == nil {
		usable, err := tank.UsableAbove(main, fillML, upright)
		if err != nil {
			j.leftOut("What can be drawn of "+phrase.LowerFirst(s.GetDisplayName()), err)
			return
		}
		c.out("usable", "what of that fill can be drawn off", usable, millilitre)
		if usable == 0 {
			c.beware("That fill does not reach the pick-up.")
		}
		return
	}
	split, err := tank.SplitFuel(main, spec.PointOf(geometry.GetReservePickup()), fillML, upright)
	if err != nil {
		j.leftOut("What can be drawn of "+phrase.LowerFirst(s.GetDisplayName()), err)
		return
	}
	c.out("main", "what of that fill the main pick-up reaches", split.MainML, millilitre)
	c.out("reserve", "what the reserve pick-up then still reaches", split.ReserveML, millilitre)
	c.out("unusable", "what stays in the tank", split.UnusableML, millilitre)
	if split.MainML == 0 {
		c.beware("That fill does not reach the main pick-up: start on reserve.")
	}
}
