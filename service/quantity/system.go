package quantity

import (
	"math"
	"strconv"
)

// System is the system of units a person reads in.
type System int

const (
	Metric System = iota
	USCustomary
)

// String returns "metric" or "US customary".
func (s System) String() string {
	switch s {
	case Metric:
		return "metric"
	case USCustomary:
		return "US customary"
	default:
		return "System(" + strconv.Itoa(int(s)) + ")"
	}
}

// The units that In chooses among.
var (
	micrometre      = MustUnit("um")
	millimetre      = MustUnit("mm")
	metre           = MustUnit("m")
	kilometre       = MustUnit("km")
	mil             = MustUnit("[mil_i]")
	inch            = MustUnit("[in_i]")
	foot            = MustUnit("[ft_i]")
	mile            = MustUnit("[mi_i]")
	millilitre      = MustUnit("mL")
	cubicCentimetre = MustUnit("cm3")
	litre           = MustUnit("L")
	fluidOunce      = MustUnit("[foz_us]")
	quart           = MustUnit("[qt_us]")
	gallon          = MustUnit("[gal_us]")
	gram            = MustUnit("g")
	kilogram        = MustUnit("kg")
	ounce           = MustUnit("[oz_av]")
	pound           = MustUnit("[lb_av]")
	newton          = MustUnit("N")
	kilonewton      = MustUnit("kN")
	poundForce      = MustUnit("[lbf_av]")
	centinewtonM    = MustUnit("cN.m")
	newtonMetre     = MustUnit("N.m")
	poundFoot       = MustUnit("[lbf_av].[ft_i]")
	poundInch       = MustUnit("[lbf_av].[in_i]")
	kilopascal      = MustUnit("kPa")
	psi             = MustUnit("[psi]")
	newtonPerMM     = MustUnit("N/mm")
	poundPerInch    = MustUnit("[lbf_av]/[in_i]")
	celsius         = MustUnit("Cel")
	fahrenheit      = MustUnit("[degF]")
	kmPerHour       = MustUnit("km/h")
	metrePerSecond  = MustUnit("m/s")
	milePerHour     = MustUnit("[mi_i]/h")
)

// In returns the unit in which a person of system s reads the value v of u;
// converting v to it always succeeds.
//
// The choice goes by dimension and size: 0.35 L is read as millilitres or
// fluid ounces, 1.2 L as litres or quarts; a torque below ten pound-feet as
// pound-inches. A length says by its unit what it is for: kilometres and miles
// are roads and stay so, micrometres and mils are films and play. Metric
// readers keep the metric unit they are given where the trade has several
// (bar, MPa, cm³, m/s), but not kgf and its kin. Units without a counterpart
// (V, rpm, turns, clicks, %) give themselves, in every system.
//
// Zero counts as one of u, so that an odometer at nought still reads in
// kilometres. An unknown system reads everything as it stands.
func (u Unit) In(s System, v float64) Unit {
	if v == 0 {
		v = 1
	}
	switch s {
	case Metric:
		return u.metric(v)
	case USCustomary:
		return u.customary(v)
	default:
		return u
	}
}

func (u Unit) metric(v float64) Unit {
	switch u.Dimension() {
	case dimLength:
		switch {
		case u == kilometre || u == mile:
			return kilometre
		case (u == micrometre || u == mil) && u.size(v, millimetre) < 1:
			return micrometre
		case u.size(v, metre) >= 10:
			return metre
		}
		return millimetre
	case dimVolume:
		switch {
		case u == cubicCentimetre: // the displacement of an engine
			return u
		case u.size(v, litre) < 1:
			return millilitre
		}
		return litre
	case dimMass:
		if u.size(v, kilogram) < 1 {
			return gram
		}
		return kilogram
	case dimForce:
		if u.size(v, kilonewton) >= 10 {
			return kilonewton
		}
		return newton
	case dimTorque:
		if u == centinewtonM && u.size(v, newtonMetre) < 1 {
			return u
		}
		return newtonMetre
	case dimPressure:
		switch u.Code() {
		case "bar", "MPa", "hPa", "Pa":
			return u
		}
		return kilopascal
	case dimSpringRate:
		return newtonPerMM
	case dimTemperature:
		return celsius
	case dimSpeed:
		if u == metrePerSecond {
			return u
		}
		return kmPerHour
	}
	return u
}

func (u Unit) customary(v float64) Unit {
	switch u.Dimension() {
	case dimLength:
		switch {
		case u == kilometre || u == mile:
			return mile
		case (u == micrometre || u == mil) && u.size(v, inch) < 0.1:
			return mil
		case u.size(v, foot) >= 10:
			return foot
		}
		return inch
	case dimVolume:
		switch {
		case u.size(v, quart) < 1:
			return fluidOunce
		case u.size(v, gallon) < 1:
			return quart
		}
		return gallon
	case dimMass:
		if u.size(v, pound) < 1 {
			return ounce
		}
		return pound
	case dimForce:
		return poundForce
	case dimTorque:
		if u.size(v, poundFoot) < 10 {
			return poundInch
		}
		return poundFoot
	case dimPressure:
		return psi
	case dimSpringRate:
		return poundPerInch
	case dimTemperature:
		return fahrenheit
	case dimSpeed:
		return milePerHour
	}
	return u
}

// size is the magnitude of v of u in another unit of the same dimension.
func (u Unit) size(v float64, in Unit) float64 {
	w, _ := u.ConvertDifference(v, in)
	return math.Abs(w)
}
