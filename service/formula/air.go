package formula

import "github.com/snapgauge/snapgauge/service/workshop"

var (
	altitudeInput    = input{name: "altitude", unit: "m", param: "altitudeM", what: "Altitude above sea level, as maps give it"}
	pressureInput    = input{name: "pressure", unit: "kPa", param: "pressureKPa", what: "Ambient pressure, the absolute one at the place and not reduced to sea level"}
	temperatureInput = input{name: "temperature", unit: "Cel", param: "tempC", what: "Air temperature"}
	humidityInput    = input{name: "humidity", unit: "%", fallback: "50 %", param: "humidityPercent", what: "Relative humidity"}
)

var air = []Formula{
	{
		name: "standard-atmosphere", topic: "air",
		description: "Temperature, pressure and density of the standard atmosphere at an altitude.",
		source:      "US Standard Atmosphere 1976; ISO 2533",
		caution:     "Real weather moves the pressure by some 3 % either way and the temperature by far more: use a barometer and a thermometer where they are at hand.",
		inputs:      []input{altitudeInput},
		results: []result{
			{name: "temperature", unit: "Cel", what: "Temperature"},
			{name: "pressure", unit: "kPa", what: "Absolute pressure"},
			{name: "density", unit: "kg/m3", what: "Density"},
		},
		work: func(a *arguments) (outputs, error) {
			s, err := workshop.StandardAtmosphere(a.num("altitude"))
			return outputs{number(s.TempC), number(s.PressureKPa), number(s.DensityKgPM3)}, err
		},
	},
	{
		name: "moist-air-density", topic: "air",
		description: "The density of air with its water vapour.",
		source:      "CIPM-2007: Picard, Davis, Gläser and Fujii, Metrologia 45 (2008) 149–155",
		inputs:      []input{pressureInput, temperatureInput, humidityInput},
		results: []result{
			{name: "density", unit: "kg/m3", what: "Density of the whole air"},
			{name: "dry_density", unit: "kg/m3", what: "Density of the air without its vapour, which carries the oxygen"},
			{name: "compressibility", unit: "1", digits: 5, what: "Factor Z of the equation of state"},
			{name: "vapour", unit: "1", form: share, what: "Share of water vapour, by molecules"},
		},
		work: func(a *arguments) (outputs, error) {
			m, err := workshop.MoistAirDensity(a.num("pressure"), a.num("temperature"), a.num("humidity"))
			return outputs{number(m.DensityKgPM3), number(m.DryDensityKgPM3), number(m.Compressibility), number(m.VapourMoleFraction)}, err
		},
	},
	{
		name: "relative-air-density", topic: "air",
		description: "The density of air relative to the standard atmosphere at sea level.",
		source:      "ISO 2533; CIPM-2007",
		caution:     "The altitude stands for an average pressure: with a barometer at hand give the pressure.",
		inputs: []input{
			{name: "altitude", unit: "m", optional: true, param: "altitudeM", what: "Altitude above sea level; or give the pressure"},
			{name: "pressure", unit: "kPa", optional: true, param: "pressureKPa", what: pressureInput.what},
			temperatureInput, humidityInput,
		},
		results: []result{
			{name: "total", unit: "1", what: "Ratio of densities, which sets how hard the air draws fuel through a jet"},
			{name: "dry", unit: "1", what: "Ratio of the air without its vapour, which sets how much fuel can burn"},
		},
		work: func(a *arguments) (outputs, error) {
			d, err := relativeDensityOf(a, "")
			return outputs{number(d.Total), number(d.Dry)}, err
		},
	},
}

// relativeDensityOf reads altitude or pressure, temperature and humidity from
// the inputs whose names start with a prefix.
func relativeDensityOf(a *arguments, prefix string) (workshop.RelativeDensity, error) {
	if err := a.exactlyOne(prefix+"altitude", prefix+"pressure"); err != nil {
		return workshop.RelativeDensity{}, err
	}
	temperature, humidity := a.num(prefix+"temperature"), a.num(prefix+"humidity")
	if a.has(prefix + "pressure") {
		return workshop.RelativeAirDensityAt(a.num(prefix+"pressure"), temperature, humidity)
	}
	return workshop.RelativeAirDensity(a.num(prefix+"altitude"), temperature, humidity)
}
