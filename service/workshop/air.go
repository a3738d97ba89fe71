package workshop

import "math"

const paPerKPa = 1000

// MoistAir is the density of air with its water vapour, and what of it is not
// vapour and so carries oxygen.
type MoistAir struct {
	DensityKgPM3    float64
	DryDensityKgPM3 float64
	// Compressibility is the factor Z of the equation of state.
	Compressibility float64
	// VapourMoleFraction is the share of water vapour.
	VapourMoleFraction float64
}

// MoistAirDensity returns the density of air by the CIPM-2007 equation with
// compressibility and enhancement factor, for a carbon dioxide fraction of
// 0.0004. The equation is stated for 60 to 110 kPa and 15 to 27 °C, there with a
// relative uncertainty of 2·10⁻⁵; the function accepts 20 to 110 kPa and −30 to
// 50 °C, where it stays far better than any reading taken at a workshop.
// humidityPercent is relative humidity over water.
//
// Source: Picard, Davis, Gläser and Fujii, Metrologia 45 (2008) 149–155.
func MoistAirDensity(pressureKPa, tempC, humidityPercent float64) (MoistAir, error) {
	if err := firstErr(
		inRange("pressureKPa", pressureKPa, 20, 110),
		inRange("tempC", tempC, -30, 50),
		inRange("humidityPercent", humidityPercent, 0, 100),
	); err != nil {
		return MoistAir{}, err
	}
	const (
		gasConstant  = 8.314472    // J/(mol·K)
		dryMolarMass = 28.96546e-3 // kg/mol
		vapourMass   = 18.01528e-3 // kg/mol
	)
	p := pressureKPa * paPerKPa
	t := tempC
	tempK := tempC + zeroCelsiusK

	enhancement := 1.00062 + 3.14e-8*p + 5.6e-7*t*t
	x := humidityPercent / 100 * enhancement * saturationPressurePa(tempK) / p

	const (
		a0, a1, a2 = 1.58123e-6, -2.9331e-8, 1.1043e-10
		b0, b1     = 5.707e-6, -2.051e-8
		c0, c1     = 1.9898e-4, -2.376e-6
		d, e       = 1.83e-11, -0.765e-8
	)
	pt := p / tempK
	z := 1 - pt*(a0+a1*t+a2*t*t+(b0+b1*t)*x+(c0+c1*t)*x*x) + pt*pt*(d+e*x*x)

	moles := p / (z * gasConstant * tempK)
	return MoistAir{
		DensityKgPM3:       moles * dryMolarMass * (1 - x*(1-vapourMass/dryMolarMass)),
		DryDensityKgPM3:    moles * dryMolarMass * (1 - x),
		Compressibility:    z,
		VapourMoleFraction: x,
	}, nil
}

// saturationPressurePa is the vapour pressure of water as CIPM-2007 takes it.
func saturationPressurePa(tempK float64) float64 {
	return math.Exp(1.2378847e-5*tempK*tempK - 1.9121316e-2*tempK + 33.93711047 - 6343.1645/tempK)
}

// RelativeDensity compares air with the dry standard atmosphere at sea level
// (101.325 kPa, 15 °C). Both ratios are 1 there.
type RelativeDensity struct {
	// Total is the ratio of densities, which sets how hard the air draws fuel
	// through a jet.
	Total float64
	// Dry is the ratio of the air without its vapour, which sets how much fuel
	// can burn.
	Dry float64
}

// RelativeAirDensity returns the density of air relative to the standard
// atmosphere at sea level, from altitude, temperature and relative humidity. The
// ambient pressure is that of [StandardAtmosphere] at the altitude; with a
// barometer at hand use [RelativeAirDensityAt].
//
// Sources: ISO 2533; CIPM-2007.
func RelativeAirDensity(altitudeM, tempC, humidityPercent float64) (RelativeDensity, error) {
	a, err := StandardAtmosphere(altitudeM)
	if err != nil {
		return RelativeDensity{}, err
	}
	return RelativeAirDensityAt(a.PressureKPa, tempC, humidityPercent)
}

// RelativeAirDensityAt is [RelativeAirDensity] for a measured ambient pressure,
// the absolute one at the place and not the one that weather reports reduce to
// sea level.
//
// Source: CIPM-2007.
func RelativeAirDensityAt(pressureKPa, tempC, humidityPercent float64) (RelativeDensity, error) {
	air, err := MoistAirDensity(pressureKPa, tempC, humidityPercent)
	if err != nil {
		return RelativeDensity{}, err
	}
	reference, err := MoistAirDensity(standardPressurePa/paPerKPa, standardTempK-zeroCelsiusK, 0)
	if err != nil {
		return RelativeDensity{}, err
	}
	return RelativeDensity{
		Total: air.DensityKgPM3 / reference.DensityKgPM3,
		Dry:   air.DryDensityKgPM3 / reference.DensityKgPM3,
	}, nil
}
