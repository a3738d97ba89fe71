package workshop

import (
	"math"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"
)

func TestAdjusterPublished(t *testing.T) {
	const closed = "closed form"
	v, err := MovePerTurn(0.8, 2.5)
	noErr(t, err)
	check(t, PublishedCheck{Function: "MovePerTurn", Case: "M5 adjuster (pitch 0.8 mm), lever 2.5:1", Source: closed, Where: "P·i", Want: 2, Got: v, Tolerance: 1e-12, Unit: "mm"})
	v, err = AdjusterMove(0.8, -1.5, 2.5)
	noErr(t, err)
	check(t, PublishedCheck{Function: "AdjusterMove", Case: "the same, one and a half turns back", Source: closed, Where: "P·n·i", Want: -3, Got: v, Tolerance: 1e-12, Unit: "mm"})
	v, err = TurnsToTarget(6, 3, 2)
	noErr(t, err)
	check(t, PublishedCheck{Function: "TurnsToTarget", Case: "free play 6 to 3 mm at 2 mm a turn", Source: closed, Want: -1.5, Got: v, Tolerance: 1e-12, Unit: "turns"})
	v, err = BacklashTurns(0.2, 0.8)
	noErr(t, err)
	check(t, PublishedCheck{Function: "BacklashTurns", Case: "0.2 mm of play on pitch 0.8 mm", Source: closed, Where: "play/P", Want: 0.25, Got: v, Tolerance: 1e-12, Unit: "turns"})
	v, err = TurnsWithBacklash(-1.5, 0.25, true)
	noErr(t, err)
	check(t, PublishedCheck{Function: "TurnsWithBacklash", Case: "one and a half turns back after turning in, backlash 1/4", Source: closed, Want: -1.75, Got: v, Tolerance: 1e-12, Unit: "turns"})
	p, err := PlanAdjuster(Adjuster{Position: 1, Permitted: Interval{0, 4}, Mechanical: Interval{0, 10}, MovePerTurn: 2, Detent: 0.25}, 3, 7.1)
	noErr(t, err)
	check(t, PublishedCheck{Function: "PlanAdjuster", Case: "3 to 7.1 mm at 2 mm a turn, quarter turns", Source: closed, Where: "2.05 turns to the nearest quarter", Want: 2, Got: p.Turns, Tolerance: 1e-12, Unit: "turns"})
}

func TestPlanAdjuster(t *testing.T) {
	base := Adjuster{Position: 2, Permitted: Interval{1, 4}, Mechanical: Interval{0, 6}, MovePerTurn: 1, Detent: 0.25}
	with := func(change func(*Adjuster)) Adjuster {
		a := base
		change(&a)
		return a
	}
	for name, c := range map[string]struct {
		a               Adjuster
		current, target float64
		want            AdjusterPlan
	}{
		"within reach": {
			base, 10, 11.1,
			AdjusterPlan{Exact: 1.1, Turns: 1, Position: 3, Reading: 11, Shortfall: 0.1, Allowed: true, RemainingTurns: 1},
		},
		"already right": {
			base, 10, 10.05,
			AdjusterPlan{Exact: 0.05, Position: 2, Reading: 10, Shortfall: 0.05, Allowed: true},
		},
		"stopped by the permitted range": {
			base, 10, 15,
			AdjusterPlan{Exact: 5, Turns: 2, Position: 4, Reading: 12, Shortfall: 3},
		},
		"stopped by the part": {
			with(func(a *Adjuster) { a.Permitted.Upper = inf }), 10, 15,
			AdjusterPlan{Exact: 5, Turns: 4, Position: 6, Reading: 14, Shortfall: 1},
		},
		"turning in lowers": {
			with(func(a *Adjuster) { a.MovePerTurn = -2 }), 10, 8,
			AdjusterPlan{Exact: 1, Turns: 1, Position: 3, Reading: 8, Allowed: true, RemainingTurns: 1},
		},
		"at its end": {
			with(func(a *Adjuster) { a.Position = 4 }), 10, 12,
			AdjusterPlan{Exact: 2, Position: 4, Reading: 10, Shortfall: 2, AtEnd: true},
		},
		"led back into the permitted range": {
			with(func(a *Adjuster) { a.Position = 5 }), 10, 10,
			AdjusterPlan{Turns: -1, Position: 4, Reading: 9, Shortfall: 1, RemainingTurns: 3},
		},
		"no detents": {
			with(func(a *Adjuster) { a.Detent = 0 }), 10, 10.33,
			AdjusterPlan{Exact: 0.33, Turns: 0.33, Position: 2.33, Reading: 10.33, Allowed: true, RemainingTurns: 1.67},
		},
		"no limits": {
			with(func(a *Adjuster) { a.Permitted, a.Mechanical = Interval{-inf, inf}, Interval{-inf, inf} }), 10, 110,
			AdjusterPlan{Exact: 100, Turns: 100, Position: 102, Reading: 110, Allowed: true, RemainingTurns: inf},
		},
		"clicks": {
			Adjuster{Position: 12, Permitted: Interval{0, 20}, Mechanical: Interval{0, 26}, MovePerTurn: -0.5, Detent: 1}, 30, 27.3,
			AdjusterPlan{Exact: 5.4, Turns: 5, Position: 17, Reading: 27.5, Shortfall: -0.2, Allowed: true, RemainingTurns: 3},
		},
	} {
		got, err := PlanAdjuster(c.a, c.current, c.target)
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if diff := cmp.Diff(c.want, got, cmpopts.EquateApprox(0, 1e-9)); diff != "" {
			t.Errorf("%s (-want +got):\n%s", name, diff)
		}
	}
}

func TestPlanAdjusterProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		detent := rapid.SampledFrom([]float64{0, 0.125, 0.25, 1}).Draw(t, "detent")
		grid := math.Max(detent, 0.125)
		steps := func(name string, from, to int) float64 {
			return grid * float64(rapid.IntRange(from, to).Draw(t, name))
		}
		mech := Interval{0, steps("mechanical", 8, 80)}
		low := steps("permitted low", 0, 8)
		a := Adjuster{
			Mechanical:  mech,
			Permitted:   Interval{low, math.Max(low, math.Min(mech.Upper, low+steps("permitted width", 0, 60)))},
			Position:    math.Min(mech.Upper, steps("position", 0, 80)),
			MovePerTurn: rapid.SampledFrom([]float64{-3, -0.4, 0.7, 2}).Draw(t, "move"),
			Detent:      detent,
		}
		current := rapid.Float64Range(-50, 50).Draw(t, "current")
		target := rapid.Float64Range(-50, 50).Draw(t, "target")
		p, err := PlanAdjuster(a, current, target)
		noErr(t, err)
		if p.Position < a.Permitted.Lower-1e-9 || p.Position > a.Permitted.Upper+1e-9 {
			t.Fatalf("left at %v, permitted %v", p.Position, a.Permitted)
		}
		if detent > 0 {
			if n := p.Turns / detent; math.Abs(n-math.Round(n)) > 1e-9 {
				t.Fatalf("%v turns are not whole detents of %v", p.Turns, detent)
			}
		}
		if p.Allowed && math.Abs(p.Shortfall) > math.Abs(a.MovePerTurn)*detent/2+1e-8 {
			t.Fatalf("allowed, yet short by %v", p.Shortfall)
		}
		if math.Abs(p.Reading+p.Shortfall-target) > 1e-9 {
			t.Fatalf("%v + %v is not %v", p.Reading, p.Shortfall, target)
		}
		// A second plan from where the first leads turns no further.
		a.Position = p.Position
		if again, err := PlanAdjuster(a, p.Reading, target); err != nil || math.Abs(again.Turns) > 1e-9 {
			t.Fatalf("turns again: %+v, %v", again, err)
		}
		turns, err := TurnsToTarget(current, target, a.MovePerTurn)
		noErr(t, err)
		if math.Abs(current+turns*a.MovePerTurn-target) > 1e-9 {
			t.Fatalf("%v turns do not lead to %v", turns, target)
		}
	})
}

func TestAdjusterRefuses(t *testing.T) {
	nan := math.NaN()
	ok := Adjuster{Permitted: Interval{0, 4}, Mechanical: Interval{0, 4}, MovePerTurn: 1}
	plan := func(change func(*Adjuster)) error {
		a := ok
		change(&a)
		_, err := PlanAdjuster(a, 0, 1)
		return err
	}
	for name, f := range map[string]func() error{
		"pitch 0":               func() error { _, err := MovePerTurn(0, 1); return err },
		"lever 0":               func() error { _, err := MovePerTurn(1, 0); return err },
		"turns NaN":             func() error { _, err := AdjusterMove(1, nan, 1); return err },
		"lever of move 0":       func() error { _, err := AdjusterMove(1, 1, 0); return err },
		"move 0":                func() error { _, err := TurnsToTarget(1, 2, 0); return err },
		"move 0, nothing to do": func() error { _, err := TurnsToTarget(1, 1, 0); return err },
		"target NaN":            func() error { _, err := TurnsToTarget(1, nan, 1); return err },
		"play below 0":          func() error { _, err := BacklashTurns(-1, 1); return err },
		"backlash below 0":      func() error { _, err := TurnsWithBacklash(1, -1, true); return err },
		"position NaN":          func() error { return plan(func(a *Adjuster) { a.Position = nan }) },
		"position off the part": func() error { return plan(func(a *Adjuster) { a.Position = 5 }) },
		"detent below 0":        func() error { return plan(func(a *Adjuster) { a.Detent = -1 }) },
		"permitted crossed":     func() error { return plan(func(a *Adjuster) { a.Permitted = Interval{3, 2} }) },
		"ranges apart": func() error {
			return plan(func(a *Adjuster) { a.Permitted, a.Mechanical = Interval{3, 4}, Interval{0, 2} })
		},
		"no step fits": func() error {
			return plan(func(a *Adjuster) { a.Permitted, a.Detent = Interval{0.3, 0.4}, 1 })
		},
		"plan without a move": func() error { return plan(func(a *Adjuster) { a.MovePerTurn = 0 }) },
	} {
		refused(t, name, f())
	}
}
