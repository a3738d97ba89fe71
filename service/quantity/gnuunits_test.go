package quantity

import (
	"bufio"
	"fmt"
	"math"
	"os"
	"os/exec"
	"strconv"
	"strings"
	"testing"
)

// gnuNames says what GNU units, an independent program, calls our units.
// Temperature scales are functions there: see gnuValue.
var gnuNames = map[string]string{
	"1": "1", "%": "percent", "{link}": "1", "{tooth}": "1",
	"ms": "ms", "s": "s", "min": "min", "h": "hr", "d": "day",
	"um": "um", "mm": "mm", "cm": "cm", "m": "m", "km": "km",
	"[mil_i]": "mil", "[in_i]": "in", "[ft_i]": "ft", "[mi_i]": "mile",
	"mm2": "mm^2",
	"mL":  "ml", "cm3": "cm^3", "L": "l", "[foz_us]": "usfloz", "[pt_us]": "uspint", "[qt_us]": "usquart",
	"[gal_us]": "usgallon", "[foz_br]": "brfloz", "[gal_br]": "brgallon",
	"deg": "degree", "rad": "radian", "circ": "turn",
	"g": "g", "kg": "kg", "[oz_av]": "oz", "[lb_av]": "lb",
	"N": "N", "kN": "kN", "kgf": "kgf", "[lbf_av]": "lbf",
	"cN.m": "cN m", "N.m": "N m", "kgf.m": "kgf m", "[lbf_av].[ft_i]": "lbf ft", "[lbf_av].[in_i]": "lbf in",
	"Pa": "Pa", "hPa": "hPa", "kPa": "kPa", "MPa": "MPa", "bar": "bar", "kgf/cm2": "kgf/cm^2", "[psi]": "psi", "mm[Hg]": "mmHg",
	"N/mm": "N/mm", "kgf/mm": "kgf/mm", "[lbf_av]/[in_i]": "lbf/in",
	"/min": "rpm",
	"m/s":  "m/s", "km/h": "km/hr", "[mi_i]/h": "mph",
	"kg/m3": "kg/m^3", "kg/L": "kg/l", "g/cm3": "g/cm^3",
	"mm2/s": "mm^2/s", "cSt": "cSt",
	"mV": "mV", "V": "V", "mA": "mA", "A": "A", "Ohm": "ohm", "A.h": "A hr",
	"W": "W", "kW": "kW", "W.h": "W hr", "kW.h": "kW hr",
}

var gnuScales = map[string]string{"Cel": "tempC", "[degF]": "tempF", "K": "K"}

// gnuValue writes v of u as GNU units reads it, and the name to convert to u.
func gnuValue(v float64, u Unit) (value, name string, ok bool) {
	if scale, isTemperature := gnuScales[u.Code()]; isTemperature {
		if scale == "K" {
			return fmt.Sprintf("%.17g K", v), "K", true
		}
		return fmt.Sprintf("%s(%.17g)", scale, v), scale, true
	}
	name, ok = gnuNames[u.Code()]
	return fmt.Sprintf("%.17g (%s)", v, name), name, ok
}

// TestAgainstGNUUnits compares every pair of units, alike or not, with GNU
// units. CI installs the program; elsewhere the test is left out without it.
func TestAgainstGNUUnits(t *testing.T) {
	program, err := exec.LookPath("units")
	if err != nil {
		if os.Getenv("CI") == "true" {
			t.Fatalf("GNU units is not installed: %v", err)
		}
		t.Skipf("GNU units is not installed: %v", err)
	}
	// A refusal takes a varying number of lines, so a conversion with a known
	// answer ends each question.
	const end = "31337.25"
	type question struct {
		v        float64
		from, to Unit
	}
	var questions []question
	var input strings.Builder
	for _, from := range Units() {
		if from.Dimension() == dimClicks {
			continue // ours alone
		}
		for _, to := range Units() {
			if to.Dimension() == dimClicks {
				continue
			}
			values := []float64{1}
			if from.Dimension() == to.Dimension() {
				values = []float64{0.37, 1, 12.5, 4321}
			}
			for _, v := range values {
				value, _, ok1 := gnuValue(v, from)
				_, name, ok2 := gnuValue(v, to)
				if !ok1 || !ok2 {
					t.Fatalf("gnuNames lacks %v or %v", from, to)
				}
				questions = append(questions, question{v, from, to})
				fmt.Fprintf(&input, "%s\n%s\n%s\n1\n", value, name, end)
			}
		}
	}
	cmd := exec.Command(program, "-t", "-o", "%.17g")
	cmd.Env = append(os.Environ(), "LC_ALL=C")
	cmd.Stdin = strings.NewReader(input.String())
	output, err := cmd.Output()
	if err != nil {
		t.Fatalf("units -t: %v", err)
	}
	answers := bufio.NewScanner(strings.NewReader(string(output)))
	compared, refused := 0, 0
	for _, q := range questions {
		answer := ""
		for answers.Scan() && answers.Text() != end {
			if answer == "" {
				answer = strings.TrimSpace(answers.Text())
			}
		}
		if answer == "" {
			t.Fatalf("units -t has no answer for %v %v to %v", q.v, q.from, q.to)
		}
		got, err := q.from.Convert(q.v, q.to)
		switch want, number := strconv.ParseFloat(answer, 64); {
		case err != nil && number == nil:
			if !keptApart(q.from, q.to) {
				t.Errorf("%v %v to %v: refused, GNU units says %v", q.v, q.from, q.to, want)
			}
			refused++
		case err != nil:
			refused++
		case number != nil:
			t.Errorf("%v %v to %v: %v, GNU units says %q", q.v, q.from, q.to, got, answer)
		default:
			// Temperatures lose digits where the offsets cancel.
			if math.Abs(got-want) > 1e-13*max(math.Abs(want), offsetScale(q.to)) {
				t.Errorf("%v %v is %.17g %v, GNU units says %.17g", q.v, q.from, got, q.to, want)
			}
			compared++
		}
	}
	if answers.Scan() {
		t.Errorf("units -t has more to say: %q", answers.Text())
	}
	t.Logf("%d conversions compared, %d refused by both or kept apart by us", compared, refused)
}

// keptApart reports the pairs that GNU units converts and this package
// refuses on purpose: torque is no energy and a turn is no plain number.
func keptApart(a, b Unit) bool {
	kinds := map[Dimension]int{dimTorque: 1, dimEnergy: 1, dimNone: 2, dimAngle: 2}
	return kinds[a.Dimension()] != 0 && kinds[a.Dimension()] == kinds[b.Dimension()]
}
