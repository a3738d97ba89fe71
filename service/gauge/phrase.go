package gauge

import (
	"fmt"
	"strings"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/phrase"
	"github.com/snapgauge/snapgauge/service/quantity"
)

// This file says what the engine found in the units asked for. How values and
// words are said at all is package phrase's.

func (ck *check) name() string { return ck.c.GetDisplayName() }

// inSentence is the name as it stands inside a sentence.
func (ck *check) inSentence() string { return phrase.LowerFirst(ck.name()) }

func (r *run) sayValue(ck *check, v float64) string { return ck.measure.Value(r.opt.Units, v) }

func (r *run) sayPair(ck *check, a, b float64) (string, string) {
	return ck.measure.Pair(r.opt.Units, a, b)
}

func (r *run) sayDifference(ck *check, d float64) string {
	return ck.measure.Difference(r.opt.Units, d)
}

func (r *run) sayAmount(ck *check, d float64) string { return ck.measure.Amount(r.opt.Units, d) }

func (r *run) sayLimits(ck *check) string {
	return ck.measure.Limits(r.opt.Units, ck.tolerance.Lower, ck.tolerance.Upper)
}

// sayAsWritten says a number in the unit that the technician wrote.
func sayAsWritten(reading *pb.Reading) string {
	unit := one
	if code := reading.GetUnit(); code != "" {
		unit = mustParse(code) // admitted already
	}
	return quantity.Format(reading.GetValue(), unit, 6)
}

// sayResult says what a reading that stands came to.
func (r *run) sayResult(ck *check, s *slot) string {
	if ck.kind.numeric() {
		return r.sayValue(ck, s.value)
	}
	return ck.saySeen(s.reading)
}

// saySeen says a result that is not a number.
func (ck *check) saySeen(reading *pb.Reading) string {
	switch {
	case ck.kind == choice:
		return ck.canonicalChoice(reading.GetChoice())
	case ck.kind == identifier:
		return reading.GetText()
	case reading.GetPass():
		return "passed"
	}
	return "failed"
}

// sayAt says where an adjuster stands: "2¾ turns in from flush with the case".
func (r *run) sayAt(ck *check, v float64) string {
	turn := ck.turn(v)
	return fmt.Sprintf("%s %s from %s", r.sayValue(ck, turn.amount), turn.way,
		phrase.LowerFirst(ck.c.GetAdjuster().GetReferencePosition()))
}

func (r *run) dualValue(ck *check, v float64) *pb.DualQuantity { return ck.measure.Dual(v) }

func (r *run) dualDifference(ck *check, d float64) *pb.DualQuantity {
	return ck.measure.DualDifference(d)
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

// mustParse parses the unit of a reading that has been admitted.
func mustParse(code string) quantity.Unit {
	u, err := quantity.ParseUnit(code)
	if err != nil {
		return one
	}
	return u
}

// lubricated adds the state of the thread to a torque.
func lubricated(l pb.Lubrication) string {
	if l == pb.Lubrication_LUBRICATION_UNSPECIFIED {
		return ""
	}
	return ", " + strings.Replace(phrase.Lubrication(l), "anti-seize", "with anti-seize", 1)
}
