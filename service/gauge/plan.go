package gauge

import (
	"fmt"
	"math"
	"regexp"
	"slices"
	"strings"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/options"
	"github.com/snapgauge/snapgauge/service/phrase"
	"github.com/snapgauge/snapgauge/service/quantity"
	"github.com/snapgauge/snapgauge/service/spec"
	"github.com/snapgauge/snapgauge/service/workshop"
)

// plan is a resolved sheet made ready: what is left to do for a record is to
// look up and compare. It is immutable.
type plan struct {
	resolved *spec.Resolved
	checks   []check        // in the order of the job
	index    map[string]int // characteristic id to its place in checks
	rules    []*rule
	notices  []string // what follows from the options, whatever is read
}

// check is one characteristic made ready.
type check struct {
	c    *pb.Characteristic
	kind kind

	// For kinds with numbers; all values are in unit.
	unit       quantity.Unit
	measure    phrase.Measure // how they are said
	tolerance  workshop.Interval
	possible   workshop.Interval
	hasNominal bool
	nominal    float64
	guarded    bool
	guard      float64 // r: guard band as a multiple of the expanded uncertainty

	prerequisites []int
	requiredIn    [8]bool

	adjuster *adjusterCheck
	// movers are the places of the adjusters that set this characteristic, which
	// are turned together; perStep is what one step of all of them does.
	movers   []int
	perStep  float64
	safeFill float64 // +Inf where leaning does not matter
	accepted []string
	pattern  *regexp.Regexp
}

type adjusterCheck struct {
	mechanical workshop.Interval
	step       float64
	countsOut  bool // positions grow as the adjuster is turned out
}

type kind uint8

const (
	measured kind = iota
	capacity
	fastener
	adjuster
	count
	choice
	inspection
	identifier
)

// numeric says whether readings of the kind are numbers with a unit.
func (k kind) numeric() bool { return k <= count }

var openInterval = workshop.Interval{Lower: math.Inf(-1), Upper: math.Inf(1)}

func newPlan(resolved *spec.Resolved, guard float64, rules []*rule) (*plan, error) {
	p := &plan{
		resolved: resolved,
		checks:   make([]check, len(resolved.Characteristics)),
		index:    make(map[string]int, len(resolved.Characteristics)),
		rules:    rules,
	}
	for i, c := range resolved.Characteristics {
		p.index[c.GetId()] = i
	}
	for i, c := range resolved.Characteristics {
		if err := p.checks[i].prepare(c, guard, p.index); err != nil {
			return nil, fmt.Errorf("%s: %w", c.GetId(), err)
		}
	}
	for i := range p.checks {
		moves := p.checks[i].c.GetAdjuster().GetMoves()
		if moves == nil {
			continue
		}
		// An option may take away what the adjuster moves; it then moves nothing.
		if j, ok := p.index[moves.GetCharacteristic()]; ok {
			p.checks[j].movers, p.checks[j].perStep = append(p.checks[j].movers, i), moves.GetPerStep()
		}
	}
	return p, nil
}

// noticesOf says what the law makes of the fitted options: an accepted set-up is
// not a licence for the road.
func noticesOf(sheet *pb.SpecSheet, fitted []string) []string {
	var notices []string
	offHighway, emissions := options.Legality(sheet, fitted)
	for _, o := range offHighway {
		notices = append(notices, strings.TrimSpace(o.GetDisplayName()+": for off-highway use only. "+phrase.Stop(o.GetCaution())))
	}
	for _, o := range emissions {
		if !o.GetOffHighwayOnly() {
			notices = append(notices, strings.TrimSpace(o.GetDisplayName()+": touches emissions or noise. "+phrase.Stop(o.GetCaution())))
		}
	}
	return notices
}

func (ck *check) prepare(c *pb.Characteristic, guard float64, index map[string]int) error {
	*ck = check{
		c:         c,
		tolerance: openInterval,
		possible:  openInterval,
		safeFill:  math.Inf(1),
	}
	if limits := c.GetLimits(); limits != nil {
		unit, err := quantity.ParseUnit(limits.GetUnit())
		if err != nil {
			return err
		}
		ck.unit = unit
		ck.tolerance = interval(limits.Lower, limits.Upper)
		ck.hasNominal, ck.nominal = limits.Nominal != nil, limits.GetNominal()
		ck.measure = phrase.MeasureOf(unit, ck.tolerance.Lower, ck.tolerance.Upper, ck.nominal)
	}
	if p := c.GetPossible(); p != nil {
		ck.possible = interval(p.Lower, p.Upper)
	}
	if c.GetDecisionRule() == pb.DecisionRule_DECISION_RULE_GUARDED_ACCEPTANCE {
		ck.guarded, ck.guard = true, guard
	}
	for _, phase := range c.GetRequiredIn() {
		ck.requiredIn[phase] = true
	}
	for _, id := range c.GetPrerequisites() {
		// One that an option took away no longer has to come first.
		if i, ok := index[id]; ok {
			ck.prerequisites = append(ck.prerequisites, i)
		}
	}
	return ck.prepareKind(c)
}

func (ck *check) prepareKind(c *pb.Characteristic) error {
	switch k := c.GetKind().(type) {
	case *pb.Characteristic_Measured:
		ck.kind = measured
	case *pb.Characteristic_Capacity:
		ck.kind = capacity
		safe, ok, err := spec.SafeFill(c)
		if err != nil {
			return err
		}
		if ok {
			ck.safeFill = safe
		}
	case *pb.Characteristic_Fastener:
		ck.kind = fastener
	case *pb.Characteristic_Adjuster:
		ck.kind = adjuster
		m := k.Adjuster.GetMechanicalRange()
		ck.adjuster = &adjusterCheck{
			mechanical: interval(m.Lower, m.Upper),
			step:       k.Adjuster.GetStep(),
			countsOut:  k.Adjuster.GetCounted() != pb.TurnDirection_TURN_DIRECTION_IN,
		}
		if ck.adjuster.step == 0 {
			ck.adjuster.step = 1
			if ck.unit == turns {
				ck.adjuster.step = 0.25
			}
		}
	case *pb.Characteristic_Count:
		ck.kind = count
	case *pb.Characteristic_Choice:
		ck.kind = choice
		ck.accepted = k.Choice.GetAccepted()
	case *pb.Characteristic_Inspection:
		ck.kind = inspection
	case *pb.Characteristic_Identifier:
		ck.kind = identifier
		pattern, err := regexp.Compile(`^(?:` + k.Identifier.GetPattern() + `)$`)
		if err != nil {
			return err
		}
		ck.pattern = pattern
	default:
		return fmt.Errorf("has no kind")
	}
	return nil
}

// target is the value that a remedy brings a reading to: the nominal one, else
// the middle of the limits, else the only limit there is.
func (ck *check) target() float64 {
	t := ck.tolerance
	switch {
	case ck.hasNominal:
		return ck.nominal
	case !math.IsInf(t.Lower, 0) && !math.IsInf(t.Upper, 0):
		return (t.Lower + t.Upper) / 2
	case !math.IsInf(t.Lower, 0):
		return t.Lower
	default:
		return t.Upper
	}
}

// requiredBefore says whether the characteristic is required in a phase earlier
// than the given one, so that an earlier record shows it.
func (ck *check) requiredBefore(phase pb.Phase) bool {
	return slices.Contains(ck.requiredIn[:phase], true)
}

var turns = quantity.MustUnit("circ")

func interval(lower, upper *float64) workshop.Interval {
	i := openInterval
	if lower != nil {
		i.Lower = *lower
	}
	if upper != nil {
		i.Upper = *upper
	}
	return i
}
