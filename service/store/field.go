package store

import (
	"maps"
	"slices"
	"time"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/vin"
)

// Field is something that a list can be filtered by. Its text is the name that
// filters write.
type Field string

// The fields of setups, and where their values stand in a [Setup].
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

// Table has the fields that a T can be filtered by. It is read-only once made.
type Table[T any] map[Field]Column[T]

// Column is a field of a [Table]: the kind of its values, and the one function
// that gives a T's value of that kind.
type Column[T any] struct {
	Kind Kind
	Text func(T) string // of KindText and KindEnum
	Int  func(T) int64
	Time func(T) time.Time
}

// SetupFields are the fields that setups can be filtered by.
var SetupFields = Table[Setup]{
	FieldShop:         {Kind: KindText, Text: func(s Setup) string { return s.Shop }},
	FieldTechnician:   {Kind: KindText, Text: func(s Setup) string { return s.Record.GetTechnician() }},
	FieldVIN:          {Kind: KindText, Text: func(s Setup) string { return vin.Plain(s.Record.GetUnit().GetVin()) }},
	FieldModel:        {Kind: KindText, Text: func(s Setup) string { return s.Record.GetUnit().GetModel() }},
	FieldModelYear:    {Kind: KindInt, Int: func(s Setup) int64 { return int64(s.Record.GetUnit().GetModelYear()) }},
	FieldMarket:       {Kind: KindText, Text: func(s Setup) string { return s.Record.GetUnit().GetMarket() }},
	FieldPhase:        {Kind: KindEnum, Text: func(s Setup) string { return PhaseName(s.Record.GetPhase()) }},
	FieldVerdict:      {Kind: KindEnum, Text: func(s Setup) string { return VerdictName(s.Report.GetVerdict()) }},
	FieldSpecRevision: {Kind: KindText, Text: func(s Setup) string { return s.Report.GetSpecRevision() }},
	FieldCreateTime:   {Kind: KindTime, Time: func(s Setup) time.Time { return s.CreateTime }},
	FieldFinishTime:   {Kind: KindTime, Time: func(s Setup) time.Time { return s.Record.GetFinishTime().AsTime() }},
}

// Fields returns all fields of setups in alphabetical order.
func Fields() []Field { return SetupFields.Fields() }

// Kind returns the kind of the values of a field of setups. ok is false when there
// is no such field.
func (f Field) Kind() (k Kind, ok bool) { return SetupFields.Kind(f) }

// Fields returns the table's fields in alphabetical order.
func (t Table[T]) Fields() []Field { return slices.Sorted(maps.Keys(t)) }

// Kind returns the kind of the values of f. ok is false when the table has no such
// field.
func (t Table[T]) Kind(f Field) (k Kind, ok bool) {
	column, ok := t[f]
	return column.Kind, ok
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
