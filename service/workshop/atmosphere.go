package workshop

import "math"

// Atmosphere is the state of the standard atmosphere at one altitude.
type Atmosphere struct {
	TempC        float64
	PressureKPa  float64
	DensityKgPM3 float64
}

// Constants of the US Standard Atmosphere 1976, which ISO 2533 shares up to
// 32 km.
const (
	zeroCelsiusK       = 273.15
	standardPressurePa = 101325.0
	standardTempK      = 288.15
	lapseKPerM         = 0.0065
	gravityMPS2        = 9.80665
	earthRadiusM       = 6356766.0
	// airGasConstant is R*/M₀ in J/(kg·K) with the 1976 values of both.
	airGasConstant = 8314.32 / 28.9644
)

// StandardAtmosphere returns temperature, pressure and density of the dry
// standard atmosphere at an altitude of −500 to 11 000 m above mean sea level, as
// maps give it (geometric; it is turned into geopotential height). Real weather
// moves the pressure by some 3 % either way and the temperature by far more:
// where a barometer or thermometer is at hand, use its reading.
//
// Source: US Standard Atmosphere 1976; ISO 2533.
func StandardAtmosphere(altitudeM float64) (Atmosphere, error) {
	if err := inRange("altitudeM", altitudeM, -500, 11000); err != nil {
		return Atmosphere{}, err
	}
	geopotentialM := altitudeM * earthRadiusM / (earthRadiusM + altitudeM)
	tempK := standardTempK - lapseKPerM*geopotentialM
	pressurePa := standardPressurePa * math.Pow(tempK/standardTempK, gravityMPS2/(airGasConstant*lapseKPerM))
	return Atmosphere{
		TempC:        tempK - zeroCelsiusK,
		PressureKPa:  pressurePa / paPerKPa,
		DensityKgPM3: pressurePa / (airGasConstant * tempK),
	}, nil
}
