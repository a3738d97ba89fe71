package gauge

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"unicode"
	"unicode/utf8"

	"google.golang.org/protobuf/reflect/protoreflect"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/quantity"
)

// This file turns values into what people read and what programs take.

// shownDigits are the significant digits of a value in a sentence: finer than
// the instruments of the trade, coarse enough to read.
const shownDigits = 4

func (ck *check) name() string { return ck.c.GetDisplayName() }

// scale is a typical size of the characteristic's values: all of them are said
// in the unit that fits it, so that a reading and its limit can be compared.
func (ck *check) scale() float64 {
	var scale float64
	for _, v := range []float64{ck.tolerance.Lower, ck.tolerance.Upper, ck.nominal} {
		if !math.IsInf(v, 0) {
			scale = max(scale, math.Abs(v))
		}
	}
	return scale
}

// inUnits converts a value of the characteristic for readers of one system.
func (ck *check) inUnits(system quantity.System, v float64) (float64, quantity.Unit) {
	unit := ck.unit.In(system, ck.scale())
	converted, err := ck.unit.Convert(v, unit)
	if err != nil {
		return v, ck.unit // In never changes the dimension
	}
	return converted, unit
}

// differenceIn converts a difference between two values of the characteristic.
func (ck *check) differenceIn(system quantity.System, d, scale float64) (float64, quantity.Unit) {
	unit := ck.unit.In(system, scale)
	converted, err := ck.unit.ConvertDifference(d, unit)
	if err != nil {
		return d, ck.unit
	}
	return converted, unit
}

func (r *run) sayValue(ck *check, v float64) string {
	converted, unit := ck.inUnits(r.opt.Units, v)
	return say(converted, unit, shownDigits)
}

// sayPair says two values with as many digits as it takes to tell them apart.
func (r *run) sayPair(ck *check, a, b float64) (string, string) {
	va, unit := ck.inUnits(r.opt.Units, a)
	vb, _ := ck.inUnits(r.opt.Units, b)
	for digits := shownDigits; digits < 12; digits++ {
		sa, sb := say(va, unit, digits), say(vb, unit, digits)
		if sa != sb || a == b {
			return sa, sb
		}
	}
	return say(va, unit, 12), say(vb, unit, 12)
}

func (r *run) sayDifference(ck *check, d float64) string {
	converted, unit := ck.differenceIn(r.opt.Units, d, ck.scale())
	return say(converted, unit, 3)
}

// sayAmount says a volume to be measured out, in the unit that fits the amount.
func (r *run) sayAmount(ck *check, amount float64) string {
	converted, unit := ck.differenceIn(r.opt.Units, amount, amount)
	return say(converted, unit, 3)
}

// sayAsWritten says a number in the unit that the technician wrote.
func sayAsWritten(reading *pb.Reading) string {
	unit := one
	if code := reading.GetUnit(); code != "" {
		unit = mustParse(code) // admitted already
	}
	return say(reading.GetValue(), unit, 6)
}

// sayResult says what a reading that stands came to.
func (r *run) sayResult(ck *check, s *slot) string {
	switch ck.kind {
	case choice:
		return ck.canonicalChoice(s.reading.GetChoice())
	case inspection:
		if s.reading.GetPass() {
			return "passed"
		}
		return "failed"
	case identifier:
		return s.reading.GetText()
	case adjuster:
		return r.sayPosition(ck, s.value)
	default:
		return r.sayValue(ck, s.value)
	}
}

// sayPosition says turns in eighths, as a hand makes them, and clicks whole.
func (r *run) sayPosition(ck *check, v float64) string {
	if ck.unit == turns {
		return quantity.FormatTurns(v)
	}
	return r.sayValue(ck, v)
}

// sayAt says where an adjuster stands: "2¾ turns in from flush with the case".
func (r *run) sayAt(ck *check, v float64) string {
	turn := ck.turn(v)
	return fmt.Sprintf("%s %s from %s", r.sayPosition(ck, turn.amount), turn.way, lowerFirst(ck.c.GetAdjuster().GetReferencePosition()))
}

// sayLimits says the limits in one phrase: "3 to 5 mm", "at most 9 N·m".
func (r *run) sayLimits(ck *check) string {
	t := ck.tolerance
	said := func(v float64) string {
		if ck.kind == adjuster {
			return r.sayPosition(ck, v)
		}
		return r.sayValue(ck, v)
	}
	switch lower, upper := !math.IsInf(t.Lower, 0), !math.IsInf(t.Upper, 0); {
	case lower && upper && t.Lower == t.Upper:
		return said(t.Lower)
	case lower && upper:
		return withoutUnit(said(t.Lower)) + " to " + said(t.Upper)
	case lower:
		return "at least " + said(t.Lower)
	default:
		return "at most " + said(t.Upper)
	}
}

// withoutUnit leaves the number of a value as said, for "3 to 5 mm".
func withoutUnit(said string) string {
	if i := strings.IndexByte(said, ' '); i > 0 {
		return said[:i]
	}
	return said
}

func say(v float64, unit quantity.Unit, digits int) string {
	return quantity.Format(roundTo(v, conversionDigits), unit, digits)
}

// dualValue says a value of the characteristic in both systems.
func (r *run) dualValue(ck *check, v float64) *pb.DualQuantity {
	metric, metricUnit := ck.inUnits(quantity.Metric, v)
	us, usUnit := ck.inUnits(quantity.USCustomary, v)
	return dual(metric, metricUnit, us, usUnit)
}

// dualDifference says a difference in both systems.
func (r *run) dualDifference(ck *check, d float64) *pb.DualQuantity {
	metric, metricUnit := ck.differenceIn(quantity.Metric, d, ck.scale())
	us, usUnit := ck.differenceIn(quantity.USCustomary, d, ck.scale())
	return dual(metric, metricUnit, us, usUnit)
}

// dualDigits keep a value exact to far below any instrument, without the last
// digits of binary arithmetic.
const dualDigits = 9

func dual(metric float64, metricUnit quantity.Unit, us float64, usUnit quantity.Unit) *pb.DualQuantity {
	return &pb.DualQuantity{
		MetricValue: roundTo(metric, dualDigits),
		MetricUnit:  metricUnit.Code(),
		UsValue:     roundTo(us, dualDigits),
		UsUnit:      usUnit.Code(),
	}
}

// roundTo rounds to significant digits, in decimal.
func roundTo(v float64, digits int) float64 {
	rounded, err := strconv.ParseFloat(strconv.FormatFloat(v, 'e', digits-1, 64), 64)
	if err != nil {
		return v
	}
	return rounded
}

// floorTo rounds a positive value down to significant digits.
func floorTo(v float64, digits int) float64 {
	if v <= 0 || math.IsInf(v, 0) || math.IsNaN(v) {
		return v
	}
	step := math.Pow(10, math.Floor(math.Log10(v))-float64(digits-1))
	// A hair more, so that 0.1 stays 0.1.
	return roundTo(math.Floor(v/step*(1+1e-12))*step, digits)
}

func percent(p float64) string {
	switch {
	case p > 0 && p < 0.001:
		return "below 0.1 %"
	case p < 1 && p > 0.999:
		return "above 99.9 %"
	}
	return quantity.Format(p*100, quantity.MustUnit("%"), 3)
}

func mustParse(code string) quantity.Unit {
	u, err := quantity.ParseUnit(code)
	if err != nil {
		return quantity.Unit{}
	}
	return u
}

// sentence formats and ends with one stop.
func sentence(format string, args ...any) string { return withStop(fmt.Sprintf(format, args...)) }

func withStop(s string) string {
	s = strings.TrimSpace(s)
	if s == "" || strings.HasSuffix(s, ".") || strings.HasSuffix(s, "!") || strings.HasSuffix(s, "?") {
		return s
	}
	return s + "."
}

// lowerFirst lowers the first letter of a name inside a sentence, unless the
// word is an abbreviation.
func lowerFirst(s string) string {
	first, n := utf8.DecodeRuneInString(s)
	second, _ := utf8.DecodeRuneInString(s[n:])
	if !unicode.IsUpper(first) || unicode.IsUpper(second) || unicode.IsDigit(second) {
		return s
	}
	return string(unicode.ToLower(first)) + s[n:]
}

// list joins words as a sentence does: "a, b and c".
func list(words []string) string {
	switch len(words) {
	case 0:
		return ""
	case 1:
		return words[0]
	}
	return strings.Join(words[:len(words)-1], ", ") + " and " + words[len(words)-1]
}

func quotedList(words []string) string {
	quoted := make([]string, len(words))
	for i, w := range words {
		quoted[i] = strconv.Quote(w)
	}
	if len(quoted) < 2 {
		return strings.Join(quoted, "")
	}
	return strings.Join(quoted[:len(quoted)-1], ", ") + " or " + quoted[len(quoted)-1]
}

// shortName is an enum value's name without its enum's prefix: "REJECT",
// "PRE_DELIVERY".
func shortName(e protoreflect.Enum) string {
	d := e.Descriptor()
	value := d.Values().ByNumber(e.Number())
	if value == nil {
		return strconv.Itoa(int(e.Number()))
	}
	return strings.TrimPrefix(string(value.Name()), enumPrefix(d))
}

func enumPrefix(d protoreflect.EnumDescriptor) string {
	var b strings.Builder
	for i, c := range string(d.Name()) {
		if i > 0 && unicode.IsUpper(c) {
			b.WriteByte('_')
		}
		b.WriteRune(unicode.ToUpper(c))
	}
	return b.String() + "_"
}

// words writes an enum value as people say it.
func words(e protoreflect.Enum) string {
	return strings.ToLower(strings.ReplaceAll(shortName(e), "_", " "))
}

func phaseWords(p pb.Phase) string {
	if p == pb.Phase_PHASE_PRE_DELIVERY {
		return "pre-delivery"
	}
	return words(p)
}

func stageWords(s pb.Stage) string { return words(s) }

func lockingWords(l pb.Locking) string {
	switch l {
	case pb.Locking_LOCKING_THREADLOCK_MEDIUM:
		return "medium-strength thread-locking fluid"
	case pb.Locking_LOCKING_THREADLOCK_HIGH:
		return "high-strength thread-locking fluid"
	case pb.Locking_LOCKING_PREVAILING_TORQUE_NUT:
		return "a prevailing-torque nut"
	}
	return "a " + words(l)
}

func driveWords(d pb.Drive) string {
	if d == pb.Drive_DRIVE_UNSPECIFIED {
		return "drive"
	}
	return words(d)
}

func lubricationWords(l pb.Lubrication) string {
	switch l {
	case pb.Lubrication_LUBRICATION_UNSPECIFIED:
		return ""
	case pb.Lubrication_LUBRICATION_ANTI_SEIZE:
		return ", with anti-seize compound on the thread"
	}
	return ", thread " + words(l)
}

// conditionWords says a condition inside a sentence that has "with" before it.
func conditionWords(c pb.Condition) string {
	switch c {
	case pb.Condition_CONDITION_ENGINE_COLD:
		return "the engine cold"
	case pb.Condition_CONDITION_ENGINE_WARM:
		return "the engine warm"
	case pb.Condition_CONDITION_ON_WORK_STAND:
		return "the machine on a work stand"
	case pb.Condition_CONDITION_ON_WHEELS:
		return "the machine on its wheels"
	case pb.Condition_CONDITION_ON_SIDE_STAND:
		return "the machine on its side stand"
	case pb.Condition_CONDITION_TYRES_COLD:
		return "the tyres cold"
	case pb.Condition_CONDITION_TYRES_WARM:
		return "the tyres warm"
	case pb.Condition_CONDITION_BARS_STRAIGHT:
		return "the bars straight"
	case pb.Condition_CONDITION_BARS_LEFT_LOCK:
		return "the bars at the left lock"
	case pb.Condition_CONDITION_BARS_RIGHT_LOCK:
		return "the bars at the right lock"
	case pb.Condition_CONDITION_RIDER_OFF:
		return "no rider on it"
	case pb.Condition_CONDITION_RIDER_ABOARD:
		return "the rider on it"
	case pb.Condition_CONDITION_SUSPENSION_NEW:
		return "the suspension new"
	case pb.Condition_CONDITION_SUSPENSION_SETTLED:
		return "the suspension settled"
	case pb.Condition_CONDITION_ENGINE_STOPPED:
		return "the engine stopped"
	case pb.Condition_CONDITION_ENGINE_RUNNING:
		return "the engine running"
	case pb.Condition_CONDITION_NORMAL_OIL:
		return "the engine on its normal oil"
	case pb.Condition_CONDITION_DOUBLE_OIL:
		return "the engine on double oil"
	case pb.Condition_CONDITION_BATTERY_AT_REST:
		return "the battery at rest"
	case pb.Condition_CONDITION_BATTERY_CHARGING:
		return "the battery on charge"
	}
	return words(c)
}
