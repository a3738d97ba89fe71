package audit

import (
	"math"
	"slices"
	"sync"
	"time"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/gauge"
)

// Entry is one record made ready for an [Auditor]: judged, or with the reason why
// it could not be.
type Entry struct {
	// Setup and VerdictThen are set by the caller for a stored set-up.
	Setup       string
	VerdictThen pb.Verdict

	record *pb.SetupRecord // nil where the record could not be read
	report *pb.Report      // nil where there is an error
	err    *pb.AuditError

	spec       string
	samples    []sample
	told       int32    // characteristics that the engine told of
	signature  []uint32 // see signatureOf
	timed      bool     // enough time stamps to contradict each other
	paced      bool     // the sheet knows a least time, the record how long it took
	leastTime  time.Duration
	took       time.Duration
	checked    bool // some reading names an instrument whose resolution is known
	finer      string
	begin, end time.Time // when the work was done, as far as the record says
}

// sample is what an entry keeps of a [gauge.Sample].
type sample struct {
	c       *pb.Characteristic
	order   int32 // in the job
	outcome pb.OutcomeKind

	scaled         bool // value counts in means and capability
	value          float64
	hasFound       bool
	found          float64
	lower, upper   float64
	nominal        float64
	hasNominal     bool
	marks          bool    // two units hardly share it by chance
	step           float64 // the last digit's weight, nought where it is not known
	digitMatters   bool    // it was not set to the nominal value, and lies in its limits
	steps          float64 // from the nominal value or a limit, so that options and revisions can be compared
	digit          int8
	atNominal      bool
	limitMatters   bool // there are limits, and enough steps between them
	atLimit        bool
	nominalMatters bool
}

// frame is what the value is seen in.
func (s *sample) frame() frame {
	f := frame{s.lower, s.upper, math.NaN()}
	if s.hasNominal {
		f.nominal = s.nominal
	}
	return f
}

// Failed makes the entry of a record that could not be judged. The record is nil
// where it could not be read.
func Failed(record *pb.SetupRecord, reason, message string) *Entry {
	return &Entry{record: record, err: &pb.AuditError{Reason: reason, Message: message}}
}

// Judge judges a record and makes its entry. The error is that of
// [gauge.Engine.Gauge] where there is no report; a rule that failed is no error
// here, since the report says so.
func Judge(engine *gauge.Engine, record *pb.SetupRecord, opt gauge.Options) (*Entry, error) {
	e := &Entry{record: record, spec: engine.Revision().SpecID()}
	opt.Full = false
	e.samples = borrow()
	opt.Each = e.take
	report, err := engine.Gauge(record, opt)
	if report == nil {
		giveBack(e)
		return nil, err
	}
	e.report = report
	e.signature = signatureOf(e.spec, e.samples)
	e.readTimes(engine.Revision().Sheet())
	return e, nil
}

// lists of samples are used again: there is one for each record, and it is larger
// than all else that an audit needs for it.
var lists = sync.Pool{New: func() any { return new([]sample) }}

func borrow() []sample { return (*lists.Get().(*[]sample))[:0] }

func giveBack(e *Entry) {
	if cap(e.samples) > 0 {
		clear(e.samples) // a list that waits must not hold a sheet
		samples := e.samples[:0]
		lists.Put(&samples)
		e.samples = nil
	}
}

// Report is the whole report, nil where there is none. What the engine made of
// the record is not kept longer than the entry.
func (e *Entry) Report() *pb.Report { return e.report }

// take keeps what is needed of one characteristic.
func (e *Entry) take(s *gauge.Sample) {
	order := e.told
	e.told++
	if s.Outcome == pb.OutcomeKind_OUTCOME_KIND_NOT_APPLICABLE {
		return
	}
	e.samples = append(e.samples, sample{
		c: s.Characteristic, order: order, outcome: s.Outcome,
		lower: s.Lower, upper: s.Upper, nominal: s.Nominal, hasNominal: s.HasNominal,
	})
	if s.Numeric && s.Reading != nil && s.Scaled {
		e.read(&e.samples[len(e.samples)-1], s)
	}
}

// read keeps what is needed of a value on a scale.
func (e *Entry) read(kept *sample, s *gauge.Sample) {
	kept.value, kept.found = s.Value, s.FoundValue
	kept.scaled = s.Stands && sane(s.Value)
	kept.hasFound = s.Found.GetResult() != nil && sane(s.FoundValue)
	shown := e.stepOf(s)       // in the reading's unit
	step := inLimits(shown, s) // in that of the limits
	kept.atNominal = atNominal(s, step)
	fine := true
	if steps := (s.Upper - s.Lower) / step; step > 0 {
		kept.step = step
		kept.digit = int8(math.Mod(math.Abs(math.Round(s.Reading.GetValue()/shown)), 10))
		within := s.Value >= s.Lower && s.Value <= s.Upper
		if origin := originOf(s); !math.IsInf(origin, 0) {
			kept.steps = (s.Value - origin) / step
			kept.digitMatters = !kept.atNominal && within && sane(kept.steps)
		}
		if fine = steps >= leastSteps; fine {
			kept.limitMatters = !math.IsInf(s.Lower, 0) || !math.IsInf(s.Upper, 0)
			kept.atLimit = within && (s.Value-s.Lower <= 1.01*step || s.Upper-s.Value <= 1.01*step)
			kept.nominalMatters = s.HasNominal
		}
	}
	kept.marks = kept.scaled && fine && !kept.atNominal && !atMiddle(s)
}

// readTimes notes what the record says of when and how long.
func (e *Entry) readTimes(sheet *pb.SpecSheet) {
	e.end = e.record.GetFinishTime().AsTime()
	e.begin = e.end
	stamps := 0
	for _, r := range e.record.GetReadings() {
		if at := r.GetTime(); at != nil {
			stamps++
			if t := at.AsTime(); t.Before(e.begin) {
				e.begin = t
			}
		}
	}
	e.timed = stamps >= leastStamps
	start := e.record.GetStartTime()
	if start == nil {
		return
	}
	e.begin = start.AsTime()
	for _, least := range sheet.GetLeastTimes() {
		if least.GetPhase() == e.record.GetPhase() {
			e.paced = true
			e.leastTime = time.Duration(least.GetMinutes()) * time.Minute
			e.took = e.end.Sub(e.begin)
		}
	}
}

// leastStamps is how many readings bear a time at least where it is asked whether
// their order is right.
const leastStamps = 2

// outOfOrder reports whether a finding says that time stamps contradict the work.
func (e *Entry) outOfOrder() bool {
	return slices.ContainsFunc(e.report.GetFindings(), func(f *pb.Finding) bool {
		code := f.GetCode()
		return code == pb.FindingCode_FINDING_CODE_OUT_OF_ORDER || code == pb.FindingCode_FINDING_CODE_TIME_OUTSIDE_JOB
	})
}
