package workshop

import (
	"fmt"
	"math"
)

// YZ is a point in a transverse plane of the machine, in millimetres: y to the
// left, z up, when it stands upright.
type YZ struct{ Y, Z float64 }

// Polygon is the outline of a cross-section: its corners in order, either way
// round, without repeating the first. It must be simple: three corners or more,
// no crossing sides, an area above 0. It need not be convex.
type Polygon []YZ

// Area returns the enclosed area in mm². A polygon that is not simple is
// refused.
func (p Polygon) Area() (float64, error) {
	if err := p.check(); err != nil {
		return 0, err
	}
	return math.Abs(p.signedArea()), nil
}

// signedArea is positive for corners in counter-clockwise order (shoelace
// formula). It is taken about the first corner, which keeps its precision for an
// outline far from the origin.
func (p Polygon) signedArea() float64 {
	var twice float64
	o := p[0]
	for i := 1; i+1 < len(p); i++ {
		twice += (p[i].Y-o.Y)*(p[i+1].Z-o.Z) - (p[i+1].Y-o.Y)*(p[i].Z-o.Z)
	}
	return twice / 2
}

// maxCorners bounds the work that one outline can ask for; the test for crossing
// sides is quadratic.
const maxCorners = 1024

func (p Polygon) check() error {
	if len(p) < 3 || len(p) > maxCorners {
		return badInput("outline", float64(len(p)), fmt.Sprintf("3 to %d corners", maxCorners))
	}
	for i, c := range p {
		name := fmt.Sprintf("outline[%d]", i)
		if err := firstErr(inRange(name+".Y", c.Y, -maxCoordinateMM, maxCoordinateMM), inRange(name+".Z", c.Z, -maxCoordinateMM, maxCoordinateMM)); err != nil {
			return err
		}
	}
	if math.Abs(p.signedArea()) < minAreaMM2 {
		return badInput("outline", p.signedArea(), "corners that enclose an area")
	}
	for i := range p {
		for j := i + 1; j < len(p); j++ {
			adjacent := j == i+1 || (i == 0 && j == len(p)-1)
			if adjacent {
				continue
			}
			if crosses(p[i], p[(i+1)%len(p)], p[j], p[(j+1)%len(p)]) {
				return badInput("outline", float64(i), fmt.Sprintf("sides that do not cross; those from corners %d and %d do", i, j))
			}
		}
	}
	return nil
}

const (
	maxCoordinateMM = 1e5  // a hundred metres: anything beyond is a mistaken unit
	minAreaMM2      = 1e-6 // below it the corners lie on one line but for rounding
)

// crosses says whether two segments without a common corner meet at a point
// inside both. Sides that only touch are let pass: they enclose the same area.
func crosses(a, b, c, d YZ) bool {
	return side(a, b, c)*side(a, b, d) < 0 && side(c, d, a)*side(c, d, b) < 0
}

// side is positive when r lies to the left of the line from p to q.
func side(p, q, r YZ) float64 {
	return (q.Y-p.Y)*(r.Z-p.Z) - (q.Z-p.Z)*(r.Y-p.Y)
}

// CircleOutline returns a regular polygon that stands for a round tank of this
// diameter, centred on the origin. Its corners lie slightly outside the circle,
// so that its area is exactly the circle's; levels are off by less than
// 4·diameter/sides². The diameter must be above 0, the sides 8 to 1024.
func CircleOutline(diameterMM float64, sides int) (Polygon, error) {
	if err := firstErr(positive("diameterMM", diameterMM), inRange("sides", float64(sides), 8, maxCorners)); err != nil {
		return nil, err
	}
	n := float64(sides)
	r := diameterMM / 2 * math.Sqrt(2*math.Pi/(n*math.Sin(2*math.Pi/n)))
	p := make(Polygon, sides)
	for i := range p {
		sin, cos := math.Sincos(2 * math.Pi * (float64(i) + 0.5) / n)
		p[i] = YZ{Y: r * cos, Z: r * sin}
	}
	return p, nil
}

// HorizontalCylinderVolume returns the volume in millilitres of liquid in a round
// tank that lies level on its side, filled to levelMM above its lowest point:
// length × circular segment. The level must be 0 to the diameter.
//
// Source: closed form of the circular segment.
func HorizontalCylinderVolume(diameterMM, lengthMM, levelMM float64) (float64, error) {
	if err := firstErr(positive("diameterMM", diameterMM), positive("lengthMM", lengthMM), inRange("levelMM", levelMM, 0, diameterMM)); err != nil {
		return 0, err
	}
	r := diameterMM / 2
	half := math.Acos(max(-1, min(1, (r-levelMM)/r)))
	segment := r * r * (half - math.Sin(half)*math.Cos(half))
	return segment * lengthMM / mm3PerML, nil
}
