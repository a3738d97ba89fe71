package workshop

import (
	"fmt"
	"math"
	"slices"
)

const mm3PerML = 1000

// Point is a place on the machine in millimetres: x forwards, y to the left, z
// up when it stands upright and level. The origin is the sheet's choice; levels
// are measured from it.
type Point struct{ X, Y, Z float64 }

// Attitude is how the machine stands. The zero value is upright and level.
type Attitude struct {
	// LeanDeg is the roll about the long axis, positive to the left (onto the
	// usual side stand), -90 to 90.
	LeanDeg float64
	// PitchDeg is the angle of the long axis above the horizontal, positive with
	// the front up, -90 to 90.
	PitchDeg float64
}

// up returns the direction against gravity in the machine's axes, so that
// up·point is the height of a point over the origin.
func (a Attitude) up() (Point, error) {
	if err := firstErr(inRange("LeanDeg", a.LeanDeg, -90, 90), inRange("PitchDeg", a.PitchDeg, -90, 90)); err != nil {
		return Point{}, err
	}
	sinLean, cosLean := math.Sincos(a.LeanDeg * math.Pi / 180)
	sinPitch, cosPitch := math.Sincos(a.PitchDeg * math.Pi / 180)
	return Point{X: sinPitch, Y: -sinLean * cosPitch, Z: cosLean * cosPitch}, nil
}

func (p Point) dot(q Point) float64 { return p.X*q.X + p.Y*q.Y + p.Z*q.Z }

func (p Point) check(param string) error {
	return firstErr(
		inRange(param+".X", p.X, -maxCoordinateMM, maxCoordinateMM),
		inRange(param+".Y", p.Y, -maxCoordinateMM, maxCoordinateMM),
		inRange(param+".Z", p.Z, -maxCoordinateMM, maxCoordinateMM),
	)
}

// Neck is a filler neck, whose lip is a circle that is level when the machine
// stands upright. Give a slanted neck as the lowest point of its lip, with
// radius 0.
type Neck struct {
	Lip      Point // the centre of the lip
	RadiusMM float64
}

// lowest returns the height over the origin of the lip's lowest point.
func (n Neck) lowest(up Point) (float64, error) {
	if err := firstErr(n.Lip.check("Lip"), inRange("RadiusMM", n.RadiusMM, 0, maxCoordinateMM)); err != nil {
		return 0, err
	}
	return up.dot(n.Lip) - n.RadiusMM*math.Hypot(up.X, up.Y), nil
}

// Slice is one cross-section of a container.
type Slice struct {
	XMM     float64
	Outline Polygon
}

// Container is a tank or case as cross-sections along the machine's long axis.
// Between neighbouring sections every corner runs straight to the corner of the
// same index. It is the inside that is meant; a displacer such as a frame tube
// through the tank must be taken off by the caller.
//
// The liquid is taken as one body at rest with one free surface, all parts
// connected and vented: baffles without holes, trapped air, capillarity and
// thermal expansion are not modelled. What is in the filler neck itself is not
// counted.
//
// Accuracy: with all sections alike, volumes are exact but for rounding
// (relative 1e-12). Otherwise they are exact without a free surface, and a
// Gauss-Legendre integral between the places where a corner enters the liquid
// with one: relative to the whole volume better than 1e-6. A level is solved until
// it is known to 1e-13 of the container's height or its volume agrees to 1e-13 of
// the whole.
//
// A Container does not change after it is made and is safe for concurrent use.
type Container struct {
	slices []Slice
	total  float64 // mm³
}

// NewContainer makes a container of two sections or more, given in increasing x,
// with the same number of corners each, in the same direction of rotation,
// corner i of one joined to corner i of the next. The sections are copied.
func NewContainer(sections []Slice) (*Container, error) {
	const most = 1000
	if len(sections) < 2 || len(sections) > most {
		return nil, badInput("sections", float64(len(sections)), fmt.Sprintf("2 to %d sections", most))
	}
	c := &Container{slices: make([]Slice, len(sections))}
	for i, s := range sections {
		name := fmt.Sprintf("sections[%d].XMM", i)
		if err := firstErr(inRange(name, s.XMM, -maxCoordinateMM, maxCoordinateMM), s.Outline.check()); err != nil {
			return nil, fmt.Errorf("section %d: %w", i, err)
		}
		if len(s.Outline) != len(sections[0].Outline) {
			return nil, badInput(fmt.Sprintf("sections[%d].Outline", i), float64(len(s.Outline)), fmt.Sprintf("%d corners, as the first section has", len(sections[0].Outline)))
		}
		c.slices[i] = Slice{XMM: s.XMM, Outline: slices.Clone(s.Outline)}
		if i == 0 {
			continue
		}
		if !(s.XMM > sections[i-1].XMM) {
			return nil, badInput(name, s.XMM, "more than the section before")
		}
		before := c.slices[i-1].Outline
		if (before.signedArea() > 0) != (s.Outline.signedArea() > 0) {
			return nil, badInput(fmt.Sprintf("sections[%d].Outline", i), s.Outline.signedArea(), "corners in the direction of rotation of the section before")
		}
		if err := between(before, s.Outline, 0.5).check(); err != nil {
			return nil, fmt.Errorf("half way from section %d to %d, corners joined by index: %w", i-1, i, err)
		}
		c.total += c.whole(i - 1)
	}
	return c, nil
}

// NewPrism makes a container of one cross-section from x = 0 to lengthMM.
func NewPrism(outline Polygon, lengthMM float64) (*Container, error) {
	if err := positive("lengthMM", lengthMM); err != nil {
		return nil, err
	}
	return NewContainer([]Slice{{XMM: 0, Outline: outline}, {XMM: lengthMM, Outline: outline}})
}

// between returns the section a share t of the way from p to q.
func between(p, q Polygon, t float64) Polygon {
	out := make(Polygon, len(p))
	for i := range p {
		out[i] = mix(p[i], q[i], t)
	}
	return out
}

// mix goes from p to q in a form that is exactly p where the two are equal.
func mix(p, q YZ, t float64) YZ {
	return YZ{Y: p.Y + (q.Y-p.Y)*t, Z: p.Z + (q.Z-p.Z)*t}
}

// whole returns the volume in mm³ between section i and the next. The area is
// quadratic in x, for which Simpson's rule is exact.
func (c *Container) whole(i int) float64 {
	p, q := c.slices[i], c.slices[i+1]
	sum := p.Outline.signedArea() + 4*between(p.Outline, q.Outline, 0.5).signedArea() + q.Outline.signedArea()
	return math.Abs(sum) / 6 * (q.XMM - p.XMM)
}

// Volume returns the volume in millilitres when completely full.
func (c *Container) Volume() float64 { return c.total / mm3PerML }

// VolumeBelow returns the volume in millilitres below a level surface at levelMM,
// measured straight up from the origin in this attitude. It is 0 below the
// container's lowest point and [Container.Volume] above its highest. The level
// must be finite.
func (c *Container) VolumeBelow(levelMM float64, at Attitude) (float64, error) {
	up, err := at.up()
	if err != nil {
		return 0, err
	}
	if err := finite("levelMM", levelMM); err != nil {
		return 0, err
	}
	return c.below(levelMM, up) / mm3PerML, nil
}

// gauss4 holds the four-point Gauss-Legendre rule on 0 to 1: exact to degree 7.
var gauss4 = [4]struct{ at, weight float64 }{
	{0.06943184420297371, 0.17392742256872692},
	{0.33000947820757187, 0.32607257743127307},
	{0.6699905217924281, 0.32607257743127307},
	{0.9305681557970262, 0.17392742256872692},
}

// below returns the volume in mm³ below the plane up·p = level.
//
// Within a piece between two sections the corners' heights are linear in x, so
// each crosses the level at most once. Between two crossings the same sides are
// cut and the wetted area is a smooth function of x: quadratic where the
// sections are alike, otherwise rational.
func (c *Container) below(level float64, up Point) float64 {
	var volume float64
	var cuts []float64
	for i := 0; i+1 < len(c.slices); i++ {
		p, q := c.slices[i], c.slices[i+1]
		cuts = append(cuts[:0], 0, 1)
		dry, wet := true, true
		for k := range p.Outline {
			h0 := height(p.XMM, p.Outline[k], up) - level
			h1 := height(q.XMM, q.Outline[k], up) - level
			dry = dry && h0 >= 0 && h1 >= 0
			wet = wet && h0 <= 0 && h1 <= 0
			if (h0 < 0) != (h1 < 0) && h0 != h1 {
				cuts = append(cuts, h0/(h0-h1))
			}
		}
		switch {
		case dry:
			continue
		case wet:
			volume += c.whole(i)
			continue
		}
		slices.Sort(cuts)
		length := q.XMM - p.XMM
		for k := 0; k+1 < len(cuts); k++ {
			from, to := cuts[k], cuts[k+1]
			if to-from < 1e-14 {
				continue
			}
			var area float64
			for _, g := range gauss4 {
				area += g.weight * wettedArea(p, q, from+(to-from)*g.at, level, up)
			}
			volume += area * (to - from) * length
		}
	}
	return min(max(volume, 0), c.total)
}

func height(x float64, c YZ, up Point) float64 { return up.X*x + up.Y*c.Y + up.Z*c.Z }

// wettedArea returns the area in mm² of the section a share t of the way from p
// to q that lies below the level. It clips the outline by the half-plane
// (Sutherland-Hodgman) and sums the shoelace formula on the way. For an outline
// that is not convex the clipped one may run along the surface twice, in
// opposite directions; the area is right all the same.
func wettedArea(p, q Slice, t, level float64, up Point) float64 {
	x := p.XMM + (q.XMM-p.XMM)*t
	n := len(p.Outline)

	var twice float64
	var first, last YZ
	started := false
	emit := func(v YZ) {
		if !started {
			first, last, started = v, v, true
			return
		}
		twice += (last.Y-first.Y)*(v.Z-first.Z) - (v.Y-first.Y)*(last.Z-first.Z)
		last = v
	}

	a := mix(p.Outline[n-1], q.Outline[n-1], t)
	ha := height(x, a, up) - level
	for k := range n {
		b := mix(p.Outline[k], q.Outline[k], t)
		hb := height(x, b, up) - level
		if (ha < 0) != (hb < 0) {
			emit(mix(a, b, ha/(ha-hb)))
		}
		if hb < 0 {
			emit(b)
		}
		a, ha = b, hb
	}
	return math.Abs(twice) / 2
}

// extent returns the heights of the lowest and highest corner.
func (c *Container) extent(up Point) (lowest, highest float64) {
	lowest, highest = math.Inf(1), math.Inf(-1)
	for _, s := range c.slices {
		for _, corner := range s.Outline {
			h := height(s.XMM, corner, up)
			lowest, highest = min(lowest, h), max(highest, h)
		}
	}
	return lowest, highest
}

// LevelFor returns the height in millimetres of the free surface, measured
// straight up from the origin in this attitude, when the container holds a
// volume. It is the inverse of [Container.VolumeBelow]. The volume must be 0 to
// [Container.Volume].
func (c *Container) LevelFor(volumeML float64, at Attitude) (float64, error) {
	up, err := at.up()
	if err != nil {
		return 0, err
	}
	if err := c.holds("volumeML", volumeML); err != nil {
		return 0, err
	}
	return c.level(volumeML*mm3PerML, up), nil
}

func (c *Container) holds(param string, volumeML float64) error {
	// A volume that was computed from this container may be off by rounding.
	if !(volumeML >= 0 && volumeML <= c.Volume()*(1+1e-12)) {
		return badInput(param, volumeML, fmt.Sprintf("0 to the container's %.6g ml", c.Volume()))
	}
	return nil
}

// level solves below(h) = volume by false position (Illinois), with a bisection
// in every third step, so that the bracket at least halves in three steps.
func (c *Container) level(volume float64, up Point) float64 {
	lo, hi := c.extent(up)
	if volume <= 0 {
		return lo
	}
	if volume >= c.total {
		return hi
	}
	width := (hi - lo) * solvedTo
	near := c.total * solvedTo
	flo, fhi := -volume, c.total-volume
	kept := 0 // which end the step before kept: -1 the lower, 1 the upper
	// 150 steps halve the bracket at least 50 times.
	for step := 0; step < 150 && hi-lo > width; step++ {
		mid := (lo + hi) / 2
		if step%3 != 2 {
			if m := lo - flo*(hi-lo)/(fhi-flo); m > lo && m < hi {
				mid = m
			}
		}
		f := c.below(mid, up) - volume
		switch {
		case math.Abs(f) <= near:
			return mid
		case f < 0:
			lo, flo = mid, f
			if kept == 1 {
				fhi /= 2
			}
			kept = 1
		default:
			hi, fhi = mid, f
			if kept == -1 {
				flo /= 2
			}
			kept = -1
		}
	}
	return (lo + hi) / 2
}

// solvedTo is the share of the container's height or of its volume to which a
// level is solved, whichever is reached first.
const solvedTo = 1e-13

// DepthAt returns how far the free surface stands above a point, measured straight
// up in this attitude, in millimetres: positive when the point is covered (a
// pick-up draws), negative when it is dry. The volume must be 0 to
// [Container.Volume]. The point may lie outside the container.
func (c *Container) DepthAt(point Point, volumeML float64, at Attitude) (float64, error) {
	if err := point.check("point"); err != nil {
		return 0, err
	}
	level, err := c.LevelFor(volumeML, at)
	if err != nil {
		return 0, err
	}
	up, err := at.up()
	if err != nil {
		return 0, err
	}
	return level - up.dot(point), nil
}

// Freeboard returns how far the lowest point of the neck's lip is above the free
// surface, measured straight up in this attitude, in millimetres: 0 or less means
// that liquid runs out. The volume must be 0 to [Container.Volume].
func (c *Container) Freeboard(neck Neck, volumeML float64, at Attitude) (float64, error) {
	level, err := c.LevelFor(volumeML, at)
	if err != nil {
		return 0, err
	}
	up, err := at.up()
	if err != nil {
		return 0, err
	}
	lip, err := neck.lowest(up)
	if err != nil {
		return 0, err
	}
	return lip - level, nil
}

// FloodVolume returns the volume in millilitres at which the free surface reaches
// the lowest point of the neck's lip in this attitude. It is [Container.Volume]
// when the lip is above everything, and 0 when even the last drop would run out.
func (c *Container) FloodVolume(neck Neck, at Attitude) (float64, error) {
	return c.volumeAtNeck(neck, 0, at)
}

// volumeAtNeck returns the volume in millilitres with the free surface marginMM
// below the neck's lip.
func (c *Container) volumeAtNeck(neck Neck, marginMM float64, at Attitude) (float64, error) {
	up, err := at.up()
	if err != nil {
		return 0, err
	}
	lip, err := neck.lowest(up)
	if err != nil {
		return 0, err
	}
	return c.below(lip-marginMM, up) / mm3PerML, nil
}

// Margin is what to stay short of flooding by. Both parts apply: first the
// height, then the volume.
type Margin struct {
	MM float64 // of freeboard
	ML float64 // of volume
}

// SafeFill is the largest fill that no attitude makes run out.
type SafeFill struct {
	VolumeML float64
	// Governing is the index of the attitude that limits it; the first of several
	// equal ones.
	Governing int
}

// LargestSafeFill returns the largest volume that keeps the margin below the
// neck's lip in every attitude: upright for filling, on its stand, on a slope.
// There must be at least one attitude, and both margins at least 0. A margin that
// leaves no volume at all is refused.
func (c *Container) LargestSafeFill(neck Neck, attitudes []Attitude, margin Margin) (SafeFill, error) {
	if err := firstErr(inRange("margin.MM", margin.MM, 0, maxCoordinateMM), nonNegative("margin.ML", margin.ML)); err != nil {
		return SafeFill{}, err
	}
	if len(attitudes) == 0 {
		return SafeFill{}, badInput("attitudes", 0, "at least one attitude")
	}
	safe := SafeFill{VolumeML: math.Inf(1)}
	for i, at := range attitudes {
		v, err := c.volumeAtNeck(neck, margin.MM, at)
		if err != nil {
			return SafeFill{}, err
		}
		if v < safe.VolumeML {
			safe = SafeFill{VolumeML: v, Governing: i}
		}
	}
	safe.VolumeML -= margin.ML
	if !(safe.VolumeML > 0) {
		return SafeFill{}, badInput("margin.ML", margin.ML, "a margin that leaves something to fill")
	}
	return safe, nil
}

// UsableAbove returns how many millilitres of a fill lie above a pick-up in this
// attitude: what can be drawn before it takes air. It is 0 when the pick-up is
// dry. The volume must be 0 to [Container.Volume].
func (c *Container) UsableAbove(pickup Point, volumeML float64, at Attitude) (float64, error) {
	unusable, err := c.volumeUpTo(pickup, at)
	if err != nil {
		return 0, err
	}
	if err := c.holds("volumeML", volumeML); err != nil {
		return 0, err
	}
	return max(0, volumeML-unusable), nil
}

// FillForUsable returns the fill in millilitres of which usableML lie above a
// pick-up in this attitude. It is the inverse of [Container.UsableAbove]. More
// than the container can offer above the pick-up is refused.
func (c *Container) FillForUsable(pickup Point, usableML float64, at Attitude) (float64, error) {
	unusable, err := c.volumeUpTo(pickup, at)
	if err != nil {
		return 0, err
	}
	if most := c.Volume() - unusable; !(usableML >= 0 && usableML <= most*(1+1e-12)) {
		return 0, badInput("usableML", usableML, fmt.Sprintf("0 to the %.6g ml above the pick-up", most))
	}
	return min(unusable+usableML, c.Volume()), nil
}

// volumeUpTo returns the volume in millilitres below the height of a point.
func (c *Container) volumeUpTo(p Point, at Attitude) (float64, error) {
	if err := p.check("pickup"); err != nil {
		return 0, err
	}
	up, err := at.up()
	if err != nil {
		return 0, err
	}
	return c.below(up.dot(p), up) / mm3PerML, nil
}

// FuelSplit is how a fill divides between two pick-ups.
type FuelSplit struct {
	MainML     float64 // drawn through the main pick-up before it takes air
	ReserveML  float64 // then still drawn through the reserve
	UnusableML float64 // left behind
}

// SplitFuel divides a fill between a main and a reserve pick-up in this attitude;
// the three parts add up to the volume. The main pick-up must not be lower than
// the reserve one, and the volume must be 0 to [Container.Volume].
func (c *Container) SplitFuel(main, reserve Point, volumeML float64, at Attitude) (FuelSplit, error) {
	mainAbove, err := c.UsableAbove(main, volumeML, at)
	if err != nil {
		return FuelSplit{}, err
	}
	all, err := c.UsableAbove(reserve, volumeML, at)
	if err != nil {
		return FuelSplit{}, err
	}
	up, err := at.up()
	if err != nil {
		return FuelSplit{}, err
	}
	if h := up.dot(main) - up.dot(reserve); h < 0 {
		return FuelSplit{}, badInput("main", h, "a main pick-up at least as high as the reserve one in this attitude")
	}
	return FuelSplit{MainML: mainAbove, ReserveML: max(0, all-mainAbove), UnusableML: volumeML - max(all, mainAbove)}, nil
}
