package workshop

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

func TestAtmospherePublished(t *testing.T) {
	const table = "US Standard Atmosphere 1976, SI table of Public Domain Aeronautical Software"
	for altitude, want := range map[float64]Atmosphere{
		-500:  {291.4 - zeroCelsiusK, 107.477, 1.285},
		0:     {288.15 - zeroCelsiusK, 101.325, 1.225},
		1000:  {281.7 - zeroCelsiusK, 89.876, 1.112},
		2000:  {275.2 - zeroCelsiusK, 79.501, 1.007},
		3000:  {268.7 - zeroCelsiusK, 70.121, 0.909},
		5000:  {255.7 - zeroCelsiusK, 54.048, 0.736},
		11000: {216.8 - zeroCelsiusK, 22.699, 0.365},
	} {
		got, err := StandardAtmosphere(altitude)
		noErr(t, err)
		where := itoa(int(altitude)) + " m"
		check(t, PublishedCheck{Function: "StandardAtmosphere", Case: where + ", temperature", Source: table, Want: want.TempC, Got: got.TempC, Tolerance: 0.051, Unit: "°C"})
		// The table cuts pressures off at whole pascals.
		check(t, PublishedCheck{Function: "StandardAtmosphere", Case: where + ", pressure", Source: table, Want: want.PressureKPa, Got: got.PressureKPa, Tolerance: 0.00101, Unit: "kPa"})
		check(t, PublishedCheck{Function: "StandardAtmosphere", Case: where + ", density", Source: table, Want: want.DensityKgPM3, Got: got.DensityKgPM3, Tolerance: 0.0006, Unit: "kg/m³"})
	}
	got, err := StandardAtmosphere(1000)
	noErr(t, err)
	check(t, PublishedCheck{Function: "StandardAtmosphere", Case: "1000 m, density to five digits", Source: "US Standard Atmosphere 1976", Where: "table I, Z = 1000 m", Want: 1.1117, Got: got.DensityKgPM3, Tolerance: 0.00006, Unit: "kg/m³", FromMemory: true})
}

func TestMoistAirPublished(t *testing.T) {
	air, err := MoistAirDensity(101.325, 20, 50)
	noErr(t, err)
	check(t, PublishedCheck{Function: "MoistAirDensity", Case: "20 °C, 1013.25 hPa, 50 %", Source: "OIML R 111-1, approximate formula, good to 2·10⁻⁴", Where: "E.3-1", Want: 1.19930, Got: air.DensityKgPM3, Tolerance: 0.00024, Unit: "kg/m³", FromMemory: true})
	cold, err := MoistAirDensity(95, 15, 30)
	noErr(t, err)
	// (0.34848·950 − 0.009·30·e^(0.061·15))/288.15
	check(t, PublishedCheck{Function: "MoistAirDensity", Case: "15 °C, 950 hPa, 30 %", Source: "OIML R 111-1, approximate formula, good to 2·10⁻⁴", Where: "E.3-1", Want: 1.14656, Got: cold.DensityKgPM3, Tolerance: 0.00024, Unit: "kg/m³", FromMemory: true})
	check(t, PublishedCheck{Function: "MoistAirDensity", Case: "20 °C, 1013.25 hPa, 50 %: compressibility factor", Source: "Metrologia 45 (2008) 149", Want: 0.9996, Got: air.Compressibility, Tolerance: 0.00005, FromMemory: true})
	saturated, err := MoistAirDensity(101.325, 20, 100)
	noErr(t, err)
	// Vapour pressure of water at 20 °C, 2.339 kPa, times the enhancement factor
	// of 1.004.
	check(t, PublishedCheck{Function: "MoistAirDensity", Case: "20 °C, 1013.25 hPa, saturated: vapour mole fraction", Source: "steam table (2.339 kPa) and enhancement factor 1.004", Want: 0.02318, Got: saturated.VapourMoleFraction, Tolerance: 0.00001, FromMemory: true})

	// The table prints density over sea-level density, of dry air at standard
	// temperature.
	const sigma = "US Standard Atmosphere 1976, SI table of Public Domain Aeronautical Software"
	for altitude, want := range map[float64]float64{0: 1, 1000: 0.9075, 2000: 0.8217, 3000: 0.7422} {
		standard, err := StandardAtmosphere(altitude)
		noErr(t, err)
		got, err := RelativeAirDensity(altitude, standard.TempC, 0)
		noErr(t, err)
		check(t, PublishedCheck{Function: "RelativeAirDensity", Case: itoa(int(altitude)) + " m, standard temperature, dry", Source: sigma, Where: "sigma", Want: want, Got: got.Total, Tolerance: 0.0002})
	}
	got, err := RelativeAirDensityAt(70.121, 268.659-zeroCelsiusK, 0)
	noErr(t, err)
	check(t, PublishedCheck{Function: "RelativeAirDensityAt", Case: "70.121 kPa, −4.49 °C, dry (3000 m)", Source: sigma, Where: "sigma", Want: 0.7422, Got: got.Dry, Tolerance: 0.0002})
}

// The vapour pressure of CIPM-2007 against that of the steam tables, which is
// fitted to other data.
func TestVapourPressuresAgree(t *testing.T) {
	for temp := 1.0; temp <= 50; temp++ {
		steam, err := WaterVapourPressure(temp)
		noErr(t, err)
		cipm := saturationPressurePa(temp+zeroCelsiusK) / paPerKPa
		if math.Abs(cipm/steam-1) > 0.001 {
			t.Errorf("%g °C: CIPM-2007 %g kPa, IAPWS-IF97 %g kPa", temp, cipm, steam)
		}
	}
}

func TestAirRefuses(t *testing.T) {
	_, err := StandardAtmosphere(11001)
	refused(t, "above 11 km", err)
	_, err = StandardAtmosphere(math.NaN())
	refused(t, "altitude NaN", err)
	_, err = MoistAirDensity(10, 20, 50)
	refused(t, "thin air", err)
	_, err = MoistAirDensity(101, 20, 101)
	refused(t, "humidity 101 %", err)
	_, err = RelativeAirDensity(20000, 20, 50)
	refused(t, "20 km", err)
	_, err = RelativeAirDensity(0, 70, 50)
	refused(t, "70 °C", err)
}

func TestAirProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		altitude := rapid.Float64Range(-500, 4900).Draw(t, "altitude")
		temp := rapid.Float64Range(-29, 49).Draw(t, "temp")
		humidity := rapid.Float64Range(0, 99).Draw(t, "humidity")
		here, err := RelativeAirDensity(altitude, temp, humidity)
		noErr(t, err)
		higher, err := RelativeAirDensity(altitude+10, temp, humidity)
		noErr(t, err)
		warmer, err := RelativeAirDensity(altitude, temp+1, humidity)
		noErr(t, err)
		damper, err := RelativeAirDensity(altitude, temp, humidity+1)
		noErr(t, err)
		for name, other := range map[string]RelativeDensity{"higher": higher, "warmer": warmer, "damper": damper} {
			if other.Total >= here.Total || other.Dry >= here.Dry {
				t.Fatalf("%s is not thinner: %+v after %+v", name, other, here)
			}
		}
		if here.Dry > here.Total {
			t.Fatalf("part above whole: %+v", here)
		}
	})
}
