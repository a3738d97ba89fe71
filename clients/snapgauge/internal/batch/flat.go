package batch

import (
	"slices"
	"strings"
	"time"

	"google.golang.org/protobuf/reflect/protoreflect"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/spelling"
)

// flatResult is a result in columns, for CSV and Parquet alike. What a record that
// could not be judged does not have is null, or an empty cell; so is the verdict
// of a stored report in an audit of files. Names of the contract are written
// without the prefix of their type.
type flatResult struct {
	Place         string     `parquet:"place"`
	Record        int64      `parquet:"record"`
	Index         int64      `parquet:"index"`
	Setup         *string    `parquet:"setup,optional"`
	VIN           *string    `parquet:"vin,optional"`
	Model         *string    `parquet:"model,optional,dict"`
	Shop          *string    `parquet:"shop,optional,dict"`
	Technician    *string    `parquet:"technician,optional,dict"`
	Phase         *string    `parquet:"phase,optional,dict"`
	FinishTime    *time.Time `parquet:"finish_time,optional,timestamp(microsecond)"`
	SpecRevision  *string    `parquet:"spec_revision,optional,dict"`
	Verdict       *string    `parquet:"verdict,optional,dict"`
	VerdictThen   *string    `parquet:"verdict_then,optional,dict"`
	Conforming    *int32     `parquet:"conforming,optional"`
	Nonconforming *int32     `parquet:"nonconforming,optional"`
	Undecided     *int32     `parquet:"undecided,optional"`
	Missing       *int32     `parquet:"missing,optional"`
	Codes         *string    `parquet:"codes,optional,dict"`
	WorstSeverity *string    `parquet:"worst_severity,optional,dict"`
	FirstFinding  *string    `parquet:"first_finding,optional"`
	Signs         *string    `parquet:"signs,optional,dict"`
	Because       *string    `parquet:"because,optional"`
	ErrorReason   *string    `parquet:"error_reason,optional,dict"`
	Error         *string    `parquet:"error,optional"`
}

var (
	verdicts   = spelling.Of(pb.Verdict(0).Descriptor())
	severities = spelling.Of(pb.Severity(0).Descriptor())
	codes      = spelling.Of(pb.FindingCode(0).Descriptor())
	signs      = spelling.Of(pb.AuditSign(0).Descriptor())
)

// flatten puts a result in columns.
func flatten(r *pb.AuditResult, place Place) flatResult {
	f := flatResult{
		Place: place.String(), Record: r.GetIndex() + 1, Index: r.GetIndex(), Setup: present(r.GetSetup()),
		VIN: present(r.GetVin()), Model: present(r.GetModel()), Shop: present(r.GetShop()), Technician: present(r.GetTechnician()),
		Phase:        present(phases.Short(int32(r.GetPhase()))),
		SpecRevision: present(r.GetSpecRevision()),
		Verdict:      present(verdicts.Short(int32(r.GetVerdict()))),
		VerdictThen:  present(verdicts.Short(int32(r.GetVerdictThen()))),
		ErrorReason:  present(r.GetError().GetReason()),
		Error:        present(r.GetError().GetMessage()),
	}
	if r.GetFinishTime() != nil {
		t := r.GetFinishTime().AsTime()
		f.FinishTime = &t
	}
	if t := r.GetTally(); t != nil {
		f.Conforming, f.Nonconforming, f.Undecided, f.Missing = &t.Conforming, &t.Nonconforming, &t.Undecided, &t.Missing
	}
	findings := r.GetFindings()
	f.Codes = present(listed(findings, codes, func(x *pb.AuditFinding) protoreflect.EnumNumber { return x.GetCode().Number() }))
	if len(findings) > 0 {
		f.FirstFinding = present(findings[0].GetMessage())
		// SAFETY is the least number, and the worst.
		worst := slices.MinFunc(findings, func(a, b *pb.AuditFinding) int { return int(a.GetSeverity()) - int(b.GetSeverity()) })
		f.WorstSeverity = present(severities.Short(int32(worst.GetSeverity())))
	}
	remarks := r.GetRemarks()
	f.Signs = present(listed(remarks, signs, func(x *pb.AuditRemark) protoreflect.EnumNumber { return x.GetSign().Number() }))
	because := make([]string, 0, len(remarks))
	for _, remark := range remarks {
		because = append(because, remark.GetBecause())
	}
	f.Because = present(strings.Join(because, " "))
	return f
}

// listed names what the entries of a list are, each name once, in their order.
func listed[T any](list []T, names *spelling.Names, number func(T) protoreflect.EnumNumber) string {
	if len(list) == 0 {
		return ""
	}
	var result []string
	for _, one := range list {
		if name := names.Short(int32(number(one))); name != "" && !slices.Contains(result, name) {
			result = append(result, name)
		}
	}
	return strings.Join(result, " ")
}

func present(s string) *string {
	if s == "" {
		return nil
	}
	return &s
}
