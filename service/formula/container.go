package formula

import (
	"github.com/snapgauge/snapgauge/service/workshop"
)

const (
	planeCut    = "closed form: volume of the container below a level plane"
	fillCaution = "The inside is meant, and the liquid as one body at rest: take off what a tube or baffle displaces, and the volume in the neck is not counted. The sheet's stated fill governs."
	fuelCaution = "Fuel expands by about a hundredth for each 10 K: leave room for it, and wipe up what runs out before starting."
)

var container = []Formula{
	{
		name: "container-volume", topic: "container",
		description: "How much a tank or case holds when it is completely full.",
		source:      closedForm,
		inputs:      inContainer(),
		results:     []result{{name: "volume", unit: "mL", what: "Volume when completely full"}},
		work: withContainer(func(_ *arguments, c *workshop.Container) (outputs, error) {
			return outputs{number(c.Volume())}, nil
		}),
	},
	{
		name: "level-for-volume", topic: "container",
		description: "How high liquid stands in a leaning tank for a volume.",
		source:      planeCut, caution: fillCaution,
		inputs:  inContainer([]input{volumeInput}, attitudeInputs),
		results: []result{{name: "level", unit: "mm", what: "Height of the surface over the origin, straight up as the machine stands"}},
		work: withContainer(func(a *arguments, c *workshop.Container) (outputs, error) {
			return one(c.LevelFor(a.num("volume"), attitudeOf(a)))
		}),
	},
	{
		name: "volume-below-level", topic: "container",
		description: "How much a leaning tank holds below a level.",
		source:      planeCut, caution: fillCaution,
		inputs: inContainer([]input{
			{name: "level", unit: "mm", param: "levelMM", what: "Height of the surface over the origin, straight up as the machine stands"},
		}, attitudeInputs),
		results: []result{{name: "volume", unit: "mL", what: "Volume below the level"}},
		work: withContainer(func(a *arguments, c *workshop.Container) (outputs, error) {
			return one(c.VolumeBelow(a.num("level"), attitudeOf(a)))
		}),
	},
	{
		name: "depth-at-point", topic: "container",
		description: "How deep a point of a leaning tank, such as a pick-up or sensor, is under the surface.",
		source:      planeCut, caution: fillCaution,
		inputs: inContainer([]input{volumeInput,
			{name: "point", read: readPoint, param: "point", what: "The point, x,y,z"},
		}, attitudeInputs),
		results: []result{
			{name: "depth", unit: "mm", what: "How far the surface is above the point; negative when it is dry"},
			{name: "covered", what: "Whether liquid covers the point"},
		},
		work: withContainer(func(a *arguments, c *workshop.Container) (outputs, error) {
			depth, err := c.DepthAt(value[workshop.Point](a, "point"), a.num("volume"), attitudeOf(a))
			return outputs{number(depth), yes(depth > 0)}, err
		}),
	},
	{
		name: "freeboard", topic: "container",
		description: "How far the surface in a leaning tank is below the lowest point of the filler neck's lip.",
		source:      planeCut, caution: fillCaution,
		inputs: inContainer([]input{volumeInput}, neckInputs, attitudeInputs),
		results: []result{
			{name: "freeboard", unit: "mm", what: "Height of the lip over the surface; 0 or less means that liquid runs out"},
			{name: "runs_out", what: "Whether liquid runs out at the open neck"},
		},
		work: withContainer(func(a *arguments, c *workshop.Container) (outputs, error) {
			free, err := c.Freeboard(neckOf(a), a.num("volume"), attitudeOf(a))
			return outputs{number(free), yes(free <= 0)}, err
		}),
	},
	{
		name: "flood-volume", topic: "container",
		description: "At what volume a leaning tank begins to run out at its filler neck.",
		source:      planeCut, caution: fillCaution,
		inputs:  inContainer(neckInputs, attitudeInputs),
		results: []result{{name: "volume", unit: "mL", what: "Volume at which the surface reaches the lip"}},
		work: withContainer(func(a *arguments, c *workshop.Container) (outputs, error) {
			return one(c.FloodVolume(neckOf(a), attitudeOf(a)))
		}),
	},
	{
		name: "tilt-safe-fill", topic: "container",
		description: "The most that may be filled so that nothing runs out in any way the machine stands.",
		source:      planeCut, caution: fillCaution + " " + fuelCaution,
		inputs: inContainer(neckInputs, []input{
			{name: "attitudes", read: readAttitudes, fallback: "0,0", param: "LeanDeg PitchDeg attitudes",
				what: "Ways of standing, each lean,pitch in degrees and joined by spaces, such as \"0,0 12,0\" for upright and on a stand at 12°"},
			{name: "margin_height", unit: "mm", fallback: "0 mm", param: "margin.MM", what: "How far the surface is to stay below the lip"},
			{name: "margin_volume", unit: "mL", fallback: "0 mL", param: "margin.ML", what: "How much to stay short of that"},
		}),
		results: []result{
			{name: "volume", unit: "mL", form: atMost, what: "Largest safe fill"},
			{name: "governing", what: "The way of standing that limits it"},
		},
		work: withContainer(func(a *arguments, c *workshop.Container) (outputs, error) {
			attitudes := value[[]workshop.Attitude](a, "attitudes")
			safe, err := c.LargestSafeFill(neckOf(a), attitudes, workshop.Margin{MM: a.num("margin_height"), ML: a.num("margin_volume")})
			if err != nil {
				return nil, err
			}
			return outputs{number(safe.VolumeML), words(sayAttitude(attitudes[safe.Governing]))}, nil
		}),
	},
	{
		name: "usable-above-pickup", topic: "container",
		description: "How much of a fill can be drawn before the pick-up takes air.",
		source:      planeCut, caution: "A tall pick-up starves at a low fill: start on reserve.",
		inputs:  inContainer([]input{volumeInput, pickupInput}, attitudeInputs),
		results: []result{{name: "usable", unit: "mL", what: "Volume above the pick-up"}},
		work: withContainer(func(a *arguments, c *workshop.Container) (outputs, error) {
			return one(c.UsableAbove(value[workshop.Point](a, "pickup"), a.num("volume"), attitudeOf(a)))
		}),
	},
	{
		name: "fill-for-usable", topic: "container",
		description: "How much to fill so that a wanted volume lies above the pick-up.",
		source:      planeCut, caution: fillCaution,
		inputs: inContainer([]input{
			{name: "usable", unit: "mL", param: "usableML", what: "Volume wanted above the pick-up"},
			pickupInput,
		}, attitudeInputs),
		results: []result{{name: "volume", unit: "mL", what: "Volume to fill"}},
		work: withContainer(func(a *arguments, c *workshop.Container) (outputs, error) {
			return one(c.FillForUsable(value[workshop.Point](a, "pickup"), a.num("usable"), attitudeOf(a)))
		}),
	},
	{
		name: "fuel-split", topic: "container",
		description: "How a fill divides between the main and the reserve pick-up.",
		source:      planeCut, caution: "A tall pick-up starves at a low fill: start on reserve.",
		inputs: inContainer([]input{volumeInput,
			{name: "main", read: readPoint, param: "main", what: "Mouth of the main pick-up, x,y,z"},
			{name: "reserve", read: readPoint, param: "reserve", what: "Mouth of the reserve pick-up, x,y,z; not higher than the main one"},
		}, attitudeInputs),
		results: []result{
			{name: "main", unit: "mL", what: "Drawn through the main pick-up before it takes air"},
			{name: "reserve", unit: "mL", what: "Then still drawn through the reserve"},
			{name: "unusable", unit: "mL", what: "Left behind"},
		},
		work: withContainer(func(a *arguments, c *workshop.Container) (outputs, error) {
			s, err := c.SplitFuel(value[workshop.Point](a, "main"), value[workshop.Point](a, "reserve"), a.num("volume"), attitudeOf(a))
			return outputs{number(s.MainML), number(s.ReserveML), number(s.UnusableML)}, err
		}),
	},
	{
		name: "cylinder-volume", topic: "container",
		description: "How much a round tank lying level on its side holds up to a level.",
		source:      "closed form of the circular segment",
		inputs: []input{
			{name: "diameter", unit: "mm", param: "diameterMM", what: "Inside diameter"},
			{name: "length", unit: "mm", param: "lengthMM", what: "Inside length"},
			{name: "level", unit: "mm", param: "levelMM", what: "Height of the surface over the tank's lowest point"},
		},
		results: []result{{name: "volume", unit: "mL", what: "Volume of liquid"}},
		work: func(a *arguments) (outputs, error) {
			return one(workshop.HorizontalCylinderVolume(a.num("diameter"), a.num("length"), a.num("level")))
		},
	},
	{
		name: "outline-area", topic: "container",
		description: "The area of a cross-section, or of a circle as the container formulas take it.",
		source:      "closed form (shoelace formula)",
		inputs: []input{
			{name: "outline", optional: true, read: readOutline, param: "outline", what: "Corners in order, each y,z; or give the diameter"},
			{name: "diameter", unit: "mm", optional: true, param: "diameterMM", what: "Diameter of a circle"},
		},
		results: []result{{name: "area", unit: "mm2", what: "Enclosed area"}},
		work:    outlineArea,
	},
}

// withContainer makes the container first.
func withContainer(work func(*arguments, *workshop.Container) (outputs, error)) func(*arguments) (outputs, error) {
	return func(a *arguments) (outputs, error) {
		c, err := containerOf(a)
		if err != nil {
			return nil, err
		}
		return work(a, c)
	}
}

func outlineArea(a *arguments) (outputs, error) {
	if err := a.exactlyOne("outline", "diameter"); err != nil {
		return nil, err
	}
	if a.has("outline") {
		return one(value[workshop.Polygon](a, "outline").Area())
	}
	circle, err := workshop.CircleOutline(a.num("diameter"), circleSides)
	if err != nil {
		return nil, err
	}
	area, err := circle.Area()
	return outputs{number(area)}, blame("diameter", err)
}
