package batch

import (
	"bytes"
	"fmt"
	"strings"
	"testing"
	"time"

	"github.com/parquet-go/parquet-go"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/timestamppb"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

// rowOf is a record as a row of the nested form: what a program does that writes
// such files.
func rowOf(m *pb.SetupRecord) parquetRecord {
	stamp := func(t *timestamppb.Timestamp) *time.Time {
		if t == nil {
			return nil
		}
		at := t.AsTime()
		return &at
	}
	short := func(e fmt.Stringer, prefix string) string {
		name := strings.TrimPrefix(e.String(), prefix)
		if name == "UNSPECIFIED" {
			return ""
		}
		return strings.ToLower(name)
	}
	conditions := func(all []pb.Condition) (names []string) {
		for _, c := range all {
			names = append(names, short(c, "CONDITION_"))
		}
		return names
	}
	var r parquetRecord
	u := m.GetUnit()
	r.Unit.VIN, r.Unit.Model, r.Unit.ModelYear, r.Unit.Market = u.GetVin(), u.GetModel(), u.GetModelYear(), u.GetMarket()
	r.Unit.Hours, r.Unit.OdometerKm = u.Hours, u.OdometerKm
	r.Phase, r.Shop, r.Technician = short(m.GetPhase(), "PHASE_"), m.GetShop(), m.GetTechnician()
	r.StartTime, r.FinishTime = stamp(m.GetStartTime()), stamp(m.GetFinishTime())
	r.Options, r.Conditions = m.GetOptions(), conditions(m.GetConditions())
	r.Supersedes, r.Note = m.GetSupersedes(), m.GetNote()
	for _, i := range m.GetInstruments() {
		p := parquetInstrument{ID: i.GetId(), Kind: short(i.GetKind(), "INSTRUMENT_KIND_"), Unit: i.GetUnit(), Resolution: i.GetResolution(),
			SerialNumber: i.GetSerialNumber(), CalibrationExpireTime: stamp(i.GetCalibrationExpireTime())}
		if i.GetRange() != nil {
			p.Range = bounds{i.GetRange().Lower, i.GetRange().Upper}
		}
		switch a := i.GetAccuracy().(type) {
		case *pb.Instrument_ExpandedUncertainty:
			p.ExpandedUncertainty = &a.ExpandedUncertainty
		case *pb.Instrument_MaxPermissibleError:
			p.MaxPermissibleError = &a.MaxPermissibleError
		case *pb.Instrument_MaxDeviationPercent:
			p.MaxDeviationPercent = &a.MaxDeviationPercent
		}
		r.Instruments = append(r.Instruments, p)
	}
	for _, x := range m.GetReadings() {
		p := parquetReading{Characteristic: x.GetCharacteristic(), Stage: short(x.GetStage(), "STAGE_"), Unit: x.GetUnit(), Instrument: x.GetInstrument(),
			Time: stamp(x.GetTime()), Technician: x.GetTechnician(), Conditions: conditions(x.GetConditions()),
			ExpandedUncertainty: x.ExpandedUncertainty, Note: x.GetNote()}
		switch v := x.GetResult().(type) {
		case *pb.Reading_Value:
			p.Value = &v.Value
		case *pb.Reading_Pass:
			p.Pass = &v.Pass
		case *pb.Reading_Choice:
			p.Choice = &v.Choice
		case *pb.Reading_Text:
			p.Text = &v.Text
		}
		if f := x.GetFitted(); f != nil {
			p.Fitted.Thread, p.Fitted.PropertyClass, p.Fitted.Renewed, p.Fitted.Locked = f.GetThread(), f.GetPropertyClass(), f.Renewed, f.Locked
		}
		r.Readings = append(r.Readings, p)
	}
	return r
}

func parquetOf[T any](t testing.TB, rows []T, opt ...parquet.WriterOption) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := parquet.Write(&b, rows, append(opt, parquet.MaxRowsPerRowGroup(100))...); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func TestNestedParquet(t *testing.T) {
	records := demoRecords(t)
	for i := range 300 { // more than a row group
		records = append(records, record64(i))
	}
	var rows []parquetRecord
	for _, m := range records {
		rows = append(rows, rowOf(m))
	}
	for name, codec := range map[string]parquet.WriterOption{
		"plain": parquet.Compression(&parquet.Uncompressed), "snappy": parquet.Compression(&parquet.Snappy),
		"zstd": parquet.Compression(&parquet.Zstd), "gzip": parquet.Compression(&parquet.Gzip), "v1": parquet.DataPageVersion(1),
	} {
		items, err := opened(t, "records.Parquet", parquetOf(t, rows, codec), Options{})
		if err != nil {
			t.Errorf("%s: %v", name, err)
		}
		same(t, name, items, records)
		if len(items) > 3 && items[3].Place.Line != 4 {
			t.Errorf("%s: got row %d, want 4", name, items[3].Place.Line)
		}
	}
}

// Other programs choose other types, leave columns out and have none null.
func TestNestedParquetOfOtherPrograms(t *testing.T) {
	type reading struct {
		Characteristic string  `parquet:"characteristic,dict"`
		Value          float32 `parquet:"value"`
		Unit           string  `parquet:"unit"`
		Time           int64   `parquet:"time,timestamp(nanosecond)"`
	}
	type row struct {
		Unit struct {
			Market    string `parquet:"market"`
			VIN       string `parquet:"vin"`
			ModelYear int64  `parquet:"model_year"`
			Model     string `parquet:"model"`
		} `parquet:"unit,optional"`
		FinishTime int64     `parquet:"finish_time,timestamp(millisecond)"`
		Phase      string    `parquet:"phase,enum"`
		Readings   []reading `parquet:"readings,list"`
	}
	at := time.Date(2026, 7, 2, 10, 5, 0, 250_000_000, time.UTC)
	var r row
	r.Unit.VIN, r.Unit.Model, r.Unit.ModelYear, r.Unit.Market = "0VST2E3C7TA000702", "Scree 200i", 2026, "EU"
	r.Phase, r.FinishTime = "PHASE_SERVICE", at.UnixMilli()
	r.Readings = []reading{{"chain_slack", 36.5, "mm", at.UnixNano()}, {"throttle_free_play", 4, "mm", at.UnixNano()}}
	want := &pb.SetupRecord{
		Unit:  &pb.Unit{Vin: "0VST2E3C7TA000702", Model: "Scree 200i", ModelYear: 2026, Market: "EU"},
		Phase: pb.Phase_PHASE_SERVICE, FinishTime: timestamppb.New(at),
		Readings: []*pb.Reading{
			{Characteristic: "chain_slack", Result: &pb.Reading_Value{Value: 36.5}, Unit: "mm", Time: timestamppb.New(at)},
			{Characteristic: "throttle_free_play", Result: &pb.Reading_Value{Value: 4}, Unit: "mm", Time: timestamppb.New(at)},
		},
	}
	items, err := opened(t, "a.parquet", parquetOf(t, []row{r, r}), Options{})
	if err != nil {
		t.Fatal(err)
	}
	same(t, "other types", items, []*pb.SetupRecord{want, want})
}

func TestParquetThatDoesNotFit(t *testing.T) {
	type unit struct {
		VIN string `parquet:"vin"`
	}
	type item struct {
		Characteristic string `parquet:"characteristic"`
	}
	type flat struct {
		VIN string
	}
	type more struct {
		Unit     unit   `parquet:"unit"`
		Readings []item `parquet:"readings,list"`
		Colour   string `parquet:"colour"`
	}
	type local struct {
		Unit       unit   `parquet:"unit"`
		Readings   []item `parquet:"readings,list"`
		FinishTime int64  `parquet:"finish_time,timestamp(microsecond:local)"`
	}
	type text struct {
		Unit       unit   `parquet:"unit"`
		Readings   []item `parquet:"readings,list"`
		FinishTime string `parquet:"finish_time"`
	}
	type number struct {
		Unit     unit   `parquet:"unit"`
		Readings []item `parquet:"readings,list"`
		Shop     int32  `parquet:"shop"`
	}
	for _, test := range []struct {
		data []byte
		want string
	}{
		{parquetOf(t, []flat{{"x"}}), "has no column unit.vin, so that it is no file of set-up records; a table needs a column map"},
		{parquetOf(t, []more{{}}), "the column colour is no field of a set-up record"},
		{parquetOf(t, []local{{}}), "the column finish_time: got times without a time zone, want UTC"},
		{parquetOf(t, []text{{}}), "the column finish_time: got STRING, want a time stamp"},
		{parquetOf(t, []number{{}}), "the column shop: got INT(32,true), want STRING"},
	} {
		_, err := opened(t, "a.parquet", test.data, Options{})
		if err == nil || !strings.HasSuffix(err.Error(), "a.parquet: "+test.want) {
			t.Errorf("got %v, want %s", err, test.want)
		}
	}
}

func TestRowsOfParquetThatCannotBeRead(t *testing.T) {
	good := rowOf(record64(1))
	phase, two, bytes := rowOf(record64(1)), rowOf(record64(1)), rowOf(record64(1))
	phase.Phase = "handovr"
	two.Readings[3].Value = proto.Float64(1)
	bytes.Readings[2].Characteristic = "a\xff"
	items, err := opened(t, "a.parquet", parquetOf(t, []parquetRecord{good, phase, two, bytes, good}), Options{})
	want := []string{"1", `2: phase: got "handovr"; did you mean HANDOVER?`,
		"3: readings[3].result: more than one is given; want one of value, pass, choice and text",
		"4: readings[2].characteristic: got the byte 0xFF, which is not UTF-8 text; save the file as UTF-8", "5"}
	if got := said(items); err != nil || strings.Join(got, "\n") != strings.Join(want, "\n") {
		t.Errorf("got %q, %v", got, err)
	}
}

func TestFlatParquet(t *testing.T) {
	type machine struct {
		VIN   string   `parquet:"vin"`
		Hours *float32 `parquet:"hours"`
	}
	type row struct {
		Job      int64     `parquet:"job"`
		Machine  machine   `parquet:"machine"`
		Year     int32     `parquet:"year"`
		Done     time.Time `parquet:"done,timestamp(millisecond)"`
		Local    int64     `parquet:"local,timestamp(microsecond:local)"`
		Day      int32     `parquet:"day,date"`
		Slack    int64     `parquet:"slack,decimal(2:18)"`
		Pass     *bool     `parquet:"pass"`
		Grade    *string   `parquet:"grade,dict"`
		Unused   []string  `parquet:"unused"`
		Nanosecs int64     `parquet:"nanos,timestamp(nanosecond)"`
	}
	m := mapOf(t, `
table: {time_zone: Europe/Vienna}
record:
  unit: {vin: {column: machine.vin}, model: Scree 200i, model_year: {column: year}, market: EU, hours: {column: machine.hours}}
  phase: service
  shop: ridge-cycles
  technician: {column: job}
  start_time: {column: local}
  finish_time: {column: done}
  readings:
    - {characteristic: chain_slack, value: {column: slack}, unit: mm, time: {column: day}}
    - {characteristic: steering_free, pass: {column: pass}, time: {column: nanos}}
    - {characteristic: oil_grade, choice: {column: grade}}
`)
	at := time.Date(2026, 7, 2, 10, 5, 0, 0, time.UTC)
	yes, grade, hours := true, "10W-40", float32(0.4)
	rows := []row{
		{Job: 17, Machine: machine{"a", &hours}, Year: 2026, Done: at, Local: at.UnixMicro(), Day: int32(at.Unix() / 86400), Slack: 3650, Pass: &yes, Grade: &grade, Unused: []string{"x", "y"}, Nanosecs: at.UnixNano()},
		{Job: 18, Machine: machine{VIN: "b"}, Year: 2026, Done: at, Local: at.UnixMicro(), Day: int32(at.Unix() / 86400), Slack: -1},
		{Job: 19, Machine: machine{VIN: "c\x00"}},
	}
	items, err := opened(t, "a.parquet", parquetOf(t, rows), Options{Columns: m})
	if err != nil {
		t.Fatal(err)
	}
	record := func(vin, technician string, hours *float64, readings ...*pb.Reading) *pb.SetupRecord {
		return &pb.SetupRecord{Unit: &pb.Unit{Vin: vin, Model: "Scree 200i", ModelYear: 2026, Market: "EU", Hours: hours},
			Phase: pb.Phase_PHASE_SERVICE, Shop: "ridge-cycles", Technician: technician,
			StartTime: timestamppb.New(at.Add(-2 * time.Hour)), FinishTime: timestamppb.New(at), Readings: readings}
	}
	slack := func(value float64) *pb.Reading {
		return &pb.Reading{Characteristic: "chain_slack", Result: &pb.Reading_Value{Value: value}, Unit: "mm",
			Time: timestamppb.New(time.Date(2026, 7, 1, 22, 0, 0, 0, time.UTC))}
	}
	same(t, "flat", items[:2], []*pb.SetupRecord{
		record("a", "17", proto.Float64(0.4), slack(36.5),
			&pb.Reading{Characteristic: "steering_free", Result: &pb.Reading_Pass{Pass: true}, Time: timestamppb.New(at)},
			&pb.Reading{Characteristic: "oil_grade", Result: &pb.Reading_Choice{Choice: "10W-40"}}),
		record("b", "18", nil, slack(-0.01)),
	})
	if got := said(items); len(got) != 3 || got[2] != `3: column "machine.vin": got a NUL byte; this is not text` {
		t.Errorf("got %q", got)
	}
	_, err = opened(t, "a.parquet", parquetOf(t, rows), Options{Columns: mapOf(t, strings.Replace(smallMap, "Chain slack", "unused", 1))})
	if err == nil || !strings.Contains(err.Error(), "is a list") {
		t.Errorf("got %v", err)
	}
	_, err = opened(t, "a.parquet", parquetOf(t, rows), Options{Columns: mapOf(t, smallMap)})
	if err == nil || !strings.Contains(err.Error(), `has no column "Chain slack"; it has job, `) {
		t.Errorf("got %v", err)
	}
}

// A damaged file is an error or a shorter file, and never breaks the program.
func TestDamagedParquet(t *testing.T) {
	var rows []parquetRecord
	for i := range 40 {
		rows = append(rows, rowOf(record64(i)))
	}
	data := parquetOf(t, rows)
	for i := 0; i < len(data); i += max(1, len(data)/400) {
		damaged := bytes.Clone(data)
		damaged[i] ^= 0x55
		items, err := opened(t, "a.parquet", damaged, Options{})
		if len(items) > len(rows) {
			t.Errorf("byte %d: %d items, %v", i, len(items), err)
		}
	}
	for _, size := range []int{0, 3, 8, 11, 12, 100, len(data) / 2, len(data) - 1} {
		if _, err := opened(t, "a.parquet", data[:size], Options{}); err == nil {
			t.Errorf("%d bytes of %d are read", size, len(data))
		}
	}
}

// flatParquet is [wideTable] as a Parquet file with text in every column.
func flatParquet(t testing.TB, records []*pb.SetupRecord) []byte {
	t.Helper()
	titles, _ := wideRow(records[0])
	group := parquet.Group{}
	for _, title := range titles {
		group[title] = parquet.Optional(parquet.String())
	}
	schema := parquet.NewSchema("jobs", group)
	var b bytes.Buffer
	w := parquet.NewGenericWriter[map[string]any](&b, schema)
	for _, m := range records {
		_, cells := wideRow(m)
		row := make(map[string]any)
		for i, title := range titles {
			row[title] = cells[i]
		}
		if _, err := w.Write([]map[string]any{row}); err != nil {
			t.Fatal(err)
		}
	}
	if err := w.Close(); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func TestFlatParquetIsTheTable(t *testing.T) {
	var records []*pb.SetupRecord
	for i := range 150 {
		records = append(records, record64(i))
	}
	items, err := opened(t, "a.parquet", flatParquet(t, records), Options{Columns: wideMap(t)})
	if err != nil {
		t.Fatal(err)
	}
	same(t, "flat", items, records)
}
