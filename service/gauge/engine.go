package gauge

import (
	"slices"
	"strings"
	"sync"
	"time"

	"google.golang.org/protobuf/types/known/timestamppb"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/quantity"
	"github.com/snapgauge/snapgauge/service/spec"
	"github.com/snapgauge/snapgauge/service/vin"
)

// Version is the version of the engine's meaning. Raise it whenever the same
// record and revision could get another report: stored reports name it, so that
// an auditor knows which reports may differ when judged again.
const Version = "1"

// maxPlans bounds the plans one engine keeps. A dealer group uses a few dozen
// option sets; the bound keeps a caller who tries them all from filling memory.
const maxPlans = 256

// defaultGuard is the multiple of the expanded uncertainty that a guard band
// has where the sheet states none: ISO 14253-1 as JCGM 106:2012, 8.3.2 puts it.
const defaultGuard = 1.0

// Engine judges records by one revision. It is safe for concurrent use.
type Engine struct {
	rev   *spec.Revision
	guard float64
	rules map[ruleKey]*rule

	mu    sync.RWMutex
	plans map[string]*plan
}

// Options say how a record is to be judged.
type Options struct {
	// AsOf is the instant for which bulletins are chosen and which the report
	// states.
	AsOf time.Time
	// Units of the sentences in the report.
	Units quantity.System
	// Full asks for the outcome of each characteristic.
	Full bool
	// Each, where it is not nil, is given each characteristic once it is judged, in
	// the order of the job. The sample is only good during the call.
	Each func(*Sample)
}

// Compile makes a revision ready. Every rule is type-checked, every option's
// plan built, and every example of the sheet judged; a *[spec.SheetError] lists
// all that is wrong.
func Compile(rev *spec.Revision) (*Engine, error) {
	e, err := Recompile(rev)
	if err != nil {
		return nil, err
	}
	var bad problems
	e.runExamples(&bad)
	return e, bad.err()
}

// Recompile is [Compile] for a revision that was published before: its examples
// agreed with the engine of that day and are not judged again, since a sheet in
// force stays in force. The error is a *[spec.SheetError].
func Recompile(rev *spec.Revision) (*Engine, error) {
	sheet := rev.Sheet()
	rules, err := compileRules(sheet)
	if err != nil {
		return nil, err
	}
	e := &Engine{rev: rev, guard: defaultGuard, rules: rules, plans: map[string]*plan{}}
	if sheet.GuardBandMultiplier != nil {
		e.guard = sheet.GetGuardBandMultiplier()
	}
	var bad problems
	if _, err := e.plan(nil, nil); err != nil {
		bad.add("characteristics", "%v", err)
	}
	for i, o := range sheet.GetOptions() {
		if _, err := e.plan(append(slices.Clone(o.GetRequires()), o.GetId()), nil); err != nil {
			bad.add(pathOf("options", i), "%v", err)
		}
	}
	for i, b := range sheet.GetBulletins() {
		if _, err := e.plan(nil, []string{b.GetId()}); err != nil {
			bad.add(pathOf("bulletins", i), "%v", err)
		}
	}
	if err := bad.err(); err != nil {
		return nil, err
	}
	return e, nil
}

// Revision is the revision that the engine judges by.
func (e *Engine) Revision() *spec.Revision { return e.rev }

// Gauge judges one record, which it does not change. The error is a
// *[RecordError], without a report, when the record cannot be judged. When a rule
// failed there are both a report, which says so, and an error that wraps an
// *[EvalError] for each: it is for the log of whoever keeps the sheets. A wrong
// set-up is no error. The record must have passed the contract's own constraints
// (protovalidate).
func (e *Engine) Gauge(rec *pb.SetupRecord, opt Options) (*pb.Report, error) {
	number, vinErr := vin.Parse(rec.GetUnit().GetVin())
	bulletins := e.rev.Bulletins(number, opt.AsOf)
	p, err := e.plan(rec.GetOptions(), bulletins)
	if err != nil {
		return nil, err
	}
	r := run{engine: e, plan: p, rec: rec, opt: opt}
	held := holdSlots(&r, len(p.checks))
	defer held.release(&r)
	if err := r.admit(); err != nil {
		return nil, err
	}
	r.judgeVIN(number, vinErr)
	r.judgeOptions()
	for i := range p.checks {
		r.judge(i)
	}
	r.judgeStrays()
	err = r.runRules()
	if opt.Each != nil {
		r.tell(opt.Each)
	}
	return r.report(bulletins), err
}

// plan gives the plan for an option set, from the cache or made now.
func (e *Engine) plan(options, bulletins []string) (*plan, error) {
	key := planKey(options, bulletins)
	e.mu.RLock()
	p := e.plans[key]
	e.mu.RUnlock()
	if p != nil {
		return p, nil
	}
	resolved, err := e.rev.Resolve(options, bulletins)
	if err != nil {
		return nil, err
	}
	rules := make([]*rule, len(resolved.Rules))
	for i, r := range resolved.Rules {
		rules[i] = e.rules[keyOf(r)]
	}
	p, err = newPlan(resolved, e.guard, rules)
	if err != nil {
		return nil, err
	}
	p.notices = noticesOf(e.rev.Sheet(), resolved.Options)
	e.mu.Lock()
	defer e.mu.Unlock()
	if len(e.plans) >= maxPlans {
		clear(e.plans)
	}
	e.plans[key] = p
	return p, nil
}

// planKey is the same for the same options in any order.
func planKey(options, bulletins []string) string {
	if len(options) == 0 && len(bulletins) == 0 {
		return ""
	}
	sorted := slices.Clone(options)
	slices.Sort(sorted)
	return strings.Join(sorted, ",") + ";" + strings.Join(bulletins, ",")
}

// report puts the findings in order and counts.
func (r *run) report(bulletins []string) *pb.Report {
	r.sortFindings()
	rep := &pb.Report{
		SpecRevision:  r.engine.rev.Name(),
		Digest:        r.engine.rev.Digest(),
		EngineVersion: Version,
		AsOfTime:      timestamppb.New(r.opt.AsOf),
		Bulletins:     bulletins,
		Notices:       r.plan.notices,
		Verdict:       verdictOf(r.findings),
		Tally:         &pb.Tally{},
		Findings:      r.findings,
	}
	for i := range r.slots {
		switch r.slots[i].outcome {
		case conforming:
			rep.Tally.Conforming++
		case nonconforming:
			rep.Tally.Nonconforming++
		case undecided:
			rep.Tally.Undecided++
		case missing:
			rep.Tally.Missing++
		default:
			rep.Tally.NotApplicable++
		}
	}
	if r.opt.Full {
		rep.Outcomes = r.outcomes()
	}
	return rep
}
