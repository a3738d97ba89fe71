package spec

import (
	"fmt"
	"math"
	"regexp"
	"slices"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/quantity"
)

var (
	dimensionVolume = quantity.MustUnit("mL").Dimension()
	dimensionMass   = quantity.MustUnit("g").Dimension()
	dimensionTorque = quantity.MustUnit("N.m").Dimension()
	dimensionAngle  = quantity.MustUnit("circ").Dimension()
	dimensionClicks = quantity.MustUnit("{click}").Dimension()
	dimensionNone   = quantity.MustUnit("1").Dimension()
)

// numeric reports whether readings of ch are numbers, judged by limits.
func numeric(ch *pb.Characteristic) bool {
	switch ch.GetKind().(type) {
	case *pb.Characteristic_Measured, *pb.Characteristic_Capacity, *pb.Characteristic_Fastener,
		*pb.Characteristic_Adjuster, *pb.Characteristic_Count:
		return true
	}
	return false
}

// kindName is the kind of ch as sheets spell it.
func kindName(ch *pb.Characteristic) string {
	m := ch.ProtoReflect()
	kind := m.WhichOneof(m.Descriptor().Oneofs().ByName("kind"))
	if kind == nil {
		return "characteristic without a kind"
	}
	return string(kind.Name())
}

// characteristic checks one characteristic by itself.
func (l *linter) characteristic(path string, ch *pb.Characteristic) {
	if slices.Contains(reservedIDs, ch.GetId()) {
		l.add(path+".id", "got %q, which has a meaning of its own in rules", ch.GetId())
	}
	if ch.GetSeverity() == pb.Severity_SEVERITY_SAFETY && ch.GetCaution() == "" {
		l.add(path+".caution", "missing: wanted wherever the severity is SAFETY")
	}
	l.conditions(path, ch)
	if ch.GetKind() == nil {
		return // told by the schema
	}
	if !numeric(ch) {
		l.notNumeric(path, ch)
		return
	}
	limits := ch.GetLimits()
	if limits == nil {
		l.add(path+".limits", "missing: kind %s has limits", kindName(ch))
		return
	}
	if limits.Lower == nil && limits.Upper == nil {
		l.add(path+".limits", "has neither a lower nor an upper limit, so nothing would be wrong")
	}
	l.unit(path, ch)
	l.possible(path, ch)
	l.guarded(path, ch)
	switch kind := ch.GetKind().(type) {
	case *pb.Characteristic_Capacity:
		l.capacity(path, ch)
	case *pb.Characteristic_Fastener:
		l.thread(path+".fastener.thread", kind.Fastener.GetThread())
		l.torque(path, limits, kind.Fastener)
	case *pb.Characteristic_Adjuster:
		l.adjuster(path, limits, kind.Adjuster)
	}
}

// guarded checks that a decision with uncertainty is asked for only where there
// is one: positions and counts are read as they stand.
func (l *linter) guarded(path string, ch *pb.Characteristic) {
	if ch.GetDecisionRule() != pb.DecisionRule_DECISION_RULE_GUARDED_ACCEPTANCE {
		return
	}
	switch ch.GetKind().(type) {
	case *pb.Characteristic_Adjuster, *pb.Characteristic_Count:
		l.add(path+".decision_rule", "got GUARDED_ACCEPTANCE, which kind %s does not have: it is read without uncertainty", kindName(ch))
	}
}

// notNumeric checks a choice, inspection or identifier.
func (l *linter) notNumeric(path string, ch *pb.Characteristic) {
	if ch.GetLimits() != nil {
		l.add(path+".limits", "not wanted: kind %s has none", kindName(ch))
	}
	if ch.GetPossible() != nil {
		l.add(path+".possible", "not wanted: kind %s is not a number", kindName(ch))
	}
	if ch.GetDecisionRule() == pb.DecisionRule_DECISION_RULE_GUARDED_ACCEPTANCE {
		l.add(path+".decision_rule", "got GUARDED_ACCEPTANCE, which needs limits; kind %s has none", kindName(ch))
	}
	if identifier := ch.GetIdentifier(); identifier != nil {
		if _, err := regexp.Compile(`^(?:` + identifier.GetPattern() + `)$`); err != nil {
			l.add(path+".identifier.pattern", "got %q, which is no RE2 pattern: %v", identifier.GetPattern(), err)
		}
	}
}

// unit checks that the unit exists and measures what the kind is about.
func (l *linter) unit(path string, ch *pb.Characteristic) {
	limits := ch.GetLimits()
	path += ".limits"
	if limits.GetUnit() == "" {
		return // told by the schema
	}
	u, err := quantity.ParseUnit(limits.GetUnit())
	if err != nil {
		l.add(path+".unit", "%v", err)
		return
	}
	dimension := u.Dimension()
	want := ""
	switch ch.GetKind().(type) {
	case *pb.Characteristic_Capacity:
		if dimension != dimensionVolume && dimension != dimensionMass {
			want = "a volume or a mass"
		}
	case *pb.Characteristic_Fastener:
		if dimension != dimensionTorque {
			want = "a torque"
		}
	case *pb.Characteristic_Adjuster:
		if dimension != dimensionAngle && dimension != dimensionClicks {
			want = `turns ("circ") or clicks ("{click}")`
		}
	case *pb.Characteristic_Count:
		if dimension != dimensionNone {
			want = `a plain number ("1")`
		}
		for _, end := range ends(limits) {
			if end.value != math.Trunc(end.value) {
				l.add(path+"."+end.name, "got %g, want a whole number", end.value)
			}
		}
	}
	if want != "" {
		l.add(path+".unit", "got %q, which is a %s, want %s", limits.GetUnit(), dimension, want)
	}
	if _, isCount := ch.GetKind().(*pb.Characteristic_Count); isCount || u.NonNegative() {
		for _, end := range ends(limits) {
			if end.value < 0 {
				l.add(path+"."+end.name, "got %g %s, want nought or more", end.value, u)
			}
		}
	}
}

type end struct {
	name  string
	value float64
}

// ends returns the figures of the limits that are stated.
func ends(limits *pb.Limits) []end {
	var stated []end
	for _, e := range []struct {
		name  string
		value *float64
	}{{"lower", limits.Lower}, {"upper", limits.Upper}, {"nominal", limits.Nominal}} {
		if e.value != nil {
			stated = append(stated, end{e.name, *e.value})
		}
	}
	return stated
}

// possible checks that whatever conforms is possible.
func (l *linter) possible(path string, ch *pb.Characteristic) {
	if ch.GetPossible() != nil {
		l.within(path+".possible", "what is possible at all", ch.GetLimits(), ch.GetPossible())
	}
}

// within checks that the limits lie inside an interval. The path is that of
// the interval.
func (l *linter) within(path, what string, limits *pb.Limits, outer *pb.Interval) {
	for _, e := range ends(limits) {
		if outer.Lower != nil && e.value < outer.GetLower() {
			l.add(path+".lower", "got %g, but the %s limit is %g: limits must lie inside %s",
				outer.GetLower(), e.name, e.value, what)
		}
		if outer.Upper != nil && e.value > outer.GetUpper() {
			l.add(path+".upper", "got %g, but the %s limit is %g: limits must lie inside %s",
				outer.GetUpper(), e.name, e.value, what)
		}
	}
}

// safeFillAgreement is how far a stated safe fill may be from the one computed
// from the container's geometry, as a share of it: about what a tank's drawing
// and a measuring jug differ by.
const safeFillAgreement = 0.02

// capacity checks that a fill inside the limits can be safe, and that a stated
// safe fill agrees with the container's geometry.
func (l *linter) capacity(path string, ch *pb.Characteristic) {
	c := ch.GetCapacity()
	if c == nil {
		return // told by the schema
	}
	limits, stated := ch.GetLimits(), c.SafeFill
	computed, known, err := computedSafeFill(ch)
	if err != nil {
		l.add(path+".capacity.container", "%v", err)
	}
	path += ".capacity.safe_fill"
	if stated != nil && known && math.Abs(*stated-computed) > safeFillAgreement*computed {
		l.add(path, "got %g, but the container's geometry gives %.4g at a lean of %g degrees", *stated, computed, c.GetStandLeanDeg())
	}
	safe, ok, err := SafeFill(ch)
	switch {
	case err != nil || !ok:
	case limits.Lower != nil && safe < limits.GetLower():
		l.add(path, "got %.4g, want no less than the lower limit %g: no fill would be right", safe, limits.GetLower())
	case limits.Upper != nil && safe < limits.GetUpper():
		l.add(path, "got %.4g, want no less than the upper limit %g: a fill inside the limits would overflow", safe, limits.GetUpper())
	case limits.Nominal != nil && safe < limits.GetNominal():
		l.add(path, "got %.4g, want no less than the nominal fill %g, which remedies aim at", safe, limits.GetNominal())
	}
}

// adjuster checks that the permitted positions can be reached.
func (l *linter) adjuster(path string, limits *pb.Limits, a *pb.Adjuster) {
	path += ".adjuster"
	reach := a.GetMechanicalRange()
	if reach != nil {
		l.within(path+".mechanical_range", "what the adjuster can reach", limits, reach)
	}
	if a.GetFlushLimit() && (reach == nil || reach.Lower == nil || reach.GetLower() != 0) {
		got := "none"
		if reach != nil && reach.Lower != nil {
			got = fmt.Sprintf("%g", reach.GetLower())
		}
		l.add(path+".mechanical_range.lower", "got %s, want 0: with flush_limit, position nought is flush and the least", got)
	}
}
