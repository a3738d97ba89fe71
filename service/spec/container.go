package spec

import (
	"errors"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/quantity"
	"github.com/snapgauge/snapgauge/service/workshop"
)

// ContainerOf gives the inside of a tank or case, and its filler neck, as the
// workshop's formulas take them. The error is that of an outline that encloses
// nothing, crosses itself or lies outside all bounds.
func ContainerOf(c *pb.Container) (*workshop.Container, workshop.Neck, error) {
	neck := workshop.Neck{Lip: PointOf(c.GetNeck()), RadiusMM: c.GetNeckRadiusMm()}
	sections := c.GetSections()
	switch {
	case len(sections) == 1 && c.GetLengthMm() > 0:
		box, err := workshop.NewPrism(outline(sections[0]), c.GetLengthMm())
		return box, neck, err
	case len(sections) == 1:
		return nil, neck, errors.New("a container with one section needs its length_mm")
	case c.GetLengthMm() != 0:
		return nil, neck, errors.New("length_mm goes with one section; several have their x_mm")
	}
	box, err := workshop.NewContainer(SectionsOf(c))
	return box, neck, err
}

// SectionsOf gives the cross-sections of a container as the workshop's formulas
// take them.
func SectionsOf(c *pb.Container) []workshop.Slice {
	slices := make([]workshop.Slice, len(c.GetSections()))
	for i, s := range c.GetSections() {
		slices[i] = workshop.Slice{XMM: s.GetXMm(), Outline: outline(s)}
	}
	return slices
}

func outline(s *pb.ContainerSection) workshop.Polygon {
	corners := make(workshop.Polygon, len(s.GetOutline()))
	for i, p := range s.GetOutline() {
		corners[i] = workshop.YZ{Y: p.GetYMm(), Z: p.GetZMm()}
	}
	return corners
}

// PointOf gives a point of a container as the workshop's formulas take it.
func PointOf(p *pb.ContainerPoint) workshop.Point {
	return workshop.Point{X: p.GetXMm(), Y: p.GetYMm(), Z: p.GetZMm()}
}

// SafeFill gives the largest fill of a characteristic, in the unit of its
// limits, that stays below the neck both upright and on the side stand: the
// stated one, else the one computed from the container. It is not ok where the
// sheet has neither. The error is [ContainerOf]'s; a linted sheet has none.
func SafeFill(ch *pb.Characteristic) (fill float64, ok bool, err error) {
	capacity := ch.GetCapacity()
	if capacity != nil && capacity.SafeFill != nil {
		return capacity.GetSafeFill(), true, nil
	}
	return computedSafeFill(ch)
}

func computedSafeFill(ch *pb.Characteristic) (fill float64, ok bool, err error) {
	c := ch.GetCapacity().GetContainer()
	if c == nil {
		return 0, false, nil
	}
	box, neck, err := ContainerOf(c)
	if err != nil {
		return 0, false, err
	}
	safe, err := box.LargestSafeFill(neck,
		[]workshop.Attitude{{}, {LeanDeg: ch.GetCapacity().GetStandLeanDeg()}},
		workshop.Margin{MM: c.GetMarginMm()})
	if err != nil {
		return 0, false, err
	}
	unit, err := quantity.ParseUnit(ch.GetLimits().GetUnit())
	if err != nil {
		return 0, false, err
	}
	fill, err = millilitre.Convert(safe.VolumeML, unit)
	return fill, err == nil, err
}

var millilitre = quantity.MustUnit("mL")
