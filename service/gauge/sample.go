package gauge

import (
	"math"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

// Sample is what one record says of one characteristic, for who looks at many
// records. Numbers are in the unit of the characteristic's limits.
type Sample struct {
	// Characteristic is as resolved for the unit: options and bulletins are in it.
	Characteristic *pb.Characteristic
	// Outcome is what the report counts it as.
	Outcome pb.OutcomeKind
	// Reading is the one that decides, nil where there is none; Value is its
	// number, where Numeric says that the characteristic has numbers.
	Reading *pb.Reading
	Numeric bool
	Value   float64
	// Stands says that the reading is to be reckoned with: it was taken once, under
	// the right conditions, by an instrument that counts, and its value can be.
	Stands bool
	// Scaled says that the value lies on a scale, so that a mean of many makes sense:
	// a quantity, fill, torque or adjuster position, and no plain count.
	Scaled bool
	// Found is the reading as found and FoundValue its number, where something was
	// changed afterwards.
	Found      *pb.Reading
	FoundValue float64
	// Instrument is the one that Reading names, nil where the record lists none.
	Instrument *pb.Instrument
	// Lower and Upper are the tolerance limits, infinite where there is none.
	Lower, Upper float64
	// Nominal is the target where HasNominal says that there is one.
	Nominal    float64
	HasNominal bool
}

// tell gives each characteristic to the caller, in the order of the job.
func (r *run) tell(each func(*Sample)) {
	var s Sample
	for i := range r.slots {
		ck, slot := &r.plan.checks[i], &r.slots[i]
		s = Sample{
			Characteristic: ck.c, Outcome: slot.outcome, Numeric: ck.kind.numeric(),
			Reading: slot.reading, Value: slot.value, Found: slot.found, FoundValue: slot.foundValue,
			Stands: slot.stands, Scaled: ck.kind < count,
			Lower: math.Inf(-1), Upper: math.Inf(1),
		}
		if s.Numeric {
			s.Lower, s.Upper = ck.tolerance.Lower, ck.tolerance.Upper
			s.Nominal, s.HasNominal = ck.nominal, ck.hasNominal
		}
		if s.Reading.GetResult() == nil {
			s.Reading = nil // a fastener that is described without a torque
		}
		if s.Reading != nil {
			if in, ok := r.instrument(s.Reading); ok {
				s.Instrument = in.in
			}
		}
		each(&s)
	}
}
