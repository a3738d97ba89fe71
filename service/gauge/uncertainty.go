package gauge

import (
	"math"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/quantity"
	"github.com/snapgauge/snapgauge/service/workshop"
)

// CoverageFactor is the coverage factor k of every expanded uncertainty in the
// contract.
const CoverageFactor = 2

// uncertainty gives the standard uncertainty of a reading in the sheet's unit:
// the reading's own, else that of its instrument.
func (r *run) uncertainty(ck *check, s *slot) (u float64, known bool) {
	if s.reading.ExpandedUncertainty != nil {
		unit := ck.unit
		if code := s.reading.GetUnit(); code != "" {
			unit = mustParse(code) // admitted already
		}
		expanded, err := unit.ConvertDifference(s.reading.GetExpandedUncertainty(), ck.unit)
		return expanded / CoverageFactor, err == nil
	}
	in, listed := r.instrument(s.reading)
	if !listed {
		return 0, false
	}
	return StandardUncertainty(in.in, s.value, ck.unit)
}

// StandardUncertainty gives the standard uncertainty that an instrument gives a
// value, both in the given unit: its accuracy and its resolution combined (JCGM
// 100:2008, 5.1.2). It is not known where the accuracy is not stated: a resolution
// says how finely an instrument shows, not how truly. Nor is it where the
// instrument's own unit is none that converts.
func StandardUncertainty(in *pb.Instrument, value float64, unit quantity.Unit) (u float64, known bool) {
	own, unitErr := quantity.ParseUnit(in.GetUnit())
	inUnit := func(difference float64) (float64, error) {
		if unitErr != nil {
			return 0, unitErr
		}
		return own.ConvertDifference(difference, unit)
	}
	var accuracy float64
	var err error
	switch a := in.GetAccuracy().(type) {
	case *pb.Instrument_ExpandedUncertainty:
		if accuracy, err = inUnit(a.ExpandedUncertainty); err == nil {
			accuracy, err = workshop.StandardUncertaintyFromExpanded(accuracy, CoverageFactor)
		}
	case *pb.Instrument_MaxPermissibleError:
		if accuracy, err = inUnit(a.MaxPermissibleError); err == nil {
			accuracy, err = workshop.StandardUncertaintyFromPermissibleError(accuracy)
		}
	case *pb.Instrument_MaxDeviationPercent:
		// A share of the reading, so it is in the value's unit already.
		accuracy, err = workshop.StandardUncertaintyFromPermissibleError(a.MaxDeviationPercent / 100 * math.Abs(value))
	default:
		return 0, false
	}
	if err != nil {
		return 0, false
	}
	var resolution float64
	if in.GetResolution() != 0 {
		if resolution, err = inUnit(in.GetResolution()); err != nil {
			return 0, false
		}
		if resolution, err = workshop.StandardUncertaintyFromResolution(resolution); err != nil {
			return 0, false
		}
	}
	u, err = workshop.CombineUncertainty(accuracy, resolution)
	// A share of a reading of nought is nought, and no instrument is exact.
	return u, err == nil && accuracy > 0
}
