package gauge

import (
	"cmp"
	"fmt"
	"slices"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

// find adds a finding about a characteristic. A nil slot, or one without a
// reading, points at the reading that ought to be there.
func (r *run) find(code pb.FindingCode, ck *check, s *slot, message string) *pb.Finding {
	f := &pb.Finding{
		Code:           code,
		Severity:       ck.c.GetSeverity(),
		Effect:         meanings[code].effect,
		Characteristic: ck.c.GetId(),
		DisplayName:    ck.c.GetDisplayName(),
		FieldPath:      fmt.Sprintf("readings[%q]", ck.c.GetId()),
		Message:        message,
		Caution:        ck.c.GetCaution(),
		Source:         ck.c.GetSource(),
		SpecRevision:   r.engine.rev.Name(),
	}
	if meanings[code].record {
		// The paperwork is wrong, not the machine: its caution would mislead.
		f.Severity, f.Caution = pb.Severity_SEVERITY_RECORD, ""
	}
	if s != nil && s.reading != nil {
		f.FieldPath += "." + ck.kind.resultField()
	}
	r.findings = append(r.findings, f)
	return f
}

// findInRecord adds a finding that speaks of the record and not of one
// characteristic.
func (r *run) findInRecord(code pb.FindingCode, path, message string) *pb.Finding {
	f := &pb.Finding{
		Code:         code,
		Severity:     pb.Severity_SEVERITY_RECORD,
		Effect:       meanings[code].effect,
		FieldPath:    path,
		Message:      message,
		SpecRevision: r.engine.rev.Name(),
	}
	r.findings = append(r.findings, f)
	return f
}

// sortFindings puts the worst first, then the order of the job, then the code;
// what is left equal is told apart by its words.
func (r *run) sortFindings() {
	place := func(f *pb.Finding) int {
		if i, ok := r.plan.index[f.GetCharacteristic()]; ok {
			return i
		}
		return -1
	}
	slices.SortStableFunc(r.findings, func(a, b *pb.Finding) int {
		return cmp.Or(
			cmp.Compare(a.GetSeverity(), b.GetSeverity()),
			cmp.Compare(place(a), place(b)),
			cmp.Compare(a.GetCode(), b.GetCode()),
			cmp.Compare(a.GetFieldPath(), b.GetFieldPath()),
			cmp.Compare(a.GetMessage(), b.GetMessage()),
		)
	})
}

// worse is the worse of two severities: the contract numbers them from the
// worst.
func worse(a, b pb.Severity) pb.Severity { return min(a, b) }

// outcomes lists every characteristic, in the order of the job.
func (r *run) outcomes() []*pb.Outcome {
	out := make([]*pb.Outcome, len(r.slots))
	for i := range r.slots {
		ck, s := &r.plan.checks[i], &r.slots[i]
		o := &pb.Outcome{Characteristic: ck.c.GetId(), DisplayName: ck.c.GetDisplayName(), Kind: s.outcome}
		_, _, duplicated := s.duplicated()
		switch {
		case s.reading == nil || duplicated:
		case ck.kind.numeric():
			o.Measured = r.dualValue(ck, s.value)
			if s.found != nil {
				o.AsFound = r.dualValue(ck, s.foundValue)
			}
		default:
			o.Result = ck.saySeen(s.reading)
		}
		out[i] = o
	}
	return out
}
