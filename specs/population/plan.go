package population

import (
	"fmt"
	"math"
	"regexp"
	"slices"
	"strings"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/quantity"
	"github.com/snapgauge/snapgauge/service/spec"
)

// plan is one occasion for units that are alike: what is read, in the order of
// the job.
type plan struct {
	family  *family
	phase   pb.Phase
	options []string
	// least is the least time that the sheet gives for the phase, or what stands for
	// it, in seconds.
	least int64
	// conditions are stated for the whole record.
	conditions []pb.Condition
	tasks      []*task
}

// task is one characteristic of a plan, made ready.
type task struct {
	place int // in the plan
	c     *pb.Characteristic
	kind  kind
	// extra says that the phase does not require it; some shops read it all the same.
	extra bool
	// name is the same for one characteristic on all sheets.
	name uint64
	// stem is the same for what is alike on one machine: left and right, new and
	// settled, at either lock.
	stem uint64
	// twin is the task that a rule of the sheet wants this one to agree with, which
	// comes earlier, or nil.
	twin *task
	// ruled says that a rule of the sheet speaks of it.
	ruled bool
	// before are the places of the prerequisites that are in the plan.
	before []int
	// moved says that an adjuster sets it.
	moved bool

	// conditions are stated for the reading, wrong are their opposites.
	conditions, wrong []pb.Condition

	unit                 quantity.Unit
	lower, upper         float64 // infinite where there is none
	aim                  float64
	half                 float64 // from the aim to the nearer limit
	oneSided             bool    // the aim is the lower limit: values lie above it
	guarded              bool
	guard                float64
	possible, impossible float64 // least and greatest that can be

	choices []*pb.Reading_Choice // right ones
	text    text
	fitted  *pb.FittedFastener
}

// kind is how a characteristic comes by its result.
type kind uint8

const (
	isMeasured kind = iota // read off an instrument
	isFilled               // poured in
	isClicked              // tightened to a set torque
	isTurned               // an adjuster's position
	isCounted
	isChosen
	isInspected
	isIdentified
)

// numeric says whether results are numbers.
func (k kind) numeric() bool { return k <= isCounted }

// planKey tells plans apart.
type planKey struct {
	revision  *spec.Revision
	phase     pb.Phase
	set       int
	bulletins uint64 // one bit for each on the sheet
}

// plans makes plans, and keeps them: their number is bounded by the sheets.
type plans map[planKey]*plan

func (all plans) get(f *family, r *spec.Revision, phase pb.Phase, set int, bulletins []string) (*plan, error) {
	key := planKey{revision: r, phase: phase, set: set}
	for i, b := range r.Sheet().GetBulletins() {
		if slices.Contains(bulletins, b.GetId()) {
			key.bulletins |= 1 << i
		}
	}
	if p, ok := all[key]; ok {
		return p, nil
	}
	p, err := newPlan(f, r, phase, f.sets[set], bulletins)
	if err != nil {
		return nil, fmt.Errorf("%s, %s: %w", r.Name(), phase, err)
	}
	all[key] = p
	return p, nil
}

func newPlan(f *family, r *spec.Revision, phase pb.Phase, options, bulletins []string) (*plan, error) {
	resolved, err := r.Resolve(options, bulletins)
	if err != nil {
		return nil, err
	}
	p := &plan{family: f, phase: phase, options: options, least: 30 * 60}
	for _, least := range r.Sheet().GetLeastTimes() {
		if least.GetPhase() == phase {
			p.least = 60 * int64(least.GetMinutes())
		}
	}
	wanted := read(resolved, phase)
	guard := 1.0
	if r.Sheet().GuardBandMultiplier != nil {
		guard = r.Sheet().GetGuardBandMultiplier()
	}
	place := make(map[string]int)
	for _, c := range resolved.Characteristics {
		extra, in := wanted[c.GetId()]
		if !in {
			continue
		}
		t, err := newTask(c, guard)
		if err != nil {
			return nil, fmt.Errorf("%s: %w", c.GetId(), err)
		}
		t.extra, t.place = extra, len(p.tasks)
		if aim, ok := aims[aimKey{c.GetId(), phase}]; ok && aim > t.lower && aim < t.upper {
			t.aim, t.half = aim, math.Min(aim-t.lower, t.upper-aim)
		}
		for _, id := range c.GetPrerequisites() {
			if i, ok := place[id]; ok {
				t.before = append(t.before, i)
			}
		}
		place[c.GetId()] = t.place
		p.tasks = append(p.tasks, t)
	}
	for _, c := range resolved.Characteristics {
		if i, ok := place[c.GetAdjuster().GetMoves().GetCharacteristic()]; ok {
			p.tasks[i].moved = true
		}
	}
	for _, rule := range resolved.Rules {
		p.heed(rule, place)
	}
	p.state()
	return p, nil
}

// heed notes what a rule speaks of. Of two that it compares and that are the two
// sides of one thing, the later follows the earlier.
func (p *plan) heed(rule *pb.Rule, place map[string]int) {
	var spoken []*task
	for _, id := range word.FindAllString(rule.GetExpression(), -1) {
		if i, ok := place[id]; ok {
			p.tasks[i].ruled = true
			spoken = append(spoken, p.tasks[i])
		}
	}
	for _, a := range spoken {
		for _, b := range spoken {
			if a.place < b.place && a.stem == b.stem && b.twin == nil && sides(a.c.GetId(), b.c.GetId()) {
				b.twin = a
			}
		}
	}
}

var word = regexp.MustCompile(`[a-z][a-z0-9_]*`)

// sides reports whether two are the left and the right one.
func sides(a, b string) bool {
	if strings.HasSuffix(a, "_lock") {
		return false
	}
	return strings.TrimSuffix(a, "_left") == strings.TrimSuffix(b, "_right") ||
		strings.TrimSuffix(a, "_right") == strings.TrimSuffix(b, "_left")
}

// aimKey is a characteristic in a phase.
type aimKey struct {
	id    string
	phase pb.Phase
}

// aims are what people aim at where the sheet's nominal value would break one of
// its rules: a machine is charged before it is handed over.
var aims = map[aimKey]float64{
	{"charge_level", pb.Phase_PHASE_HANDOVER}:            92,
	{"battery_resting_voltage", pb.Phase_PHASE_HANDOVER}: 122.6, // of a traction battery
}

// read gives the characteristics that are read in a phase, true where they need
// not be. To what is required comes what it supposes: prerequisites that no
// earlier record shows, and what else a rule speaks of.
func read(resolved *spec.Resolved, phase pb.Phase) map[string]bool {
	byID := make(map[string]*pb.Characteristic)
	for _, c := range resolved.Characteristics {
		byID[c.GetId()] = c
	}
	rules := make([][]string, 0, len(resolved.Rules)) // what those of the phase speak of
	for _, rule := range resolved.Rules {
		if phases := rule.GetPhases(); len(phases) == 0 || slices.Contains(phases, phase) {
			rules = append(rules, word.FindAllString(rule.GetExpression(), -1))
		}
	}
	shown := func(c *pb.Characteristic) bool {
		return slices.ContainsFunc(c.GetRequiredIn(), func(p pb.Phase) bool { return p <= phase })
	}
	// whole adds to a set what its members suppose, and reports whether all of that
	// is there to be read.
	whole := func(set map[string]bool) bool {
		for grown := true; grown; {
			grown = false
			add := func(id string) bool {
				c, there := byID[id]
				if there && !set[id] && !shown(c) {
					set[id], grown = true, true
				}
				return there
			}
			for id := range set {
				for _, before := range byID[id].GetPrerequisites() {
					if !add(before) {
						return false
					}
				}
			}
			for _, ids := range rules {
				if !slices.ContainsFunc(ids, func(id string) bool { return set[id] }) {
					continue
				}
				for _, id := range ids {
					add(id)
				}
			}
		}
		return true
	}
	core := make(map[string]bool)
	for _, c := range resolved.Characteristics {
		if slices.Contains(c.GetRequiredIn(), phase) {
			core[c.GetId()] = true
		}
	}
	whole(core)
	wanted := make(map[string]bool)
	for id := range core {
		wanted[id] = false
	}
	for _, c := range resolved.Characteristics {
		if core[c.GetId()] {
			continue
		}
		with := make(map[string]bool)
		for id := range core {
			with[id] = true
		}
		with[c.GetId()] = true
		if whole(with) && len(with) == len(core)+1 {
			wanted[c.GetId()] = true
		}
	}
	return wanted
}

func newTask(c *pb.Characteristic, guard float64) (*task, error) {
	t := &task{
		c: c, name: hash(c.GetId()), stem: hash(stem(c.GetId())),
		lower: math.Inf(-1), upper: math.Inf(1), possible: math.Inf(-1), impossible: math.Inf(1),
		guarded: c.GetDecisionRule() == pb.DecisionRule_DECISION_RULE_GUARDED_ACCEPTANCE, guard: guard,
	}
	switch k := c.GetKind().(type) {
	case *pb.Characteristic_Measured:
		t.kind = isMeasured
	case *pb.Characteristic_Capacity:
		t.kind = isFilled
	case *pb.Characteristic_Fastener:
		t.kind = isClicked
		t.fitted = fittedFor(k.Fastener)
	case *pb.Characteristic_Adjuster:
		t.kind = isTurned
	case *pb.Characteristic_Count:
		t.kind = isCounted
	case *pb.Characteristic_Choice:
		t.kind = isChosen
		for _, a := range k.Choice.GetAccepted() {
			t.choices = append(t.choices, &pb.Reading_Choice{Choice: a})
		}
	case *pb.Characteristic_Inspection:
		t.kind = isInspected
	case *pb.Characteristic_Identifier:
		t.kind = isIdentified
		var err error
		if t.text, err = textOf(k.Identifier.GetPattern()); err != nil {
			return nil, err
		}
	}
	if t.kind.numeric() {
		return t, t.limit()
	}
	return t, nil
}

// limit takes over the limits, and what to aim at between them.
func (t *task) limit() error {
	l := t.c.GetLimits()
	unit, err := quantity.ParseUnit(l.GetUnit())
	if err != nil {
		return err
	}
	t.unit = unit
	if l.Lower != nil {
		t.lower = l.GetLower()
	}
	if l.Upper != nil {
		t.upper = l.GetUpper()
	}
	if safe, ok, err := spec.SafeFill(t.c); err == nil && ok {
		t.upper = math.Min(t.upper, safe)
	}
	if p := t.c.GetPossible(); p != nil {
		if p.Lower != nil {
			t.possible = p.GetLower()
		}
		if p.Upper != nil {
			t.impossible = p.GetUpper()
		}
	}
	if m := t.c.GetAdjuster().GetMechanicalRange(); m != nil {
		if m.Lower != nil {
			t.lower = math.Max(t.lower, m.GetLower())
		}
		if m.Upper != nil {
			t.upper = math.Min(t.upper, m.GetUpper())
		}
	}
	bounded := func(v float64) bool { return !math.IsInf(v, 0) }
	switch {
	case l.Nominal != nil:
		t.aim = l.GetNominal()
	case bounded(t.lower) && bounded(t.upper):
		// What wears or runs out is new in the main.
		t.aim = t.lower + float64(0.4*(t.upper-t.lower))
	case bounded(t.lower):
		t.aim = t.lower + math.Abs(t.lower) + 1
	default:
		t.aim = float64(0.4 * t.upper)
	}
	t.half = math.Min(t.aim-t.lower, t.upper-t.aim)
	if t.half <= 0 && bounded(t.upper) && t.upper > t.aim {
		t.oneSided, t.half = true, t.upper-t.aim
	}
	return nil
}

// fittedFor is what is written of a fastener that was done as specified, or nil
// where nothing has to be.
func fittedFor(f *pb.Fastener) *pb.FittedFastener {
	if !f.GetRenew() && f.GetLocking() == pb.Locking_LOCKING_UNSPECIFIED {
		return nil
	}
	done := true
	fitted := &pb.FittedFastener{Thread: f.GetThread(), PropertyClass: f.GetPropertyClass()}
	if f.GetRenew() {
		fitted.Renewed = &done
	}
	if f.GetLocking() != pb.Locking_LOCKING_UNSPECIFIED {
		fitted.Locked = &done
	}
	return fitted
}

// state decides which conditions are stated for the whole record, the usual ones
// and those that most readings ask for, and which for a reading.
func (p *plan) state() {
	counts := make(map[pb.Condition]int)
	for _, t := range p.tasks {
		for _, c := range t.c.GetReferenceConditions() {
			counts[c]++
		}
	}
	whole := make(map[int]pb.Condition)
	for _, c := range sortedConditions(counts) {
		if best, ok := whole[aspect(c)]; !ok || counts[c] > counts[best] {
			whole[aspect(c)] = c
		}
	}
	for _, c := range usual {
		if _, spoken := whole[aspect(c)]; spoken {
			whole[aspect(c)] = c
		}
	}
	for _, c := range whole {
		p.conditions = append(p.conditions, c)
	}
	slices.Sort(p.conditions)
	for _, t := range p.tasks {
		for _, c := range t.c.GetReferenceConditions() {
			if whole[aspect(c)] != c {
				t.conditions = append(t.conditions, c)
			}
			if other, ok := opposite[c]; ok {
				t.wrong = append(t.wrong, other)
			}
		}
	}
}

// usual are conditions that hold through most of a job, whatever most of its
// readings ask for.
var usual = []pb.Condition{
	pb.Condition_CONDITION_TYRES_COLD, pb.Condition_CONDITION_BARS_STRAIGHT,
	pb.Condition_CONDITION_RIDER_OFF, pb.Condition_CONDITION_ENGINE_STOPPED,
}

func sortedConditions(counts map[pb.Condition]int) []pb.Condition {
	var list []pb.Condition
	for c := range counts {
		list = append(list, c)
	}
	slices.Sort(list)
	return list
}

// aspect is what a condition speaks of: the tens of its number.
func aspect(c pb.Condition) int { return int(c) / 10 }

// opposite is the condition that careless people read under instead.
var opposite = map[pb.Condition]pb.Condition{
	pb.Condition_CONDITION_ENGINE_WARM:     pb.Condition_CONDITION_ENGINE_COLD,
	pb.Condition_CONDITION_ENGINE_COLD:     pb.Condition_CONDITION_ENGINE_WARM,
	pb.Condition_CONDITION_ON_WORK_STAND:   pb.Condition_CONDITION_ON_WHEELS,
	pb.Condition_CONDITION_ON_WHEELS:       pb.Condition_CONDITION_ON_WORK_STAND,
	pb.Condition_CONDITION_TYRES_COLD:      pb.Condition_CONDITION_TYRES_WARM,
	pb.Condition_CONDITION_BARS_STRAIGHT:   pb.Condition_CONDITION_BARS_LEFT_LOCK,
	pb.Condition_CONDITION_RIDER_ABOARD:    pb.Condition_CONDITION_RIDER_OFF,
	pb.Condition_CONDITION_BATTERY_AT_REST: pb.Condition_CONDITION_BATTERY_CHARGING,
}

// stem is a name without what tells apart things that are alike on one machine.
func stem(id string) string {
	if id == "battery_resting_voltage" {
		return "charge_level" // a battery that is full has more volts
	}
	for _, end := range []string{"_left_lock", "_right_lock", "_left", "_right", "_settled", "_new"} {
		id = strings.TrimSuffix(id, end)
	}
	for _, start := range []string{"static_", "race_"} {
		id = strings.TrimPrefix(id, start)
	}
	return id
}

// hash makes a number of a name (FNV-1a).
func hash(s string) uint64 {
	h := uint64(14695981039346656037)
	for i := range len(s) {
		h = (h ^ uint64(s[i])) * 1099511628211
	}
	return mix(h)
}
