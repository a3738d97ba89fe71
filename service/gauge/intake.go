package gauge

import (
	"errors"
	"fmt"
	"math"
	"slices"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/phrase"
	"github.com/snapgauge/snapgauge/service/quantity"
)

// admit reads the record into slots: one for each characteristic, values
// converted to the sheet's unit. It refuses a record whose form only the sheet
// shows to be wrong, with every violation.
func (r *run) admit() error {
	var bad RecordError
	if start := r.rec.GetStartTime(); start != nil && before(r.rec.GetFinishTime(), start) {
		bad.add(TimeOrder, "start_time", "got %s, which is after the finish time %s", clock(start), clock(r.rec.GetFinishTime()))
	}
	r.admitInstruments(&bad)
	r.conditions.admit(&bad, "conditions", r.rec.GetConditions())
	for n, reading := range r.rec.GetReadings() {
		if own := reading.GetConditions(); len(own) > 0 {
			new(conditionSet).admit(&bad, readingPath(n, "conditions"), own)
		}
		i, known := r.plan.index[reading.GetCharacteristic()]
		if known {
			r.plan.checks[i].admitInstrument(&bad, r, n, reading)
		}
		if reading.GetResult() == nil && (!known || !r.plan.checks[i].showsFastener(reading)) {
			// Written down to be filled in later: as good as absent, unless a reading
			// as found shows that one as left was meant to follow.
			if known && reading.GetStage() != pb.Stage_STAGE_AS_FOUND {
				r.slots[i].blankLeft = true
			}
			continue
		}
		if !known {
			r.strays = append(r.strays, reading)
			r.admitStray(&bad, n, reading)
			continue
		}
		value, ok := r.plan.checks[i].admit(&bad, n, reading)
		if !ok {
			continue
		}
		r.slots[i].place(reading, value)
	}
	if len(bad.Violations) > 0 {
		return &bad
	}
	for i := range r.slots {
		r.slots[i].settle()
	}
	return nil
}

func (e *RecordError) add(reason Reason, path, format string, args ...any) {
	e.Violations = append(e.Violations, Violation{Path: path, Reason: reason, Message: fmt.Sprintf(format, args...)})
}

func readingPath(n int, field string) string { return fmt.Sprintf("readings[%d].%s", n, field) }

// admit checks one reading's form against the characteristic and gives its value
// in the sheet's unit.
func (ck *check) admit(bad *RecordError, n int, reading *pb.Reading) (float64, bool) {
	id := ck.c.GetId()
	if reading.GetResult() == nil {
		return 0, true // a fastener that is described without a torque
	}
	want, got := ck.kind.resultField(), resultField(reading)
	if want != got {
		bad.add(ResultKindMismatch, readingPath(n, got), "%s is %s: got %s, want %s", id, ck.kind.article(), got, want)
		return 0, false
	}
	if !ck.kind.numeric() {
		if reading.GetUnit() != "" {
			bad.add(UnitUnexpected, readingPath(n, "unit"), "%s is %s: got the unit %q, want none", id, ck.kind.article(), reading.GetUnit())
			return 0, false
		}
		return 0, true
	}
	value := reading.GetValue()
	unit := ck.unit
	switch code := reading.GetUnit(); {
	case code == ck.c.GetLimits().GetUnit(): // the usual case, and no look-up
	case code != "":
		parsed, err := quantity.ParseUnit(code)
		if err != nil {
			bad.add(UnitUnknown, readingPath(n, "unit"), "%s: %s", id, unitTrouble(err))
			return 0, false
		}
		unit = parsed
	case unit.Dimension() != plainNumber:
		bad.add(UnitMissing, readingPath(n, "value"), "%s: the value %s has no unit, want %s such as %s",
			id, quantity.Format(value, one, 6), unit.Dimension(), unit.Code())
		return 0, false
	}
	if unit.Dimension() != ck.unit.Dimension() {
		bad.add(DimensionMismatch, readingPath(n, "unit"), "%s: got %s (%s), want %s such as %s",
			id, reading.GetUnit(), unit.Dimension(), ck.unit.Dimension(), ck.unit.Code())
		return 0, false
	}
	if ck.kind == count && unit != ck.unit && unit != one {
		bad.add(UnitUnexpected, readingPath(n, "unit"), "%s is a count: got %s, want no unit", id, reading.GetUnit())
		return 0, false
	}
	if value < 0 && (unit.NonNegative() || ck.kind == count) {
		bad.add(NegativeQuantity, readingPath(n, "value"), "%s: got %s, want nought or more", id, quantity.Format(value, unit, 6))
		return 0, false
	}
	if unit == ck.unit {
		return value, true // as it was written
	}
	converted, err := unit.Convert(value, ck.unit)
	if err != nil || math.IsInf(converted, 0) || math.IsNaN(converted) {
		bad.add(ValueTooLarge, readingPath(n, "value"), "%s: got %s, want a value that fits a machine", id, quantity.Format(value, unit, 6))
		return 0, false
	}
	return phrase.Round(converted, conversionDigits), true
}

// conversionDigits is finer than any instrument and coarser than binary
// arithmetic: 4 in is 101.6 mm, not 101.59999999999999.
const conversionDigits = 12

// admitStray checks what can be checked of a reading of an unknown
// characteristic.
func (r *run) admitStray(bad *RecordError, n int, reading *pb.Reading) {
	if reading.GetUnit() == "" {
		return
	}
	unit, err := quantity.ParseUnit(reading.GetUnit())
	if err != nil {
		bad.add(UnitUnknown, readingPath(n, "unit"), "%s: %s", reading.GetCharacteristic(), unitTrouble(err))
		return
	}
	if reading.GetValue() < 0 && unit.NonNegative() {
		bad.add(NegativeQuantity, readingPath(n, "value"), "%s: got %s, want nought or more",
			reading.GetCharacteristic(), quantity.Format(reading.GetValue(), unit, 6))
	}
}

// instrument is an instrument of the record made ready.
type instrument struct {
	in   *pb.Instrument
	unit quantity.Unit
}

func (r *run) admitInstruments(bad *RecordError) {
	r.instruments = make([]instrument, 0, len(r.rec.GetInstruments()))
	for n, in := range r.rec.GetInstruments() {
		path := func(field string) string { return fmt.Sprintf("instruments[%d].%s", n, field) }
		if slices.ContainsFunc(r.instruments, func(other instrument) bool { return other.in.GetId() == in.GetId() }) {
			bad.add(DuplicateInstrument, path("id"), "instrument %q is listed twice", in.GetId())
			continue
		}
		ready := instrument{in: in}
		if code := in.GetUnit(); code != "" {
			unit, err := quantity.ParseUnit(code)
			if err != nil {
				bad.add(UnitUnknown, path("unit"), "instrument %q: %s", in.GetId(), unitTrouble(err))
				continue
			}
			ready.unit = unit
		} else if in.GetExpandedUncertainty() != 0 || in.GetMaxPermissibleError() != 0 || in.GetResolution() != 0 || in.GetRange() != nil {
			bad.add(UnitMissing, path("unit"), "instrument %q: its accuracy, resolution or range has no unit", in.GetId())
			continue
		}
		r.instruments = append(r.instruments, ready)
	}
}

// admitInstrument refuses an instrument that cannot read what it is said to have
// read.
func (ck *check) admitInstrument(bad *RecordError, r *run, n int, reading *pb.Reading) {
	in, ok := r.instrument(reading)
	if !ok || !ck.kind.numeric() {
		return
	}
	want := ck.unit.Dimension()
	switch {
	case in.in.GetUnit() != "" && in.unit.Dimension() != want:
		bad.add(DimensionMismatch, readingPath(n, "instrument"), "%s: instrument %q reads %s, want one that reads %s",
			reading.GetCharacteristic(), in.in.GetId(), in.unit.Dimension(), want)
	case !readable(in.in.GetKind(), want):
		bad.add(DimensionMismatch, readingPath(n, "instrument"), "%s: instrument %q is a %s, which reads no %s",
			reading.GetCharacteristic(), in.in.GetId(), phrase.Words(in.in.GetKind()), want)
	}
}

// kindReads says what each kind of instrument can read. A kind that is not here
// can read anything.
var kindReads = func() map[pb.InstrumentKind][]quantity.Dimension {
	dimensions := func(units ...string) []quantity.Dimension {
		d := make([]quantity.Dimension, len(units))
		for i, u := range units {
			d[i] = quantity.MustUnit(u).Dimension()
		}
		return d
	}
	length := dimensions("mm")
	return map[pb.InstrumentKind][]quantity.Dimension{
		pb.InstrumentKind_INSTRUMENT_KIND_TORQUE_WRENCH:    dimensions("N.m"),
		pb.InstrumentKind_INSTRUMENT_KIND_CALIPER:          length,
		pb.InstrumentKind_INSTRUMENT_KIND_FEELER_GAUGE:     length,
		pb.InstrumentKind_INSTRUMENT_KIND_RULE:             length,
		pb.InstrumentKind_INSTRUMENT_KIND_DIAL_INDICATOR:   length,
		pb.InstrumentKind_INSTRUMENT_KIND_PRESSURE_GAUGE:   dimensions("kPa"),
		pb.InstrumentKind_INSTRUMENT_KIND_MEASURING_VESSEL: dimensions("mL"),
		pb.InstrumentKind_INSTRUMENT_KIND_MULTIMETER:       dimensions("V", "A", "Ohm"),
		pb.InstrumentKind_INSTRUMENT_KIND_TACHOMETER:       dimensions("/min"),
		pb.InstrumentKind_INSTRUMENT_KIND_THERMOMETER:      dimensions("Cel"),
		pb.InstrumentKind_INSTRUMENT_KIND_SCALE:            dimensions("kg", "N"),
	}
}()

func readable(kind pb.InstrumentKind, want quantity.Dimension) bool {
	reads, known := kindReads[kind]
	return !known || slices.Contains(reads, want)
}

// instrument finds the instrument that a reading names.
func (r *run) instrument(reading *pb.Reading) (instrument, bool) {
	if reading.GetInstrument() == "" {
		return instrument{}, false
	}
	for _, in := range r.instruments {
		if in.in.GetId() == reading.GetInstrument() {
			return in, true
		}
	}
	return instrument{}, false
}

func unitTrouble(err error) string {
	var unknown *quantity.UnknownUnitError
	if errors.As(err, &unknown) && unknown.Suggestion != "" {
		return fmt.Sprintf("unknown unit %q, did you mean %q?", unknown.Code, unknown.Suggestion)
	}
	return err.Error()
}

var (
	one         = quantity.Unit{}
	plainNumber = one.Dimension()
)

// resultField names the field of the result that a reading carries.
func resultField(reading *pb.Reading) string {
	switch reading.GetResult().(type) {
	case *pb.Reading_Value:
		return "value"
	case *pb.Reading_Pass:
		return "pass"
	case *pb.Reading_Choice:
		return "choice"
	case *pb.Reading_Text:
		return "text"
	}
	return ""
}

// resultField names the field of the result that the kind wants.
func (k kind) resultField() string {
	switch k {
	case choice:
		return "choice"
	case inspection:
		return "pass"
	case identifier:
		return "text"
	default:
		return "value"
	}
}

func (k kind) article() string {
	return [...]string{
		measured: "a measured quantity", capacity: "a fill", fastener: "a fastener torque", adjuster: "an adjuster position",
		count: "a count", choice: "a choice", inspection: "an inspection", identifier: "an identifier",
	}[k]
}
