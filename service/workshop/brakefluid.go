package workshop

import "strings"

// BrakeFluidBase is what a hydraulic fluid is made of. Bases never mix.
type BrakeFluidBase uint8

const (
	// Glycol is DOT 3, DOT 4 and DOT 5.1.
	Glycol BrakeFluidBase = iota + 1
	// Silicone is DOT 5.
	Silicone
	// MineralOil is used in some clutches and brakes. It swells the seals of a
	// glycol system, and glycol those of a mineral oil system, until the brake
	// fails.
	MineralOil
)

// BrakeFluid is what a grade promises of a fluid.
type BrakeFluid struct {
	Base BrakeFluidBase
	// DryBoilingC and WetBoilingC are the least equilibrium reflux boiling points
	// in °C as filled and with the water of some years' use (about 3.7 % by
	// volume). Both are 0 for mineral oil, which has no grade.
	DryBoilingC, WetBoilingC float64
}

// brakeFluids by grade.
//
// Source: 49 CFR 571.116, S5.1.1 and S5.1.2, as quoted by an encyclopedia;
// bases from its S4 and S5.1.
var brakeFluids = map[string]BrakeFluid{
	"DOT3":    {Glycol, 205, 140},
	"DOT4":    {Glycol, 230, 155},
	"DOT5":    {Silicone, 260, 180},
	"DOT5.1":  {Glycol, 260, 180},
	"MINERAL": {Base: MineralOil},
}

// BrakeFluidGrade returns what a grade promises: DOT 3, DOT 4, DOT 5 (silicone),
// DOT 5.1 (glycol, although its number follows 5) or mineral. Spaces and small
// letters are allowed. Higher grades of single makers (racing fluids) are sold
// under one of these.
//
// Source: 49 CFR 571.116, S5.1.1 and S5.1.2.
func BrakeFluidGrade(grade string) (BrakeFluid, error) {
	f, ok := brakeFluids[strings.ToUpper(strings.Join(strings.Fields(grade), ""))]
	if !ok {
		return BrakeFluid{}, badText("grade", grade, "DOT 3, DOT 4, DOT 5, DOT 5.1 or mineral")
	}
	return f, nil
}

// BrakeFluidsMix says whether fluids of two grades may meet in one system, in
// topping up or after draining without a flush: only those of the same base. A
// mixture of glycol grades has the boiling point of neither.
//
// Source: bases, 49 CFR 571.116; not mixing them, common practice, no source.
func BrakeFluidsMix(a, b string) (bool, error) {
	fa, err := BrakeFluidGrade(a)
	if err != nil {
		return false, err
	}
	fb, err := BrakeFluidGrade(b)
	if err != nil {
		return false, err
	}
	return fa.Base == fb.Base, nil
}

// BrakeFluidSuits says whether a fluid of the offered grade may fill a system
// that requires another: the same base, and boiling points at least as high.
// DOT 5.1 may stand in for DOT 4; DOT 5 never may, nor mineral oil for any of
// them.
//
// Source: 49 CFR 571.116, S5.1.1 and S5.1.2.
func BrakeFluidSuits(required, offered string) (bool, error) {
	r, err := BrakeFluidGrade(required)
	if err != nil {
		return false, err
	}
	o, err := BrakeFluidGrade(offered)
	if err != nil {
		return false, err
	}
	return o.Base == r.Base && o.DryBoilingC >= r.DryBoilingC && o.WetBoilingC >= r.WetBoilingC, nil
}
