package workshop

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

func TestCoolingPublished(t *testing.T) {
	const steam = "IAPWS R7-97 (IAPWS-IF97)"
	for kPa, want := range map[float64]float64{100: 372.755919, 1000: 453.035632, 10000: 584.149488} {
		got, err := WaterBoilingPoint(kPa)
		noErr(t, err)
		check(t, PublishedCheck{Function: "WaterBoilingPoint", Case: itoa(int(kPa)) + " kPa", Source: steam, Where: "table 36", Want: want - zeroCelsiusK, Got: got, Tolerance: 1e-6, Unit: "°C"})
	}
	for kelvin, want := range map[float64]float64{300: 3.53658941, 500: 2638.89776, 600: 12344.3146} {
		got, err := WaterVapourPressure(kelvin - zeroCelsiusK)
		noErr(t, err)
		check(t, PublishedCheck{Function: "WaterVapourPressure", Case: itoa(int(kelvin)) + " K", Source: steam, Where: "table 35", Want: want, Got: got, Tolerance: want * 2e-9, Unit: "kPa"})
	}
	for glycol, want := range map[float64]float64{0: 100, 10: 101.1, 20: 102.2, 40: 104.4, 50: 107.2, 60: 111.1, 70: 116.7} {
		got, err := CoolantBoilingPoint(0, 101.325, glycol)
		noErr(t, err)
		check(t, PublishedCheck{Function: "CoolantBoilingPoint", Case: itoa(int(glycol)) + " % ethylene glycol by volume, open", Source: "engineers' table of ethylene glycol solutions", Want: want, Got: got, Tolerance: 1.5, Unit: "°C", FromMemory: true})
	}
	got, err := CoolantBoilingPoint(15*6.894757, 101.325, 50)
	noErr(t, err)
	check(t, PublishedCheck{Function: "CoolantBoilingPoint", Case: "50 % ethylene glycol under a 15 psi cap: 265 °F", Source: "common practice, no source", Where: "antifreeze labels", Want: 129.4, Got: got, Tolerance: 1.5, Unit: "°C", FromMemory: true})

	fan, err := CheckFanSwitch(71, 80, 88, 107, 10)
	noErr(t, err)
	check(t, PublishedCheck{Function: "CheckFanSwitch", Case: "thermostat 71, fan off 80, on 88, boiling 107 °C, margin 10 K", Source: "common practice, no source", Where: "107 − 10 − 88", Want: 9, Got: fan.BelowBoilingK, Tolerance: 1e-9, Unit: "K"})
}

func TestFanSwitch(t *testing.T) {
	for _, c := range []struct {
		thermostat, off, on, boiling float64
		sane                         bool
	}{
		{71, 80, 88, 107, true},
		{82, 80, 88, 107, false},
		{71, 88, 88, 107, false},
		{71, 80, 98, 107, false},
	} {
		fan, err := CheckFanSwitch(c.thermostat, c.off, c.on, c.boiling, 10)
		noErr(t, err)
		if fan.Sane != c.sane {
			t.Errorf("%+v: %+v", c, fan)
		}
	}
}

func TestCoolingRefuses(t *testing.T) {
	_, err := WaterBoilingPoint(0)
	refused(t, "vacuum", err)
	_, err = WaterBoilingPoint(23000)
	refused(t, "above the critical pressure", err)
	_, err = WaterVapourPressure(-1)
	refused(t, "ice", err)
	_, err = CoolantBoilingPoint(-1, 101, 50)
	refused(t, "cap below 0", err)
	_, err = CoolantBoilingPoint(90, 101, 71)
	refused(t, "71 % glycol", err)
	_, err = CheckFanSwitch(math.NaN(), 80, 88, 107, 10)
	refused(t, "thermostat NaN", err)
}

func TestCoolingProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		temp := rapid.Float64Range(0.1, 370).Draw(t, "temp")
		pressure, err := WaterVapourPressure(temp)
		noErr(t, err)
		back, err := WaterBoilingPoint(pressure)
		noErr(t, err)
		if math.Abs(back-temp) > 1e-6 {
			t.Fatalf("%g °C is %g kPa is %g °C", temp, pressure, back)
		}

		lid := rapid.Float64Range(0, 290).Draw(t, "cap")
		ambient := rapid.Float64Range(20, 109).Draw(t, "ambient")
		glycol := rapid.Float64Range(0, 69).Draw(t, "glycol")
		boils, err := CoolantBoilingPoint(lid, ambient, glycol)
		noErr(t, err)
		for name, args := range map[string][3]float64{
			"higher cap":         {lid + 1, ambient, glycol},
			"more air above":     {lid, ambient + 1, glycol},
			"more glycol":        {lid, ambient, glycol + 1},
			"open to everything": {lid + 1, ambient + 1, glycol + 1},
		} {
			higher, err := CoolantBoilingPoint(args[0], args[1], args[2])
			noErr(t, err)
			if higher <= boils {
				t.Fatalf("%s boils no later: %g after %g", name, higher, boils)
			}
		}
	})
}
