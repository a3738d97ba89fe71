package population

import (
	"fmt"
	"math"
	"strings"
	"time"

	"google.golang.org/protobuf/types/known/timestamppb"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/gauge"
	"github.com/snapgauge/snapgauge/service/quantity"
)

// tool is one instrument on a shop's bench.
type tool struct {
	in    *pb.Instrument // without its calibration
	unit  quantity.Unit
	step  decimal
	click bool // a wrench that is set and clicks: what is written is what it was set to
	// bias is how much too high it shows: in its unit, or as a share of the value
	// where share says so.
	bias  float64
	share bool
	// drift is how much the bias has grown by the end of the period.
	drift float64
	// expire is when its first calibration runs out, 0 where it has none; it is
	// calibrated anew each year.
	expire int64
	// twice says that another shop has it as well.
	twice bool
	known []*pb.Instrument // with each calibration, made when needed
}

const year = 365 * 24 * 60 * 60

// at gives the instrument as it is listed on that day. With lapsed, nobody has had
// it calibrated for a while.
func (t *tool) at(now int64, lapsed bool) *pb.Instrument {
	if t.expire == 0 {
		return t.in
	}
	n := 0
	if soon := now + 2*24*60*60; soon > t.expire {
		n = int((soon-t.expire)/year) + 1
	}
	if lapsed && n > 0 {
		n--
	}
	for len(t.known) <= n {
		t.known = append(t.known, nil)
	}
	if t.known[n] == nil {
		in := clone(t.in)
		in.CalibrationExpireTime = &timestamppb.Timestamp{Seconds: t.expire + int64(n)*year}
		t.known[n] = in
	}
	return t.known[n]
}

// clone copies what [tool.at] changes the calibration of.
func clone(in *pb.Instrument) *pb.Instrument {
	return &pb.Instrument{
		Id: in.Id, Kind: in.Kind, Unit: in.Unit, Accuracy: in.Accuracy, Resolution: in.Resolution,
		Range: in.Range, SerialNumber: in.SerialNumber,
	}
}

// model is a make of instrument that a shop can have.
type model struct {
	kind       pb.InstrumentKind
	id         string
	unit       string
	steps      []decimal // one of them
	accuracy   float64   // maximum permissible error, or percent
	percent    bool
	low, high  float64 // range, where high is not 0
	calibrated bool
}

var (
	hundredth = decimal{1, 100}
	tenth     = decimal{1, 10}
	half      = decimal{5, 10}
	single    = decimal{1, 1}
)

const (
	wrench   = pb.InstrumentKind_INSTRUMENT_KIND_TORQUE_WRENCH
	caliper  = pb.InstrumentKind_INSTRUMENT_KIND_CALIPER
	feeler   = pb.InstrumentKind_INSTRUMENT_KIND_FEELER_GAUGE
	ruler    = pb.InstrumentKind_INSTRUMENT_KIND_RULE
	pressure = pb.InstrumentKind_INSTRUMENT_KIND_PRESSURE_GAUGE
	vessel   = pb.InstrumentKind_INSTRUMENT_KIND_MEASURING_VESSEL
	meter    = pb.InstrumentKind_INSTRUMENT_KIND_MULTIMETER
	tacho    = pb.InstrumentKind_INSTRUMENT_KIND_TACHOMETER
	probe    = pb.InstrumentKind_INSTRUMENT_KIND_THERMOMETER
	dial     = pb.InstrumentKind_INSTRUMENT_KIND_DIAL_INDICATOR
)

// metric are the instruments of a shop that works in metric units. Of those that
// can read the same, the first that is good enough is taken.
var metric = []model{
	{wrench, "wrench-s", "N·m", []decimal{half, {25, 100}, tenth}, 4, true, 1.5, 30, true},
	{wrench, "wrench-l", "N·m", []decimal{single, half, single}, 4, true, 20, 210, true},
	{feeler, "feeler", "mm", []decimal{hundredth}, 0.004, false, 0, 0, false},
	{dial, "dial", "mm", []decimal{hundredth}, 0.02, false, 0, 10, true},
	{ruler, "rule", "mm", []decimal{single, half}, 0.5, false, 0, 0, false},
	{caliper, "caliper", "mm", []decimal{{2, 100}, {5, 100}, hundredth, tenth}, 0.05, false, 0, 150, true},
	{vessel, "can", "L", []decimal{tenth, {5, 100}}, 0.05, false, 0, 0, false},
	{vessel, "jug", "mL", []decimal{{5, 1}, {10, 1}}, 5, false, 0, 0, false},
	{vessel, "cylinder", "mL", []decimal{single, {2, 1}}, 2, false, 0, 0, false},
	{pressure, "gauge", "kPa", []decimal{single, {2, 1}}, 2, false, 0, 400, true},
	{meter, "meter", "V", []decimal{hundredth}, 0.5, true, 0, 0, true},
	{meter, "bench-meter", "V", []decimal{{1, 1000}}, 0.1, true, 0, 0, true},
	{meter, "clamp", "A", []decimal{tenth}, 2, true, 0, 0, true},
	{meter, "megger", "Ohm", []decimal{{10000, 1}, {100000, 1}}, 5, true, 0, 0, true},
	{tacho, "tacho", "rpm", []decimal{{10, 1}, single, {5, 1}}, 10, false, 0, 0, true},
	{probe, "probe", "°C", []decimal{single, half}, 1, false, 0, 0, false},
}

// customary are those of a shop that works in US customary units.
var customary = []model{
	{wrench, "tw-in", "lbf·in", []decimal{single, {2, 1}}, 4, true, 15, 130, true},
	{wrench, "tw-s", "lbf·ft", []decimal{half, half, {25, 100}}, 4, true, 3, 25, true},
	{wrench, "tw-l", "lbf·ft", []decimal{single, half}, 4, true, 15, 150, true},
	{feeler, "feeler", "in", []decimal{{5, 10000}}, 0.0002, false, 0, 0, false},
	{dial, "dial", "in", []decimal{{5, 10000}}, 0.001, false, 0, 0.5, true},
	{ruler, "rule", "in", []decimal{{2, 100}, {5, 100}}, 0.02, false, 0, 0, false},
	{caliper, "cal", "in", []decimal{{1, 1000}, {5, 10000}}, 0.002, false, 0, 6, true},
	{vessel, "can", "gal", []decimal{{5, 100}, tenth}, 0.02, false, 0, 0, false},
	{vessel, "jug", "fl oz", []decimal{half, {25, 100}}, 0.3, false, 0, 0, false},
	{vessel, "cylinder", "mL", []decimal{single, {2, 1}}, 2, false, 0, 0, false},
	{pressure, "gauge", "psi", []decimal{half, tenth}, 0.3, false, 0, 60, true},
	{meter, "meter", "V", []decimal{hundredth}, 0.5, true, 0, 0, true},
	{meter, "bench-meter", "V", []decimal{{1, 1000}}, 0.1, true, 0, 0, true},
	{tacho, "tach", "rpm", []decimal{{10, 1}, single}, 10, false, 0, 0, true},
	{probe, "probe", "°F", []decimal{single, {2, 1}}, 2, false, 0, 0, false},
}

// newBench gives a shop its instruments. The serial numbers are the shop's own,
// so that no two instruments have one.
func newBench(d *dice, shop int, models []model, from time.Time) []*tool {
	var bench []*tool
	bar := d.chance(0.25) // a gauge in bar instead of kilopascals
	digital := d.chance(0.2)
	for i, m := range models {
		if m.kind == pressure && m.unit == "kPa" && bar {
			m.unit, m.accuracy, m.high = "bar", 0.02, 4
			m.steps = []decimal{hundredth, {2, 100}}
		}
		unit, err := quantity.ParseUnit(m.unit)
		if err != nil {
			panic(err) // a fault of the tables above
		}
		t := &tool{unit: unit, step: oneOf(d, m.steps...), click: m.kind == wrench && !digital, share: m.percent}
		accuracy := m.accuracy * oneOf(d, 0.5, 0.75, 1, 1)
		if m.kind == wrench && digital {
			t.step = tenth
			accuracy = 2
		}
		accuracy = decimal{1, 10000}.at(accuracy)
		t.in = &pb.Instrument{
			Id: m.id, Kind: m.kind, Unit: m.unit, Resolution: t.step.value(),
			SerialNumber: fmt.Sprintf("%s-%04d%02d", serialLetters(m.kind), 1000+shop, i),
		}
		if d.chance(0.5) {
			t.in.Id += fmt.Sprintf("-%d", 1+d.below(6))
		}
		if m.percent {
			t.in.Accuracy = &pb.Instrument_MaxDeviationPercent{MaxDeviationPercent: accuracy}
			t.bias = float64(accuracy / 100 * d.between(-0.5, 0.5))
		} else {
			t.in.Accuracy = &pb.Instrument_MaxPermissibleError{MaxPermissibleError: accuracy}
			t.bias = float64(accuracy * d.between(-0.5, 0.5))
		}
		if t.click && d.chance(0.5) {
			t.in.Resolution = 0 // nobody states it of a wrench that clicks
		}
		if m.high > 0 {
			low, high := m.low, m.high
			t.in.Range = &pb.Interval{Lower: &low, Upper: &high}
		}
		if m.calibrated {
			t.expire = from.Unix() + int64(1+d.below(364))*24*60*60
		}
		bench = append(bench, t)
	}
	return bench
}

func serialLetters(k pb.InstrumentKind) string {
	return strings.ToUpper(strings.ReplaceAll(strings.TrimPrefix(k.String(), "INSTRUMENT_KIND_"), "_", ""))[:3]
}

// fit is how one shop reads one characteristic: with which tool, in which unit.
// All values are in the unit that is written.
type fit struct {
	tool      *tool // nil where none is needed
	unit      string
	step      decimal
	low, high float64 // within these a reading is accepted
	lower     float64 // limits
	upper     float64
	least     float64 // what can be at all
	greatest  float64
	aim, half float64
	bias      float64
	drift     float64 // at the end of the period
}

// newFit chooses the tool.
func newFit(t *task, bench []*tool) *fit {
	var best *fit
	if t.kind == isMeasured || t.kind == isFilled || t.kind == isClicked {
		for _, b := range bench {
			f := t.with(b)
			switch {
			case f == nil:
			case f.good(t):
				return f
			case best == nil || f.high-f.low > best.high-best.low:
				best = f
			}
		}
	}
	if best != nil && t.guarded {
		return best
	}
	f := t.in(t.unit, t.unit.Symbol())
	switch t.kind {
	case isTurned:
		f.step = decimal{25, 100}
		if t.unit == clicks {
			f.step = single
		}
	case isCounted:
		f.step = single
	case isClicked:
		f.step = half
	default:
		f.step = fineStep(2 * f.half)
	}
	f.low, f.high = math.Max(f.lower, f.least), math.Min(f.upper, f.greatest)
	return f
}

var clicks = quantity.MustUnit("{click}")

// in gives the limits and so on in a unit.
func (t *task) in(unit quantity.Unit, written string) *fit {
	to := func(v float64) float64 {
		if math.IsInf(v, 0) {
			return v
		}
		converted, err := t.unit.Convert(v, unit)
		if err != nil {
			return math.NaN()
		}
		return decimal{1, 1e9}.at(converted)
	}
	f := &fit{unit: written, lower: to(t.lower), upper: to(t.upper), least: to(t.possible), greatest: to(t.impossible), aim: to(t.aim)}
	f.half = to(t.aim+t.half) - f.aim
	if t.oneSided {
		f.half = f.upper - f.aim
	}
	return f
}

// with gives the fit with a tool, or nil where it cannot read that at all.
func (t *task) with(b *tool) *fit {
	if b.unit.Dimension() != t.unit.Dimension() {
		return nil
	}
	f := t.in(b.unit, b.in.GetUnit())
	f.tool, f.step = b, b.step
	reach := f.aim + float64(2.5*f.half)
	size := math.Abs(f.aim)
	if !math.IsInf(f.upper, 0) {
		size = math.Max(size, f.upper)
	}
	if r := b.in.GetRange(); r != nil && (size > r.GetUpper() || r.GetLower() > 0 && f.lower < r.GetLower()) {
		return nil
	}
	inMillimetres := func(mm float64) float64 {
		v, err := millimetres.Convert(mm, b.unit)
		if err != nil {
			return math.Inf(1)
		}
		return v
	}
	runout := strings.HasSuffix(t.c.GetId(), "_runout")
	switch b.in.GetKind() {
	case feeler:
		if reach > inMillimetres(1.2) || f.lower < 0 {
			return nil
		}
	case dial:
		if !runout {
			return nil
		}
	case caliper:
		if runout || f.lower < 0 && t.aim <= 0 {
			return nil
		}
	case ruler:
		if 2*f.half < inMillimetres(5) {
			return nil
		}
	case vessel:
		if b.in.GetUnit() == "L" || b.in.GetUnit() == "gal" {
			if f.half/f.step.value() < 10 {
				return nil
			}
		}
	case wrench:
		if t.kind == isMeasured && f.half/f.step.value() < 2 {
			return nil
		}
	}
	f.low, f.high = math.Max(f.lower, f.least), math.Min(f.upper, f.greatest)
	if t.guarded {
		at := f.aim + f.half
		if !math.IsInf(f.upper, 0) {
			at = f.upper
		}
		u, known := b.uncertainty(at)
		if !known {
			return nil
		}
		w := float64(1.0001 * t.guard * gauge.CoverageFactor * u)
		f.low, f.high = math.Max(f.low, f.lower+w), math.Min(f.high, f.upper-w)
	}
	margin := float64(1e-7 * math.Abs(f.half))
	f.low, f.high = f.low+margin, f.high-margin
	if t.oneSided {
		f.low = f.lower
	}
	f.bias, f.drift = b.bias, b.drift
	if b.share {
		f.bias, f.drift = float64(f.bias*f.aim), float64(f.drift*f.aim)
	}
	return f
}

// uncertainty is the standard uncertainty of a value, without the last bits, which
// machines may differ in.
func (t *tool) uncertainty(value float64) (u float64, known bool) {
	u, known = gauge.StandardUncertainty(t.in, value, t.unit)
	return decimal{1, 1e9}.at(u), known
}

var millimetres = quantity.MustUnit("mm")

// good reports whether the tool can tell right from wrong.
func (f *fit) good(t *task) bool {
	u, known := f.tool.uncertainty(f.aim + f.half)
	room := math.Min(f.high-f.low, 2*f.half)
	if !known || 2*f.half < 5*u || room < 1.1*f.half {
		return false
	}
	steps := 4.0
	if t.kind == isClicked {
		steps = 1
	}
	return room >= steps*f.step.value()
}
