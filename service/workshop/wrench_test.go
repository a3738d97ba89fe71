package workshop

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

func TestWrenchPublished(t *testing.T) {
	s, err := WrenchSetting(80, 400, 50, 0)
	noErr(t, err)
	check(t, PublishedCheck{Function: "WrenchSetting", Case: "80 N·m, wrench 400, crowfoot 50 mm in line", Source: "a published extension calculator's worked example", Want: 71.1, Got: s, Tolerance: 0.05, Unit: "N·m"})
	s, err = WrenchSetting(80, 400, 50, 90)
	noErr(t, err)
	check(t, PublishedCheck{Function: "WrenchSetting", Case: "the same at 90°: no change", Source: "a published extension calculator's worked example", Want: 80, Got: s, Tolerance: 1e-9, Unit: "N·m"})
	s, err = WrenchSetting(50, 16, 2, 0)
	noErr(t, err)
	check(t, PublishedCheck{Function: "WrenchSetting", Case: "50 lbf·ft, wrench 16 in, adapter 2 in in line", Source: "a torque wrench's instructions, example", Want: 44.44, Got: s, Tolerance: 0.005, Unit: "lbf·ft"})
	s, err = WrenchSetting(100, 400, 100, 60)
	noErr(t, err)
	check(t, PublishedCheck{Function: "WrenchSetting", Case: "100 N·m, wrench 400, extension 100 mm at 60°: L_eff = 450", Source: "US Army TM 9-254", Where: "figure 46, T·l/(l + l_A·cos a)", Want: 100 * 400 / 450.0, Got: s, Tolerance: 1e-9, Unit: "N·m"})
	f, err := TorqueAtFastener(44.44, 16, 2, 0)
	noErr(t, err)
	check(t, PublishedCheck{Function: "TorqueAtFastener", Case: "44.44 lbf·ft set, wrench 16 in, adapter 2 in in line", Source: "a torque wrench's instructions, example", Want: 50, Got: f, Tolerance: 0.006, Unit: "lbf·ft"})

	const iso = "ISO 6789:2003"
	for _, c := range []struct {
		tool   TorqueToolType
		class  string
		max    float64
		want   float64
		name   string
		memory bool
	}{
		{Setting, "A", 100, 0.04, "type II class A above 10 N·m", false},
		{Setting, "A", 10, 0.06, "type II class A to 10 N·m", false},
		{Setting, "G", 100, 0.06, "type II class G", true},
		{Indicating, "A", 100, 0.06, "type I class A", true},
		{Indicating, "B", 100, 0.04, "type I class B above 10 N·m", true},
		{Indicating, "C", 8, 0.06, "type I class C to 10 N·m", true},
	} {
		got, err := TorqueToolDeviation(c.tool, c.class, c.max)
		noErr(t, err)
		source := iso
		if !c.memory {
			source += ", as quoted in a torque wrench's instructions"
		}
		check(t, PublishedCheck{Function: "TorqueToolDeviation", Case: c.name, Source: source, Where: "5.1.5", Want: c.want, Got: got, FromMemory: c.memory})
	}
	for _, c := range []struct {
		name           string
		months, cycles float64
		want           float64
	}{
		{"11 months, 4999 cycles", 11, 4999, 0},
		{"12 months", 12, 0, 1},
		{"5000 cycles", 1, 5000, 1},
	} {
		due, err := TorqueToolCalibrationDue(c.months, c.cycles)
		noErr(t, err)
		check(t, PublishedCheck{Function: "TorqueToolCalibrationDue", Case: c.name + " (1: due)", Source: iso, Where: "6.3: 12 months or 5000 cycles", Want: c.want, Got: truth(due), FromMemory: true})
	}
}

func TestWrenchProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		torque := rapid.Float64Range(0.1, 300).Draw(t, "torque")
		l := rapid.Float64Range(110, 1000).Draw(t, "wrench")
		e := rapid.Float64Range(0, 90).Draw(t, "extension")
		a := rapid.Float64Range(-180, 180).Draw(t, "angle")
		s, err := WrenchSetting(torque, l, e, a)
		noErr(t, err)
		back, err := TorqueAtFastener(s, l, e, a)
		noErr(t, err)
		if math.Abs(back-torque) > 1e-9*torque {
			t.Fatalf("%v set as %v gives %v", torque, s, back)
		}
		mirror, err := WrenchSetting(torque, l, e, -a)
		noErr(t, err)
		if math.Abs(mirror-s) > 1e-9*s {
			t.Fatalf("left %v, right %v", s, mirror)
		}
		if ahead := math.Abs(a) < 90; e > 0 && ahead && s > torque || e > 0 && math.Abs(a) > 90 && s < torque {
			t.Fatalf("angle %v: %v set for %v", a, s, torque)
		}
		straight, err := WrenchSetting(torque, l, e, 0)
		noErr(t, err)
		if straight > s+1e-9 {
			t.Fatalf("straight ahead must need the least: %v, at %v° %v", straight, a, s)
		}
	})
}

func TestWrenchRefuses(t *testing.T) {
	nan := math.NaN()
	for name, f := range map[string]func() error{
		"torque below 0":      func() error { _, err := WrenchSetting(-1, 400, 50, 0); return err },
		"setting NaN":         func() error { _, err := TorqueAtFastener(nan, 400, 50, 0); return err },
		"wrench length 0":     func() error { _, err := WrenchSetting(1, 0, 50, 0); return err },
		"extension below 0":   func() error { _, err := WrenchSetting(1, 400, -50, 0); return err },
		"angle 181":           func() error { _, err := WrenchSetting(1, 400, 50, 181); return err },
		"folded to the hand":  func() error { _, err := WrenchSetting(1, 400, 400, 180); return err },
		"folded past it":      func() error { _, err := TorqueAtFastener(1, 400, 500, 180); return err },
		"extension infinite":  func() error { _, err := TorqueAtFastener(1, 400, inf, 0); return err },
		"tool type 0":         func() error { _, err := TorqueToolDeviation(0, "A", 10); return err },
		"type I class F":      func() error { _, err := TorqueToolDeviation(Indicating, "F", 10); return err },
		"type II class H":     func() error { _, err := TorqueToolDeviation(Setting, "H", 10); return err },
		"largest torque 0":    func() error { _, err := TorqueToolDeviation(Setting, "A", 0); return err },
		"months below 0":      func() error { _, err := TorqueToolCalibrationDue(-1, 0); return err },
		"cycles not a number": func() error { _, err := TorqueToolCalibrationDue(0, nan); return err },
	} {
		refused(t, name, f())
	}
}
