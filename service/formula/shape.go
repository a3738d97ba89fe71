package formula

import (
	"errors"
	"slices"
	"strings"

	"github.com/snapgauge/snapgauge/service/workshop"
)

// Shapes of a container that a person can type.
const (
	box      = "box"
	cylinder = "cylinder"
	outline  = "outline"
	sections = "sections"
)

// circleSides is how many sides stand for a circle: levels are then off by less
// than a thirty-thousandth of the diameter.
const circleSides = 360

// shapeInputs are the inputs that describe a container; [containerOf] makes it.
var shapeInputs = []input{
	{name: "shape", optional: true, choices: []string{box, cylinder, outline, sections},
		what: "Shape of the inside: a box centred on y = 0 and standing on z = 0; a cylinder lying along the machine, centred on y = 0 and resting on z = 0; an outline that is the same all along; or sections. Left out, it follows from the dimensions given"},
	{name: "length", unit: "mm", optional: true, param: "lengthMM",
		what: "Length along the machine of a box, a cylinder or an outline, which reaches from x = 0 forwards"},
	{name: "width", unit: "mm", optional: true, what: "Width of a box, across the machine"},
	{name: "height", unit: "mm", optional: true, what: "Height of a box"},
	{name: "diameter", unit: "mm", optional: true, param: "diameterMM", what: "Diameter of a cylinder"},
	{name: "outline", optional: true, read: readOutline,
		what: "Corners of the cross-section in order, each y,z: \"-100,0 100,0 100,150 -100,150 mm\""},
	{name: "sections", optional: true, read: readSections,
		what: "Cross-sections from the rear forwards, each its place x, a colon and its corners, joined by semicolons: \"0: 0,0 100,0 100,100; 300: 0,0 50,0 50,50 mm\""},
}

var volumeInput = input{name: "volume", unit: "mL", param: "volumeML", what: "Volume of liquid in it"}

// attitudeInputs say how the machine stands; [attitudeOf] reads them.
var attitudeInputs = []input{
	{name: "lean", unit: "deg", fallback: "0 deg", param: "LeanDeg",
		what: "Lean to the left, onto the usual side stand; negative to the right"},
	{name: "pitch", unit: "deg", fallback: "0 deg", param: "PitchDeg",
		what: "Angle of the machine's long axis, positive with the front up"},
}

// neckInputs describe the filler neck; [neckOf] reads them.
var neckInputs = []input{
	{name: "neck", read: readPoint, param: "Lip",
		what: "Middle of the filler neck's lip, x,y,z; for a slanted neck the lowest point of its lip"},
	{name: "neck_radius", unit: "mm", fallback: "0 mm", param: "RadiusMM", what: "Radius of the lip; 0 for a slanted neck"},
}

var pickupInput = input{name: "pickup", read: readPoint, param: "pickup", what: "Mouth of the pick-up, x,y,z"}

// inContainer returns the inputs of a formula about a container.
func inContainer(more ...[]input) []input {
	return slices.Concat(append([][]input{shapeInputs}, more...)...)
}

func attitudeOf(a *arguments) workshop.Attitude {
	return workshop.Attitude{LeanDeg: a.num("lean"), PitchDeg: a.num("pitch")}
}

func neckOf(a *arguments) workshop.Neck {
	return workshop.Neck{Lip: value[workshop.Point](a, "neck"), RadiusMM: a.num("neck_radius")}
}

// containerOf makes the container that the inputs describe. Dimensions of
// another shape than the one meant are refused.
func containerOf(a *arguments) (*workshop.Container, error) {
	shape, err := shapeOf(a)
	if err != nil {
		return nil, err
	}
	if shape == sections {
		c, err := workshop.NewContainer(value[[]workshop.Slice](a, "sections"))
		return c, blame("sections", err)
	}
	profile, widest, err := profileOf(a, shape)
	if err != nil {
		return nil, err
	}
	c, err := workshop.NewPrism(profile, a.num("length"))
	var bad *workshop.InputError
	if errors.As(err, &bad) && strings.HasPrefix(bad.Param, "outline") {
		return nil, blame(widest, err)
	}
	return c, blame("length", err)
}

// dimensionsOf are the inputs that each shape takes, all of them.
var dimensionsOf = map[string][]string{
	box:      {"length", "width", "height"},
	cylinder: {"length", "diameter"},
	outline:  {"length", "outline"},
	sections: {"sections"},
}

// shapeOf returns the shape that is stated or follows from the dimensions, once
// they are those of that shape.
func shapeOf(a *arguments) (string, error) {
	shape := box
	switch {
	case a.has("shape"):
		shape = a.choice("shape")
	case a.has("sections"):
		shape = sections
	case a.has("outline"):
		shape = outline
	case a.has("diameter"):
		shape = cylinder
	}
	var bad faults
	for i := range shapeInputs {
		name := shapeInputs[i].name
		needed := slices.Contains(dimensionsOf[shape], name)
		switch {
		case name == "shape":
		case needed && !a.has(name):
			bad.add(name, "is missing; a container of shape %s takes %s", shape, strings.Join(dimensionsOf[shape], ", "))
		case !needed && a.has(name):
			bad.add(name, "is no dimension of the shape %s, which takes %s", shape, strings.Join(dimensionsOf[shape], ", "))
		}
	}
	if len(bad) > 0 {
		return "", &InputErrors{Formula: a.formula.name, Errors: bad}
	}
	return shape, nil
}

// profileOf returns the cross-section of a container that is the same all along,
// and the input to blame for one that is impossible.
func profileOf(a *arguments, shape string) (profile workshop.Polygon, widest string, err error) {
	switch shape {
	case outline:
		return value[workshop.Polygon](a, "outline"), "outline", nil
	case cylinder:
		d := a.num("diameter")
		if d > maxCoordinateMM {
			return nil, "", refuse("diameter", "is beyond %g mm", maxCoordinateMM)
		}
		circle, err := workshop.CircleOutline(d, circleSides)
		if err != nil {
			return nil, "", err
		}
		for i := range circle {
			circle[i].Z += d / 2
		}
		return circle, "diameter", nil
	}
	for _, name := range []string{"width", "height"} {
		if v := a.num(name); v <= 0 || v > maxCoordinateMM {
			return nil, "", refuse(name, "is %s, want a length above 0 and at most %g mm", inUnit(a.formula.find(name), v, millimetre), maxCoordinateMM)
		}
	}
	half, height := a.num("width")/2, a.num("height")
	return workshop.Polygon{{Y: -half}, {Y: half}, {Y: half, Z: height}, {Y: -half, Z: height}}, "width", nil
}
