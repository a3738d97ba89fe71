package shape

import (
	"google.golang.org/protobuf/types/known/timestamppb"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

// Sound reports whether a record certainly holds every constraint of the
// contract, and each of its times is a time. See the package for what false
// means.
func Sound(r *pb.SetupRecord) bool {
	return unit(r.GetUnit()) &&
		r.GetPhase() != 0 && phases.has(r.GetPhase()) &&
		isShop(r.GetShop()) &&
		atMost(r.GetTechnician(), 64) && isPerson(r.GetTechnician()) &&
		instantOrNone(r.GetStartTime()) &&
		r.GetFinishTime().IsValid() &&
		options(r.GetOptions()) &&
		stated(r.GetConditions()) &&
		instruments(r.GetInstruments()) &&
		readings(r.GetReadings()) &&
		(r.GetSupersedes() == "" || isSetupName(r.GetSupersedes())) &&
		atMost(r.GetNote(), 4096) &&
		expectation(r.GetExpectation())
}

func unit(u *pb.Unit) bool {
	return u != nil &&
		u.Vin != "" && atMost(u.Vin, 32) &&
		u.Model != "" && atMost(u.Model, 64) &&
		u.ModelYear >= 1980 && u.ModelYear <= 2100 &&
		isMarket(u.Market) &&
		(u.Hours == nil || notNegative(*u.Hours)) &&
		(u.OdometerKm == nil || notNegative(*u.OdometerKm))
}

// options looks at each pair: the list is short, and a set would be allocated.
func options(list []string) bool {
	if len(list) > 64 {
		return false
	}
	for i, option := range list {
		if !isIdentifier(option) {
			return false
		}
		for _, earlier := range list[:i] {
			if option == earlier {
				return false
			}
		}
	}
	return true
}

// stated is what a record and a reading may say of conditions.
func stated(list []pb.Condition) bool {
	return len(list) == 0 || len(list) <= 16 && conditions.eachOnce(list)
}

func instruments(list []*pb.Instrument) bool {
	if len(list) > 64 {
		return false
	}
	for _, i := range list {
		if !instrument(i) {
			return false
		}
	}
	return true
}

func instrument(i *pb.Instrument) bool {
	return i != nil &&
		isInstrumentID(i.Id) &&
		instrumentKinds.has(i.Kind) &&
		atMost(i.Unit, 32) &&
		accuracy(i) &&
		notNegative(i.Resolution) &&
		interval(i.Range) &&
		instantOrNone(i.CalibrationExpireTime) &&
		atMost(i.SerialNumber, 64) && isPrintable(i.SerialNumber)
}

func accuracy(i *pb.Instrument) bool {
	switch a := i.Accuracy.(type) {
	case nil:
		return true
	case *pb.Instrument_ExpandedUncertainty:
		return a != nil && positive(a.ExpandedUncertainty)
	case *pb.Instrument_MaxPermissibleError:
		return a != nil && positive(a.MaxPermissibleError)
	case *pb.Instrument_MaxDeviationPercent:
		return a != nil && positive(a.MaxDeviationPercent) && a.MaxDeviationPercent <= 100
	}
	return false
}

func interval(i *pb.Interval) bool {
	return i == nil ||
		(i.Lower == nil || finite(*i.Lower)) &&
			(i.Upper == nil || finite(*i.Upper)) &&
			(i.Lower == nil || i.Upper == nil || *i.Lower <= *i.Upper)
}

func readings(list []*pb.Reading) bool {
	if len(list) > 1024 {
		return false
	}
	for _, r := range list {
		if !reading(r) {
			return false
		}
	}
	return true
}

func reading(r *pb.Reading) bool {
	return r != nil &&
		isIdentifier(r.Characteristic) &&
		stages.has(r.Stage) &&
		result(r) &&
		atMost(r.Unit, 32) &&
		atMost(r.Instrument, 64) &&
		instantOrNone(r.Time) &&
		atMost(r.Technician, 64) &&
		stated(r.Conditions) &&
		(r.ExpandedUncertainty == nil || positive(*r.ExpandedUncertainty)) &&
		fitted(r.Fitted) &&
		atMost(r.Note, 1024)
}

func result(r *pb.Reading) bool {
	switch got := r.Result.(type) {
	case nil:
		return true
	case *pb.Reading_Value:
		return got != nil && finite(got.Value)
	case *pb.Reading_Pass:
		return got != nil
	case *pb.Reading_Choice:
		return got != nil && isSeen(got.Choice)
	case *pb.Reading_Text:
		return got != nil && isSeen(got.Text)
	}
	return false
}

// isSeen is the constraint of results that are words.
func isSeen(s string) bool {
	return s != "" && atMost(s, 128) && isPrintable(s)
}

func fitted(f *pb.FittedFastener) bool {
	return f == nil ||
		atMost(f.Thread, 32) && isPrintable(f.Thread) &&
			atMost(f.PropertyClass, 16) && isPrintable(f.PropertyClass)
}

func expectation(e *pb.Expectation) bool {
	return e == nil ||
		e.Verdict != 0 && verdicts.has(e.Verdict) && findingCodes.eachOnce(e.Codes)
}

func instantOrNone(t *timestamppb.Timestamp) bool {
	return t == nil || t.IsValid()
}
