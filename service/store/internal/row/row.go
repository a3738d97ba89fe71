// Package row turns setups into what a table holds, and back. All stores that
// speak SQL share it, so that a row means the same in each of them.
package row

import (
	"crypto/sha256"
	"fmt"
	"time"

	"google.golang.org/protobuf/encoding/protowire"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/reflect/protoreflect"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/store"
	"github.com/snapgauge/snapgauge/service/vin"
)

// Row is a setup as columns. Times are microseconds since 1970 UTC.
type Row struct {
	ID           string
	RequestID    string
	Shop         string
	CreateTime   int64
	Technician   string
	VIN          string
	Model        string
	ModelYear    int64
	Market       string
	Phase        string // short name
	Verdict      string // short name
	SpecRevision string
	FinishTime   int64
	Supersedes   string   // id, or ""
	RecordDigest [32]byte // SHA-256 of Record
	Record       []byte   // deterministic wire form, without the expectation
	Report       []byte   // deterministic wire form
}

// Numbers of the fields of a record that are left out.
var (
	expectationField = fieldNumber("expectation")
	bulk             = map[protowire.Number]bool{fieldNumber("instruments"): true, fieldNumber("readings"): true}
)

func fieldNumber(name protoreflect.Name) protowire.Number {
	return (*pb.SetupRecord)(nil).ProtoReflect().Descriptor().Fields().ByName(name).Number()
}

// Encode makes the row of a new setup and returns the setup as it will be
// stored. An error wraps [store.ErrInvalidSetup].
//
// Deterministic wire form is the same for the same record within one release of
// the protobuf library, not for all time: a digest that differs does not prove
// that the records do. Compare them with [SameRecord] before saying so.
func Encode(s store.Setup) (Row, store.Setup, error) {
	if err := s.Check(); err != nil {
		return Row{}, store.Setup{}, err
	}
	deterministic := proto.MarshalOptions{Deterministic: true}
	record, err := deterministic.Marshal(s.Record)
	if err != nil {
		return Row{}, store.Setup{}, fmt.Errorf("%w: record: %v", store.ErrInvalidSetup, err)
	}
	if s.Record.GetExpectation() != nil {
		record = without(record, func(n protowire.Number) bool { return n == expectationField })
		s.Record = withoutExpectation(s.Record)
	}
	report, err := deterministic.Marshal(s.Report)
	if err != nil {
		return Row{}, store.Setup{}, fmt.Errorf("%w: report: %v", store.ErrInvalidSetup, err)
	}
	r := Row{
		ID:           s.ID,
		RequestID:    s.RequestID,
		Shop:         s.Shop,
		CreateTime:   s.CreateTime.UnixMicro(),
		Technician:   s.Record.GetTechnician(),
		VIN:          vin.Plain(s.Record.GetUnit().GetVin()),
		Model:        s.Record.GetUnit().GetModel(),
		ModelYear:    int64(s.Record.GetUnit().GetModelYear()),
		Market:       s.Record.GetUnit().GetMarket(),
		Phase:        store.PhaseName(s.Record.GetPhase()),
		Verdict:      store.VerdictName(s.Report.GetVerdict()),
		SpecRevision: s.Report.GetSpecRevision(),
		FinishTime:   s.Record.GetFinishTime().AsTime().UnixMicro(),
		Supersedes:   s.Supersedes(),
		RecordDigest: sha256.Sum256(record),
		Record:       record,
		Report:       report,
	}
	s.CreateTime = Time(r.CreateTime)
	return r, s, nil
}

// Time is the inverse of time.Time.UnixMicro, in UTC.
func Time(micros int64) time.Time { return time.UnixMicro(micros).UTC() }

// DecodeRecord reads a record from its wire form. With basic, readings and
// instruments are passed over and never decoded. b is not kept.
func DecodeRecord(b []byte, basic bool) (*pb.SetupRecord, error) {
	if basic {
		b = without(b, func(n protowire.Number) bool { return bulk[n] })
	}
	record := new(pb.SetupRecord)
	if err := proto.Unmarshal(b, record); err != nil {
		return nil, fmt.Errorf("stored record: %w", err)
	}
	return record, nil
}

// DecodeReport reads a report from its wire form. b is not kept.
func DecodeReport(b []byte) (*pb.Report, error) {
	report := new(pb.Report)
	if err := proto.Unmarshal(b, report); err != nil {
		return nil, fmt.Errorf("stored report: %w", err)
	}
	return report, nil
}

// SameRecord says whether two records are equal, their expectations aside.
func SameRecord(a, b *pb.SetupRecord) bool {
	return proto.Equal(withoutExpectation(a), withoutExpectation(b))
}

// withoutExpectation returns r itself where it has none, else a shallow copy.
func withoutExpectation(r *pb.SetupRecord) *pb.SetupRecord {
	if r.GetExpectation() == nil {
		return r
	}
	kept := new(pb.SetupRecord)
	to := kept.ProtoReflect()
	r.ProtoReflect().Range(func(f protoreflect.FieldDescriptor, v protoreflect.Value) bool {
		if f.Number() != expectationField {
			to.Set(f, v)
		}
		return true
	})
	to.SetUnknown(r.ProtoReflect().GetUnknown())
	return kept
}

// without copies a message in wire form, leaving out the fields that drop names.
// A malformed rest is copied as it is, for the decoder to complain about.
func without(b []byte, drop func(protowire.Number) bool) []byte {
	var kept []byte
	for len(b) > 0 {
		number, _, size := protowire.ConsumeField(b)
		if size < 0 {
			return append(kept, b...)
		}
		if !drop(number) {
			kept = append(kept, b[:size]...)
		}
		b = b[size:]
	}
	return kept
}
