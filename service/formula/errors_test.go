package formula

import (
	"errors"
	"strings"
	"testing"

	"github.com/snapgauge/snapgauge/service/quantity"
)

// wrench is a sound set of inputs of wrench-setting, changed by pairs of name
// and text.
func wrench(changes ...string) map[string]string {
	inputs := map[string]string{"torque": "20 N.m", "wrench_length": "350 mm", "extension": "50 mm"}
	for i := 0; i < len(changes); i += 2 {
		inputs[changes[i]] = changes[i+1]
	}
	return inputs
}

func TestInputErrors(t *testing.T) {
	boxed := func(changes ...string) map[string]string {
		inputs := map[string]string{"length": "200 mm", "width": "120 mm", "height": "100 mm", "volume": "1 L"}
		for i := 0; i < len(changes); i += 2 {
			inputs[changes[i]] = changes[i+1]
		}
		return inputs
	}
	joint := func(class, diameter string) map[string]string {
		return map[string]string{"class": class, "diameter": diameter}
	}
	mix := func(ratio string) map[string]string { return map[string]string{"fuel": "5 L", "ratio": ratio} }
	for _, c := range []struct {
		what    string
		formula string
		inputs  map[string]string
		want    []string // "input: a part of its message", all of them in order
	}{
		{"unknown, with a suggestion", "wrench-setting", wrench("wrench_lenght", "1"), []string{"wrench_lenght: did you mean wrench_length?"}},
		{"unknown, letters swapped twice", "wrench-setting", wrench("otrqeu", "1"), []string{"otrqeu: did you mean torque?"}},
		{"unknown, far off", "wrench-setting", wrench("zzzzzz", "1"), []string{"zzzzzz: it takes torque, wrench_length, extension, angle"}},
		{"missing", "wrench-setting", wrench("torque", ""), []string{"torque: is missing; it is torque wanted at the fastener"}},
		{"blank is missing", "wrench-setting", wrench("torque", " \t"), []string{"torque: is missing"}},
		{"everything at once, in order", "wrench-setting", map[string]string{"extension": "far", "bogus": "1"},
			[]string{"torque: is missing", "wrench_length: is missing", "extension: there is no number", "bogus: no such input"}},
		{"not a quantity", "wrench-setting", wrench("torque", "tight"), []string{`torque: "tight" is no quantity: there is no number`}},
		{"unknown unit", "wrench-setting", wrench("torque", "20 Nmm"), []string{"torque: unknown unit"}},
		{"decimal comma", "wrench-setting", wrench("torque", "17,5 N.m"), []string{"torque: decimal point"}},
		{"wrong dimension", "wrench-setting", wrench("torque", "20 mm"), []string{"torque: 20 mm is length, want torque, such as in N·m"}},
		{"a ratio where a length is wanted", "wrench-setting", wrench("extension", "1:2"), []string{"extension: is plain number, want length"}},
		{"a unit where none is wanted", "nut-factor-torque", map[string]string{"preload": "1 kN", "diameter": "8 mm", "nut_factor": "0.2 mm"}, []string{"nut_factor: want a plain number"}},
		{"too large", "wrench-setting", wrench("wrench_length", "1e308 km"), []string{"wrench_length: is too large"}},
		{"impossible, in the input's own unit", "wrench-setting", wrench("torque", "-20 N.m"), []string{"torque: is -20 N·m, want a finite number of at least 0"}},
		{"impossible, with the limits' unit", "wrench-setting", wrench("angle", "1 turn"), []string{"angle: is 360°, want -180 to 180 (in °)"}},
		{"impossible together", "wrench-setting", wrench("angle", "180", "extension", "349"), []string{"extension: is 349 mm, want an extension that leaves"}},
		{"overflow", "adjuster-move", map[string]string{"pitch": "1e200", "turns": "1e200"}, []string{"pitch: with it move is too large"}},
		{"not text", "wrench-setting", wrench("torque", "20\xff"), []string{"torque: is not text"}},
		{"too long", "wrench-setting", wrench("torque", strings.Repeat("1", maxText+1)), []string{"torque: bytes long"}},

		{"not a choice", "proof-stress", joint("8.9", "8 mm"), []string{"class: want one of 4.6, 4.8"}},
		{"choice and size together", "proof-stress", joint("9.8", "18 mm"), []string{"diameter: is 18 mm, want 1.6 to 16 (in mm)"}},
		{"not whole", "load-capacity", map[string]string{"load_index": "57.5"}, []string{"load_index: is 57.5, want a whole number"}},
		{"whole but out of range", "load-capacity", map[string]string{"load_index": "500"}, []string{"load_index: is 500, want 0 to 120"}},
		{"not a thread", "thread", map[string]string{"thread": "1/2 UNC"}, []string{`thread: is "1/2 UNC", want an ISO metric thread`}},
		{"not a coarse thread", "thread", map[string]string{"thread": "M8.3"}, []string{"thread: want a diameter of the ISO 261 coarse series"}},
		{"thread without a table entry", "spanner-size", map[string]string{"thread": "M7"}, []string{"thread: want a thread diameter of ISO 4014"}},
		{"not a tyre", "tyre-size", map[string]string{"tyre": "round"}, []string{"tyre: want a tyre size"}},
		{"not a grade", "viscosity-suits", map[string]string{"grade": "75W-90", "lowest": "0", "highest": "20"}, []string{"grade: want an SAE J300"}},
		{"not an oil", "two-stroke-oil-suits", map[string]string{"required": "FC", "offered": "TC-W3"}, []string{`offered: is "TC-W3", want a two-stroke oil grade`}},
		{"not teeth", "overall-ratio", map[string]string{"primary": "20", "gear": "14:28", "final": "a:b"}, []string{"primary: two numbers of teeth", "final: two numbers of teeth"}},
		{"impossible teeth", "overall-ratio", map[string]string{"primary": "0:20", "gear": "14:28", "final": "12:48"}, []string{"primary: primary.Driving is 0, want 1 to 500"}},
		{"not yes or no", "turns-with-backlash", map[string]string{"turns": "1", "backlash": "0", "reversed": "maybe"}, []string{"reversed: want one of yes, no"}},
		{"one bad item of a list", "effective-ratio", map[string]string{"ratios": "50:1, x"}, []string{"ratios: is no quantity"}},
		{"an impossible item of a list", "effective-ratio", map[string]string{"ratios": "50:1, 0"}, []string{"ratios: is 0:1, want 5 to 1000 parts of fuel to one of oil"}},
		{"per cent without the sign", "premix-dose", mix("2"), []string{"ratio: is 2:1, want 5 to 1000 parts of fuel to one of oil; was 2 % (50:1) meant?"}},
		{"per cent as a ratio", "premix-dose", mix("4:1"), []string{"ratio: is 4:1, want 5 to 1000 parts of fuel to one of oil; was 4 % (25:1) meant?"}},
		{"per cent as a ratio, the other way", "premix-dose-for-total", map[string]string{"mixture": "5 L", "ratio": "1:2.5"}, []string{"ratio: is 2.5:1, want 5 to 1000 parts of fuel to one of oil; was 2.5 % (40:1) meant?"}},
		{"half a per cent", "premix-dose", mix("0.5"), []string{"ratio: is 2:1, want 5 to 1000 parts of fuel to one of oil; was 0.5 % (200:1) meant?"}},
		{"per cent in a list", "effective-ratio", map[string]string{"ratios": "50:1, 2"}, []string{"ratios: was 2 % (50:1) meant?"}},
		{"a long list", "effective-ratio", map[string]string{"ratios": strings.Repeat("50,", 500)}, []string{"ratios: is a list of 501"}},

		{"neither of two ways", "road-speed", map[string]string{"engine_speed": "6000", "overall_ratio": "8"}, []string{"circumference: give circumference or tyre"}},
		{"both of two ways", "road-speed", map[string]string{"engine_speed": "6000", "overall_ratio": "8", "tyre": "120/90-18", "circumference": "2 m"}, []string{"tyre: leave out one of the two"}},
		{"altitude and pressure", "tyre-pressure", map[string]string{"set_pressure": "1 bar", "set_temperature": "20", "temperature": "20", "ambient": "1 bar", "altitude": "0"}, []string{"altitude: leave out"}},
		{"one of two altitudes", "tyre-pressure", map[string]string{"set_pressure": "1 bar", "set_temperature": "20", "temperature": "20", "set_altitude": "20 km"}, []string{"set_altitude: want -500 to 11000"}},
		{"one of two airs", "main-jet", map[string]string{"jet": "180", "numbering": "flow", "from_altitude": "0", "from_temperature": "15", "to_altitude": "0", "to_temperature": "90 Cel"}, []string{"to_temperature: is 90 °C, want -30 to 50 (in °C)"}},
		{"no service description", "tyre-service", map[string]string{"tyre": "120/90-18", "axle_load": "100", "top_speed": "100"}, []string{"tyre: no service description"}},
		{"half a service description", "tyre-service", map[string]string{"load_index": "65", "axle_load": "100", "top_speed": "100"}, []string{"speed_symbol: is missing"}},

		{"no limits", "decision", map[string]string{"value": "1 mm", "guard_band": "0"}, []string{"lower: is missing"}},
		{"crossed limits", "decision", map[string]string{"value": "1 mm", "lower": "3", "upper": "2", "guard_band": "0"}, []string{"lower: is above the upper limit"}},
		{"negative guard band", "decision", map[string]string{"value": "1 mm", "lower": "1", "guard_band": "-1"}, []string{"guard_band: is below 0"}},
		{"limits of another kind", "decision", map[string]string{"value": "1 mm", "lower": "1 kPa", "guard_band": "0"}, []string{"lower: 1 kPa is pressure, want length, such as in mm"}},
		{"turns among clicks", "adjuster-plan", map[string]string{"position": "3 clicks", "current": "1", "target": "2", "move_per_turn": "1", "permitted_upper": "4 turns"}, []string{"permitted_upper: want clicks"}},
		{"a position that is none", "adjuster-plan", map[string]string{"position": "3 mm", "current": "1", "target": "2", "move_per_turn": "1"}, []string{"position: want turns or clicks"}},
		{"to another dimension", "convert", map[string]string{"value": "1 N.m", "to": "mm"}, []string{"to: measures length, want a unit of torque"}},
		{"to no unit", "convert", map[string]string{"value": "1 N.m", "to": "parsec"}, []string{"to: unknown unit"}},

		{"no shape", "level-for-volume", map[string]string{"volume": "1 L"}, []string{"length: is missing; a container of shape box takes", "width: is missing", "height: is missing"}},
		{"dimension of another shape", "level-for-volume", boxed("diameter", "20 mm", "shape", "box"), []string{"diameter: is no dimension of the shape box"}},
		{"no width", "level-for-volume", boxed("width", "0"), []string{"width: is 0 mm, want a length above 0"}},
		{"no length", "level-for-volume", boxed("length", "-5"), []string{"length: is -5 mm, want a finite number above 0"}},
		{"overfull", "level-for-volume", boxed("volume", "5 L"), []string{"volume: is 5000 mL, want 0 to the container's 2400 ml"}},
		{"leaning too far", "level-for-volume", boxed("lean", "100"), []string{"lean: is 100°, want -90 to 90"}},
		{"two corners", "container-volume", map[string]string{"outline": "0,0 1,1", "length": "10"}, []string{"outline: 3 to 1024 corners"}},
		{"a corner of three", "container-volume", map[string]string{"outline": "0,0 1,1,1 2,2", "length": "10"}, []string{`outline: "1,1,1" has 3 numbers, want 2`}},
		{"a corner in litres", "container-volume", map[string]string{"outline": "0,0 1,0 1,1 L", "length": "10"}, []string{"outline: is in L, want length"}},
		{"sections out of order", "container-volume", map[string]string{"sections": "5: 0,0 1,0 1,1; 0: 0,0 1,0 1,1"}, []string{"sections: more than the section before"}},
		{"a section without a place", "container-volume", map[string]string{"sections": "0,0 1,0 1,1"}, []string{"sections: section 1 has no place"}},
		{"an attitude out of range", "tilt-safe-fill", map[string]string{"length": "200", "width": "120", "height": "100", "neck": "100,0,100", "attitudes": "0,0 120,0"}, []string{"attitudes: LeanDeg is 120, want -90 to 90"}},
		{"a margin that leaves nothing", "tilt-safe-fill", map[string]string{"length": "200", "width": "120", "height": "100", "neck": "100,0,100", "margin_volume": "3 L"}, []string{"margin_volume: a margin that leaves something to fill"}},
		{"a point of two", "depth-at-point", boxed("point", "1,2"), []string{"point: has 2 numbers, want 3"}},
		{"the reserve above the main", "fuel-split", boxed("main", "1,2,3", "reserve", "1,2,30"), []string{"main: at least as high as the reserve one"}},
	} {
		t.Run(c.what, func(t *testing.T) {
			f, err := Find(c.formula)
			if err != nil {
				t.Fatal(err)
			}
			got, err := f.Calculate(c.inputs, quantity.Metric)
			var bad *InputErrors
			if !errors.As(err, &bad) || got != nil {
				t.Fatalf("gave %v, %v", got, err)
			}
			if bad.Formula != c.formula || len(bad.Errors) != len(c.want) {
				t.Fatalf("gave %q", bad.Errors)
			}
			for i, e := range bad.Errors {
				input, part, _ := strings.Cut(c.want[i], ": ")
				if e.Input != input || !strings.Contains(e.Message, part) {
					t.Errorf("%d: %s: %s, want %s: …%s…", i, e.Input, e.Message, input, part)
				}
				if !strings.Contains(bad.Error(), e.Input+": "+e.Message) {
					t.Errorf("Error() = %q lacks it", bad.Error())
				}
			}
		})
	}
}

// Who writes per cent, or what per cent cannot mean, is not asked about it.
func TestNoMixIsNotAsked(t *testing.T) {
	f, err := Find("premix-dose")
	if err != nil {
		t.Fatal(err)
	}
	for ratio, want := range map[string]string{
		"30 %":   "is 3.333:1, want 5 to 1000 parts of fuel to one of oil",
		"0":      "is 0:1, want 5 to 1000 parts of fuel to one of oil",
		"0.05 %": "is 2000:1, want 5 to 1000 parts of fuel to one of oil",
		"2000":   "is 2000:1, want 5 to 1000 parts of fuel to one of oil",
	} {
		_, err := f.Calculate(map[string]string{"fuel": "5 L", "ratio": ratio}, quantity.Metric)
		var bad *InputErrors
		if !errors.As(err, &bad) || len(bad.Errors) != 1 || bad.Errors[0].Message != want {
			t.Errorf("%s: %v, want %s", ratio, err, want)
		}
	}
}

// However a ratio is written, it is said in one way.
func TestMixIsSaidAlike(t *testing.T) {
	f, err := Find("premix-dose")
	if err != nil {
		t.Fatal(err)
	}
	for _, ratio := range []string{"50:1", "1:50", "50 : 1", "50", "2 %", "2%", "0.02"} {
		c, err := f.Calculate(map[string]string{"fuel": "5 L", "ratio": ratio}, quantity.Metric)
		if err != nil {
			t.Errorf("%s: %v", ratio, err)
			continue
		}
		if got := c.GetInputs()[1].GetText(); got != "50:1" {
			t.Errorf("%s: said as %s", ratio, got)
		}
	}
}
