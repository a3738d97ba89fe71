package audit

import (
	"cmp"
	"math"
	"slices"
	"sync"
	"time"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/gauge"
	"github.com/snapgauge/snapgauge/service/vin"
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
	outcome pb.OutcomeKind

	scaled         bool // value counts in means and capability
	value          float64
	hasFound       bool
	found          float64
	lower, upper   float64
	nominal        float64
	hasNominal     bool
	step           float64 // the last digit's weight, nought where it is not known
	digitMatters   bool    // it was not set to the nominal value, and lies in its limits
	steps          float64 // from the nominal value or a limit, so that options and revisions can be compared
	digit          int8
	atNominal      bool
	limitMatters   bool // there are limits, and enough steps between them
	atLimit        bool
	nominalMatters bool
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
	if s.Outcome == pb.OutcomeKind_OUTCOME_KIND_NOT_APPLICABLE {
		return
	}
	kept := sample{c: s.Characteristic, outcome: s.Outcome, lower: s.Lower, upper: s.Upper, nominal: s.Nominal, hasNominal: s.HasNominal}
	if !s.Numeric || s.Reading == nil || !s.Scaled {
		e.samples = append(e.samples, kept)
		return
	}
	kept.value, kept.found = s.Value, s.FoundValue
	kept.scaled, kept.hasFound = s.Stands, s.Found.GetResult() != nil
	step := e.stepOf(s)
	kept.atNominal = s.HasNominal && near(s.Value, s.Nominal, step)
	if step > 0 {
		kept.step = step
		kept.digit = int8(math.Mod(math.Abs(math.Round(s.Reading.GetValue()/step)), 10))
		if origin := originOf(s); !math.IsInf(origin, 0) {
			kept.digitMatters = !kept.atNominal && s.Value >= s.Lower && s.Value <= s.Upper
			kept.steps = (s.Value - origin) / inUnit(step, s)
		}
	}
	if steps := (s.Upper - s.Lower) / inUnit(step, s); step > 0 && (steps >= leastSteps || math.IsInf(steps, 1)) {
		inward := inUnit(step, s) * 1.01
		kept.limitMatters = !math.IsInf(s.Lower, 0) || !math.IsInf(s.Upper, 0)
		kept.atLimit = s.Value >= s.Lower && s.Value <= s.Upper &&
			(s.Value-s.Lower <= inward || s.Upper-s.Value <= inward)
		kept.nominalMatters = s.HasNominal
	}
	e.samples = append(e.samples, kept)
}

// originOf is what a reading is counted from in steps; infinite where there is
// nothing.
func originOf(s *gauge.Sample) float64 {
	switch {
	case s.HasNominal:
		return s.Nominal
	case !math.IsInf(s.Lower, 0):
		return s.Lower
	}
	return s.Upper
}

// leastSteps is how many steps of the last digit lie between the limits at least
// where it is asked whether readings stand at one: with fewer, most honest ones
// do.
const leastSteps = 8

// inUnit is a step of the reading's unit in the unit of the limits, for units that
// differ by a factor.
func inUnit(step float64, s *gauge.Sample) float64 {
	if given := s.Reading.GetValue(); given != 0 && s.Value != given && s.Value != 0 {
		return step * math.Abs(s.Value/given)
	}
	return step
}

// near reports whether a value is the nominal one, but for what a conversion of
// units rounds.
func near(value, nominal, step float64) bool {
	return math.Abs(value-nominal) <= 1e-9*math.Max(math.Abs(nominal), step)
}

// stepOf gives the weight of the last digit of a reading, in its own unit: what
// its instrument shows, where the record says so in that unit; nought otherwise.
// It notes a value that is finer than that.
func (e *Entry) stepOf(s *gauge.Sample) float64 {
	resolution := s.Instrument.GetResolution()
	if resolution <= 0 || s.Instrument.GetUnit() != s.Reading.GetUnit() {
		return 0
	}
	e.checked = true
	steps := s.Reading.GetValue() / resolution
	if off := math.Abs(steps - math.Round(steps)); off > 1e-6*math.Max(1, math.Abs(steps)) && e.finer == "" {
		e.finer = s.Characteristic.GetId()
	}
	return resolution
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

const (
	// leastSignature is how many readings a record has at least to be compared with
	// others of the same person, leastKnown to be compared with everybody's: among
	// so many, a few readings agree by chance.
	leastSignature = 6
	leastKnown     = 8
	mostSignature  = 48 // readings that are compared
)

// signatureOf gives a number for each reading that two units hardly share by
// chance: values on a scale that are not the nominal one, which a tool sets. They
// are sorted; of many, those with the smallest numbers are taken, so that two
// records with the same readings keep the same. Nil where there are too few.
func signatureOf(spec string, samples []sample) []uint32 {
	var numbers [256]uint32
	all := numbers[:0]
	for i := range samples {
		if s := &samples[i]; s.scaled && !s.atNominal {
			all = append(all, uint32(hash(spec, s.c.GetId(), math.Float64bits(s.value))))
		}
	}
	if len(all) < leastSignature {
		return nil
	}
	slices.Sort(all)
	return slices.Clone(all[:min(len(all), mostSignature)])
}

// keysOf are the numbers by which a signature is found among everybody's: one for
// the whole, or where it is long one for each half, so that a few changed readings
// do not hide the rest.
func keysOf(signature []uint32) (keys [2]uint64, sizes [2]int, n int) {
	if len(signature) < leastKnown {
		return keys, sizes, 0
	}
	keys = [2]uint64{offset64, offset64}
	n = 1
	if len(signature) >= 2*leastKnown {
		n = 2
		keys[1]++ // halves that are alike are not mistaken for one another
	}
	for _, s := range signature {
		// The lowest bit is as good as drawn by lot, and is the same in every
		// record with that reading.
		half := int(s) & 1 % n
		keys[half] = mix(keys[half], uint64(s))
		sizes[half]++
	}
	if n == 2 && min(sizes[0], sizes[1]) < leastKnown {
		whole := uint64(offset64)
		for _, s := range signature {
			whole = mix(whole, uint64(s))
		}
		return [2]uint64{whole}, [2]int{len(signature)}, 1
	}
	return keys, sizes, n
}

// shared counts the numbers that two sorted signatures have in common.
func shared(a, b []uint32) int {
	n := 0
	for len(a) > 0 && len(b) > 0 {
		switch cmp.Compare(a[0], b[0]) {
		case 0:
			n++
			a, b = a[1:], b[1:]
		case -1:
			a = a[1:]
		default:
			b = b[1:]
		}
	}
	return n
}

// plainVIN is the VIN as one machine's, however it was written; empty where it is
// not one.
func plainVIN(record *pb.SetupRecord) string {
	number, err := vin.Parse(record.GetUnit().GetVin())
	if err != nil {
		return ""
	}
	return string(number)
}
