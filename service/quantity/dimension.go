package quantity

import (
	"strconv"
	"strings"
)

// Dimension is the kind of thing a unit measures, as exponents of base
// quantities. Dimensions are equal under == exactly when their units convert
// into each other. The zero Dimension is that of plain numbers.
type Dimension struct {
	length, mass, time, temperature, current, angle, count int8
}

var (
	dimNone        = Dimension{}
	dimLength      = Dimension{length: 1}
	dimArea        = Dimension{length: 2}
	dimVolume      = Dimension{length: 3}
	dimMass        = Dimension{mass: 1}
	dimTime        = Dimension{time: 1}
	dimTemperature = Dimension{temperature: 1}
	dimAngle       = Dimension{angle: 1}
	dimClicks      = Dimension{count: 1}
	dimSpeed       = Dimension{length: 1, time: -1}
	dimRotation    = Dimension{angle: 1, time: -1}
	dimForce       = Dimension{length: 1, mass: 1, time: -2}
	dimTorque      = Dimension{length: 2, mass: 1, time: -2, angle: -1}
	dimPressure    = Dimension{length: -1, mass: 1, time: -2}
	dimSpringRate  = Dimension{mass: 1, time: -2}
	dimDensity     = Dimension{length: -3, mass: 1}
	dimViscosity   = Dimension{length: 2, time: -1}
	dimCurrent     = Dimension{current: 1}
	dimCharge      = Dimension{current: 1, time: 1}
	dimVoltage     = Dimension{length: 2, mass: 1, time: -3, current: -1}
	dimResistance  = Dimension{length: 2, mass: 1, time: -3, current: -2}
	dimPower       = Dimension{length: 2, mass: 1, time: -3}
	dimEnergy      = Dimension{length: 2, mass: 1, time: -2}
)

var dimensionWords = map[Dimension]string{
	dimNone:        "plain number",
	dimLength:      "length",
	dimArea:        "area",
	dimVolume:      "volume",
	dimMass:        "mass",
	dimTime:        "time",
	dimTemperature: "temperature",
	dimAngle:       "angle",
	dimClicks:      "clicks",
	dimSpeed:       "speed",
	dimRotation:    "rotational speed",
	dimForce:       "force",
	dimTorque:      "torque",
	dimPressure:    "pressure",
	dimSpringRate:  "spring rate",
	dimDensity:     "density",
	dimViscosity:   "kinematic viscosity",
	dimCurrent:     "electric current",
	dimCharge:      "electric charge",
	dimVoltage:     "voltage",
	dimResistance:  "electric resistance",
	dimPower:       "power",
	dimEnergy:      "energy",
}

// String gives the word of the trade for d ("torque", "spring rate"). A
// dimension without one is written as its exponents: "m2.kg.s-1".
func (d Dimension) String() string {
	if word, ok := dimensionWords[d]; ok {
		return word
	}
	var b strings.Builder
	for _, base := range [...]struct {
		symbol   string
		exponent int8
	}{
		{"m", d.length}, {"kg", d.mass}, {"s", d.time}, {"K", d.temperature},
		{"A", d.current}, {"rad", d.angle}, {"{click}", d.count},
	} {
		if base.exponent == 0 {
			continue
		}
		if b.Len() > 0 {
			b.WriteByte('.')
		}
		b.WriteString(base.symbol)
		if base.exponent != 1 {
			b.WriteString(strconv.Itoa(int(base.exponent)))
		}
	}
	return b.String()
}
