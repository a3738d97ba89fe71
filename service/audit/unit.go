package audit

import (
	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/vin"
)

// unitOf is a number for the machine of a record, by its VIN however it was written,
// and be it malformed.
func unitOf(record *pb.SetupRecord) uint32 {
	return uint32(hash(vin.Plain(record.GetUnit().GetVin()), "", 0))
}

// seekVIN looks for another record of the same unit in the same phase. A service
// has no one phase, and a correction is meant to be of the same unit, whether it
// comes after the record that it corrects or before.
func (a *Auditor) seekVIN(e *Entry, index int64, unit uint32, at location, chance chanceFunc, show showFunc) {
	phase := e.record.GetPhase()
	stamped, err := vin.Parse(e.record.GetUnit().GetVin())
	if err != nil || phase == pb.Phase_PHASE_SERVICE {
		return
	}
	sign := pb.AuditSign_AUDIT_SIGN_VIN_SEEN_BEFORE
	correction := e.record.GetSupersedes() != ""
	earlier, seen := a.VINs.see(sighting{
		Key: hash(string(stamped), "", uint64(phase)), Record: index, Owner: at.person, Unit: unit, Weak: correction,
	}, mostVINBuckets)
	if correction {
		return
	}
	chance(sign)
	if seen && !earlier.Weak {
		show(sign, earlier.Record, "Record %d is of the same VIN in the same phase", number(earlier.Record))
	}
}
