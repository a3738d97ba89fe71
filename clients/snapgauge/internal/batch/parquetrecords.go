package batch

import (
	"errors"
	"fmt"
	"io"
	"slices"
	"time"

	"github.com/parquet-go/parquet-go"
	thrift "github.com/parquet-go/parquet-go/format"
	"google.golang.org/protobuf/reflect/protoreflect"
	"google.golang.org/protobuf/types/known/timestamppb"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/spelling"
)

// parquetRecord is a set-up record as the columns of a Parquet file: the message
// of the contract, field by field. All may be null; what is null is left out. Of
// the messages within, a group is there where one of its columns is not null.
type parquetRecord struct {
	Unit struct {
		VIN        string   `parquet:"vin,optional"`
		Model      string   `parquet:"model,optional"`
		ModelYear  int32    `parquet:"model_year,optional"`
		Market     string   `parquet:"market,optional"`
		Hours      *float64 `parquet:"hours,optional"`
		OdometerKm *float64 `parquet:"odometer_km,optional"`
	} `parquet:"unit"`
	Phase       string              `parquet:"phase,optional"`
	Shop        string              `parquet:"shop,optional"`
	Technician  string              `parquet:"technician,optional"`
	StartTime   *time.Time          `parquet:"start_time,optional,timestamp(microsecond)"`
	FinishTime  *time.Time          `parquet:"finish_time,optional,timestamp(microsecond)"`
	Options     []string            `parquet:"options,list"`
	Conditions  []string            `parquet:"conditions,list"`
	Instruments []parquetInstrument `parquet:"instruments,list"`
	Readings    []parquetReading    `parquet:"readings,list"`
	Supersedes  string              `parquet:"supersedes,optional"`
	Note        string              `parquet:"note,optional"`
}

type parquetInstrument struct {
	ID                    string     `parquet:"id,optional"`
	Kind                  string     `parquet:"kind,optional"`
	Unit                  string     `parquet:"unit,optional"`
	ExpandedUncertainty   *float64   `parquet:"expanded_uncertainty,optional"`
	MaxPermissibleError   *float64   `parquet:"max_permissible_error,optional"`
	MaxDeviationPercent   *float64   `parquet:"max_deviation_percent,optional"`
	Resolution            float64    `parquet:"resolution,optional"`
	Range                 bounds     `parquet:"range"`
	CalibrationExpireTime *time.Time `parquet:"calibration_expire_time,optional,timestamp(microsecond)"`
	SerialNumber          string     `parquet:"serial_number,optional"`
}

type bounds struct {
	Lower *float64 `parquet:"lower,optional"`
	Upper *float64 `parquet:"upper,optional"`
}

type parquetReading struct {
	Characteristic      string     `parquet:"characteristic,optional"`
	Stage               string     `parquet:"stage,optional"`
	Value               *float64   `parquet:"value,optional"`
	Pass                *bool      `parquet:"pass,optional"`
	Choice              *string    `parquet:"choice,optional"`
	Text                *string    `parquet:"text,optional"`
	Unit                string     `parquet:"unit,optional"`
	Instrument          string     `parquet:"instrument,optional"`
	Time                *time.Time `parquet:"time,optional,timestamp(microsecond)"`
	Technician          string     `parquet:"technician,optional"`
	Conditions          []string   `parquet:"conditions,list"`
	ExpandedUncertainty *float64   `parquet:"expanded_uncertainty,optional"`
	Fitted              struct {
		Thread        string `parquet:"thread,optional"`
		PropertyClass string `parquet:"property_class,optional"`
		Renewed       *bool  `parquet:"renewed,optional"`
		Locked        *bool  `parquet:"locked,optional"`
	} `parquet:"fitted"`
	Note string `parquet:"note,optional"`
}

// parquetRecords reads records from a Parquet file that has them as they are.
type parquetRecords struct {
	*parquetFile
	reader *parquet.GenericReader[parquetRecord]
	batch  []parquetRecord
	left   []parquetRecord // those of the batch that are not handed out yet
	row    int64
	err    error
}

func newParquetRecords(p *parquetFile) (*parquetRecords, error) {
	r := &parquetRecords{parquetFile: p, batch: make([]parquetRecord, rowsAtOnce)}
	err := checkSchema(p.parsed.Schema())
	if err == nil {
		err = guard(func() error {
			r.reader = parquet.NewGenericReader[parquetRecord](p.parsed)
			return nil
		})
	}
	if err != nil {
		return nil, fileError(p.name, err)
	}
	return r, nil
}

// checkSchema finds columns that would be left out or misunderstood unsaid.
func checkSchema(schema *parquet.Schema) error {
	want := parquet.SchemaOf(new(parquetRecord))
	paths := schema.Columns()
	for _, must := range []string{"unit.vin", "readings.list.element.characteristic"} {
		if !slices.ContainsFunc(paths, func(path []string) bool { return title(path) == must }) {
			return fmt.Errorf("has no column %s, so that it is no file of set-up records; a table needs a column map", must)
		}
	}
	for _, path := range paths {
		own, _ := schema.Lookup(path...)
		known, ok := want.Lookup(path...)
		if !ok {
			return fmt.Errorf("the column %s is no field of a set-up record", title(path))
		}
		if own.MaxRepetitionLevel != known.MaxRepetitionLevel {
			return fmt.Errorf("the column %s: got another nesting of lists than a set-up record has", title(path))
		}
		if problem := unlike(own.Node.Type(), known.Node.Type()); problem != "" {
			return fmt.Errorf("the column %s: %s", title(path), problem)
		}
	}
	return nil
}

// unlike says why values of one type are not taken for those of another.
func unlike(own, want parquet.Type) string {
	number := func(t parquet.Type) bool {
		switch t.Kind() {
		case parquet.Int32, parquet.Int64, parquet.Float, parquet.Double:
			logical := t.LogicalType()
			if logical == nil {
				return true
			}
			_, integer := logical.Value.(*thrift.IntType)
			return integer
		}
		return false
	}
	stamp := func(t parquet.Type) *thrift.TimestampType {
		if logical := t.LogicalType(); logical != nil {
			stamp, _ := logical.Value.(*thrift.TimestampType)
			return stamp
		}
		return nil
	}
	switch {
	case stamp(want) != nil:
		switch s := stamp(own); {
		case s == nil:
			return fmt.Sprintf("got %s, want a time stamp", own)
		case !s.IsAdjustedToUTC:
			return "got times without a time zone, want UTC"
		}
	case number(want) && !number(own), !number(want) && own.Kind() != want.Kind():
		return fmt.Sprintf("got %s, want %s", own, want)
	}
	return ""
}

func (r *parquetRecords) Next() (Item, error) {
	for len(r.left) == 0 {
		if r.err != nil {
			return Item{}, r.err
		}
		r.err = guard(r.read)
		if errors.Is(r.err, io.EOF) {
			r.err = r.ended()
		}
		if r.err != nil && !errors.Is(r.err, io.EOF) {
			r.err = fileError(r.name, fmt.Errorf("after row %d: %w", r.row, r.err))
		}
	}
	row := &r.left[0]
	r.left = r.left[1:]
	if r.row++; r.row > r.parsed.NumRows() {
		r.left, r.err = nil, fileError(r.name, errMoreRows)
		return Item{}, r.err
	}
	r.taken.Store(r.row)
	place := Place{r.name, r.row}
	var f fields
	record := f.record(row)
	if f.problem != "" {
		return unreadable(place, f.problem), nil
	}
	return Item{Record: record, Place: place}, nil
}

func (r *parquetRecords) read() error {
	clear(r.batch) // or lists would be read over those that were handed out
	n, err := r.reader.Read(r.batch)
	r.left = r.batch[:n]
	if n == 0 && err == nil {
		return io.ErrNoProgress
	}
	if n > 0 && errors.Is(err, io.EOF) {
		return nil
	}
	return err
}

func (r *parquetRecords) Close() error {
	_ = guard(r.reader.Close) // only read from
	return r.parquetFile.Close()
}

var (
	phases          = spelling.Of(pb.Phase(0).Descriptor())
	stages          = spelling.Of(pb.Stage(0).Descriptor())
	conditions      = spelling.Of(pb.Condition(0).Descriptor())
	instrumentKinds = spelling.Of(pb.InstrumentKind(0).Descriptor())
)

// fields makes messages of rows, and keeps the first thing that is wrong.
type fields struct{ problem string }

func (f *fields) wrong(path, problem string) {
	if f.problem == "" {
		f.problem = path + ": " + problem
	}
}

func (f *fields) record(r *parquetRecord) *pb.SetupRecord {
	m := &pb.SetupRecord{
		Unit: &pb.Unit{
			Vin: f.text("unit.vin", r.Unit.VIN), Model: f.text("unit.model", r.Unit.Model), ModelYear: r.Unit.ModelYear,
			Market: f.text("unit.market", r.Unit.Market), Hours: r.Unit.Hours, OdometerKm: r.Unit.OdometerKm,
		},
		Phase:      enumOf[pb.Phase](f, phases, "phase", r.Phase),
		Shop:       f.text("shop", r.Shop),
		Technician: f.text("technician", r.Technician),
		StartTime:  stampOf(r.StartTime),
		FinishTime: stampOf(r.FinishTime),
		Conditions: enumsOf[pb.Condition](f, conditions, "conditions", r.Conditions),
		Supersedes: f.text("supersedes", r.Supersedes),
		Note:       f.text("note", r.Note),
	}
	for _, option := range r.Options {
		m.Options = append(m.Options, f.text("options", option))
	}
	for i := range r.Instruments {
		m.Instruments = append(m.Instruments, f.instrument(fmt.Sprintf("instruments[%d].", i), &r.Instruments[i]))
	}
	readings := make([]pb.Reading, len(r.Readings)) // one piece for all of them
	m.Readings = make([]*pb.Reading, len(r.Readings))
	for i := range r.Readings {
		m.Readings[i] = &readings[i]
		f.reading(i, &r.Readings[i], m.Readings[i])
	}
	return m
}

func (f *fields) instrument(path string, r *parquetInstrument) *pb.Instrument {
	m := &pb.Instrument{
		Id: f.text(path+"id", r.ID), Kind: enumOf[pb.InstrumentKind](f, instrumentKinds, path+"kind", r.Kind),
		Unit: f.text(path+"unit", r.Unit), Resolution: r.Resolution,
		CalibrationExpireTime: stampOf(r.CalibrationExpireTime), SerialNumber: f.text(path+"serial_number", r.SerialNumber),
	}
	given := 0
	if r.ExpandedUncertainty != nil {
		m.Accuracy = &pb.Instrument_ExpandedUncertainty{ExpandedUncertainty: *r.ExpandedUncertainty}
		given++
	}
	if r.MaxPermissibleError != nil {
		m.Accuracy = &pb.Instrument_MaxPermissibleError{MaxPermissibleError: *r.MaxPermissibleError}
		given++
	}
	if r.MaxDeviationPercent != nil {
		m.Accuracy = &pb.Instrument_MaxDeviationPercent{MaxDeviationPercent: *r.MaxDeviationPercent}
		given++
	}
	if given > 1 {
		f.wrong(path+"accuracy", "more than one is given; want one of expanded_uncertainty, max_permissible_error and max_deviation_percent")
	}
	if r.Range.Lower != nil || r.Range.Upper != nil {
		m.Range = &pb.Interval{Lower: r.Range.Lower, Upper: r.Range.Upper}
	}
	return m
}

func (f *fields) reading(i int, r *parquetReading, m *pb.Reading) {
	before := f.problem
	m.Characteristic = f.text("characteristic", r.Characteristic)
	m.Stage = enumOf[pb.Stage](f, stages, "stage", r.Stage)
	m.Unit = f.text("unit", r.Unit)
	m.Instrument = f.text("instrument", r.Instrument)
	m.Time = stampOf(r.Time)
	m.Technician = f.text("technician", r.Technician)
	m.Conditions = enumsOf[pb.Condition](f, conditions, "conditions", r.Conditions)
	m.ExpandedUncertainty = r.ExpandedUncertainty
	m.Note = f.text("note", r.Note)
	given := 0
	if r.Value != nil {
		m.Result = &pb.Reading_Value{Value: *r.Value}
		given++
	}
	if r.Pass != nil {
		m.Result = &pb.Reading_Pass{Pass: *r.Pass}
		given++
	}
	if r.Choice != nil {
		m.Result = &pb.Reading_Choice{Choice: f.text("choice", *r.Choice)}
		given++
	}
	if r.Text != nil {
		m.Result = &pb.Reading_Text{Text: f.text("text", *r.Text)}
		given++
	}
	if given > 1 {
		f.wrong("result", "more than one is given; want one of value, pass, choice and text")
	}
	if t := r.Fitted; t.Thread != "" || t.PropertyClass != "" || t.Renewed != nil || t.Locked != nil {
		m.Fitted = &pb.FittedFastener{Thread: f.text("fitted.thread", t.Thread),
			PropertyClass: f.text("fitted.property_class", t.PropertyClass), Renewed: t.Renewed, Locked: t.Locked}
	}
	if before == "" && f.problem != "" {
		f.problem = fmt.Sprintf("readings[%d].%s", i, f.problem)
	}
}

func (f *fields) text(path, s string) string {
	if problem := notText(s); problem != "" {
		f.wrong(path, problem)
	}
	return s
}

func stampOf(t *time.Time) *timestamppb.Timestamp {
	if t == nil {
		return nil
	}
	return timestamppb.New(*t)
}

func enumOf[E interface {
	~int32
	protoreflect.Enum
}](f *fields, names *spelling.Names, path, name string) E {
	if name == "" {
		return 0
	}
	number, ok := names.Number(name)
	if !ok {
		f.wrong(path, fmt.Sprintf("got %q%s", name, names.Advice(name)))
	}
	return E(number)
}

func enumsOf[E interface {
	~int32
	protoreflect.Enum
}](f *fields, names *spelling.Names, path string, all []string) []E {
	var result []E
	for _, name := range all {
		result = append(result, enumOf[E](f, names, path, name))
	}
	return result
}
