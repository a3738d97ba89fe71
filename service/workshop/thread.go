package workshop

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// Thread is an ISO metric screw thread (60° profile). Make one with
// [ParseThread] or as a literal; methods that need a sound thread return an
// error for one whose diameter or pitch is impossible.
type Thread struct {
	// DiameterMM is the nominal (major) diameter d.
	DiameterMM float64
	// PitchMM is the distance from one thread to the next, P.
	PitchMM float64
}

// coarsePitch holds the coarse series: nominal diameter and pitch in
// millimetres.
//
// Source: ISO 261:1998, table 2; sizes from M3 up checked against ISO 898-1
// tables, the smaller ones from memory.
var coarsePitch = map[float64]float64{
	1: 0.25, 1.2: 0.25, 1.4: 0.3, 1.6: 0.35, 1.8: 0.35,
	2: 0.4, 2.2: 0.45, 2.5: 0.45, 3: 0.5, 3.5: 0.6, 4: 0.7, 4.5: 0.75, 5: 0.8,
	6: 1, 7: 1, 8: 1.25, 9: 1.25, 10: 1.5, 11: 1.5, 12: 1.75, 14: 2, 16: 2,
	18: 2.5, 20: 2.5, 22: 2.5, 24: 3, 27: 3, 30: 3.5, 33: 3.5, 36: 4, 39: 4,
	42: 4.5, 45: 4.5, 48: 5, 52: 5, 56: 5.5, 60: 5.5, 64: 6,
}

// CoarsePitch returns the pitch in millimetres that a designation without a
// pitch means: M8 is M8×1.25. Diameters that the coarse series lacks are
// refused.
//
// Source: ISO 261:1998, table 2.
func CoarsePitch(diameterMM float64) (float64, error) {
	if p, ok := coarsePitch[diameterMM]; ok {
		return p, nil
	}
	return 0, badInput("diameterMM", diameterMM, "a diameter of the ISO 261 coarse series, such as 6, 8 or 10; state the pitch of any other thread")
}

// ParseThread reads a designation such as M8, M8x1.25, M10×1.25 or "M 10 x 1,25".
// The letter may be small, the sign x, X, × or *, the decimal sign a point or a
// comma. Without a pitch the coarse one is meant. Tolerance classes (-6g),
// left-hand marks (-LH), multiple starts and threads that are not metric are
// refused rather than ignored.
//
// Source: ISO 965-1 and ISO 261 for the form of the designation.
func ParseThread(designation string) (Thread, error) {
	const want = "an ISO metric thread such as M8 or M10x1.25"
	bad := func() (Thread, error) { return Thread{}, badText("designation", designation, want) }

	s := strings.Join(strings.Fields(designation), "")
	rest, ok := strings.CutPrefix(s, "M")
	if !ok {
		if rest, ok = strings.CutPrefix(s, "m"); !ok {
			return bad()
		}
	}
	rest = strings.NewReplacer("X", "x", "×", "x", "*", "x").Replace(rest)
	diameter, pitch, fine := strings.Cut(rest, "x")

	var t Thread
	if t.DiameterMM, ok = parseMillimetres(diameter); !ok {
		return bad()
	}
	if !fine {
		p, err := CoarsePitch(t.DiameterMM)
		if err != nil {
			return Thread{}, err
		}
		t.PitchMM = p
		return t, nil
	}
	if t.PitchMM, ok = parseMillimetres(pitch); !ok {
		return bad()
	}
	if err := t.check(); err != nil {
		return Thread{}, err
	}
	return t, nil
}

// parseMillimetres reads digits with at most one decimal point or comma. It does
// not use ParseFloat's wider grammar: "8e0", "0x8" and "Inf" are no diameters.
func parseMillimetres(s string) (float64, bool) {
	s = strings.Replace(s, ",", ".", 1)
	if s == "" || len(s) > 8 || strings.Trim(s, "0123456789.") != "" || s[0] == '.' || s[len(s)-1] == '.' {
		return 0, false
	}
	v, err := strconv.ParseFloat(s, 64)
	return v, err == nil
}

// check refuses diameters outside ISO 261 and pitches that no thread of the
// diameter has. The coarsest thread of ISO 261 is M1×0.25.
func (t Thread) check() error {
	if err := inRange("DiameterMM", t.DiameterMM, 1, 300); err != nil {
		return err
	}
	return inRange("PitchMM", t.PitchMM, 0.2, 0.25*t.DiameterMM)
}

// String returns the designation: M8 for a coarse thread, M10×1.25 for a fine
// one.
func (t Thread) String() string {
	d := strconv.FormatFloat(t.DiameterMM, 'f', -1, 64)
	if coarsePitch[t.DiameterMM] == t.PitchMM && t.PitchMM != 0 {
		return "M" + d
	}
	return fmt.Sprintf("M%s×%s", d, strconv.FormatFloat(t.PitchMM, 'f', -1, 64))
}

// ThreadGeometry holds the basic dimensions of a thread.
type ThreadGeometry struct {
	HeightMM             float64 // H, of the sharp fundamental triangle
	PitchDiameterMM      float64 // d2
	MinorDiameterMM      float64 // d1, of the internal thread
	CoreDiameterMM       float64 // d3, of the external thread's rounded root
	StressAreaMM2        float64 // A_s = π/4·((d2+d3)/2)²
	LeadAngleDeg         float64 // at the pitch diameter, single start
	TappingDrillApproxMM float64 // d-P, the drill that leaves about three quarters of the thread
}

// Geometry returns the basic dimensions. The diameter must be 1 to 300 mm and
// the pitch 0.2 mm to a quarter of the diameter.
//
// Source: ISO 68-1 and ISO 724:1993 (d1, d2, H), ISO 898-1:2013, 9.1.6.1 (d3,
// A_s). The drill is common practice, no source.
func (t Thread) Geometry() (ThreadGeometry, error) {
	if err := t.check(); err != nil {
		return ThreadGeometry{}, err
	}
	h := math.Sqrt(3) / 2 * t.PitchMM
	d2 := t.DiameterMM - 2*(3.0/8)*h
	d1 := t.DiameterMM - 2*(5.0/8)*h
	d3 := d1 - h/6
	mean := (d2 + d3) / 2
	return ThreadGeometry{
		HeightMM:             h,
		PitchDiameterMM:      d2,
		MinorDiameterMM:      d1,
		CoreDiameterMM:       d3,
		StressAreaMM2:        math.Pi / 4 * mean * mean,
		LeadAngleDeg:         math.Atan(t.PitchMM/(math.Pi*d2)) * 180 / math.Pi,
		TappingDrillApproxMM: t.DiameterMM - t.PitchMM,
	}, nil
}
