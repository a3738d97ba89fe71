package store

import (
	"slices"
	"time"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/vin"
)

// Field is something that setups can be filtered by. Its text is the name that
// filters write.
type Field string

// The fields, and where their values stand in a [Setup].
const (
	FieldShop         Field = "shop"          // text; Shop
	FieldTechnician   Field = "technician"    // text; Record.technician
	FieldVIN          Field = "vin"           // text; Record.unit.vin, as vin.Plain writes it
	FieldModel        Field = "model"         // text; Record.unit.model
	FieldModelYear    Field = "model_year"    // int; Record.unit.model_year
	FieldMarket       Field = "market"        // text; Record.unit.market
	FieldPhase        Field = "phase"         // enum; PhaseName of Record.phase
	FieldVerdict      Field = "verdict"       // enum; VerdictName of Report.verdict
	FieldSpecRevision Field = "spec_revision" // text; Report.spec_revision
	FieldCreateTime   Field = "create_time"   // time; CreateTime
	FieldFinishTime   Field = "finish_time"   // time; Record.finish_time
)

// Kind is the type of a field's values.
type Kind int

// The kinds. A [Compare] on a field of KindText or KindEnum has a string,
// of KindInt an int64, of KindTime a time.Time.
const (
	KindText Kind = iota + 1
	KindEnum      // text out of a fixed list
	KindInt
	KindTime // compared in whole microseconds, the rest cut off on both sides
)

type fieldInfo struct {
	kind Kind
	text func(Setup) string
	int  func(Setup) int64
	time func(Setup) time.Time
}

var fields = map[Field]fieldInfo{
	FieldShop:         {kind: KindText, text: func(s Setup) string { return s.Shop }},
	FieldTechnician:   {kind: KindText, text: func(s Setup) string { return s.Record.GetTechnician() }},
	FieldVIN:          {kind: KindText, text: func(s Setup) string { return vin.Plain(s.Record.GetUnit().GetVin()) }},
	FieldModel:        {kind: KindText, text: func(s Setup) string { return s.Record.GetUnit().GetModel() }},
	FieldModelYear:    {kind: KindInt, int: func(s Setup) int64 { return int64(s.Record.GetUnit().GetModelYear()) }},
	FieldMarket:       {kind: KindText, text: func(s Setup) string { return s.Record.GetUnit().GetMarket() }},
	FieldPhase:        {kind: KindEnum, text: func(s Setup) string { return PhaseName(s.Record.GetPhase()) }},
	FieldVerdict:      {kind: KindEnum, text: func(s Setup) string { return VerdictName(s.Report.GetVerdict()) }},
	FieldSpecRevision: {kind: KindText, text: func(s Setup) string { return s.Report.GetSpecRevision() }},
	FieldCreateTime:   {kind: KindTime, time: func(s Setup) time.Time { return s.CreateTime }},
	FieldFinishTime:   {kind: KindTime, time: func(s Setup) time.Time { return s.Record.GetFinishTime().AsTime() }},
}

// Fields returns all fields in alphabetical order.
func Fields() []Field {
	names := make([]Field, 0, len(fields))
	for f := range fields {
		names = append(names, f)
	}
	slices.Sort(names)
	return names
}

// Kind returns the kind of f's values. ok is false when there is no such field.
func (f Field) Kind() (k Kind, ok bool) {
	info, ok := fields[f]
	return info.kind, ok
}

// Values returns the short names that a field of [KindEnum] can have, in the
// order of their numbers, and nil for any other field.
func (f Field) Values() []string {
	var names []string
	switch f {
	case FieldPhase:
		for n := int32(1); int(n) < len(pb.Phase_name); n++ {
			names = append(names, PhaseName(pb.Phase(n)))
		}
	case FieldVerdict:
		for n := int32(1); int(n) < len(pb.Verdict_name); n++ {
			names = append(names, VerdictName(pb.Verdict(n)))
		}
	}
	return names
}
