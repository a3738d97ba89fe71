package batch

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"google.golang.org/protobuf/types/known/timestamppb"

	"github.com/snapgauge/snapgauge/clients/snapgauge/internal/batch/columns"
	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

func TestJSONLines(t *testing.T) {
	records := demoRecords(t)
	data := jsonLinesOf(t, records...)
	for name, data := range map[string][]byte{
		"records.jsonl":     data,
		"RECORDS.NDJSON":    bytes.ReplaceAll(data, []byte("\n"), []byte("\r\n\r\n")),
		"bom.jsonl":         append([]byte("\xef\xbb\xbf"), data...),
		"no-end.jsonl":      bytes.TrimSuffix(data, []byte("\n")),
		"records.jsonl.gz":  gzipped(t, data),
		"two.jsonl.gz":      append(gzipped(t, data[:1000]), gzipped(t, data[1000:])...), // RFC 1952, 2.2
		"records.jsonl.ZST": zstandard(t, data),
		"packed.jsonl":      zstandard(t, data),
	} {
		items, err := opened(t, name, data, Options{})
		if err != nil {
			t.Errorf("%s: %v", name, err)
		}
		same(t, name, items, records)
	}
	for name, opt := range map[string]Options{"-": {}, "export": {Format: "JSONL"}, "export.gz": {Format: "ndjson"}} {
		path := name
		if name != "-" {
			path = file(t, name, gzipped(t, data))
		}
		s, err := Open(path, bytes.NewReader(gzipped(t, data)), opt)
		if err != nil {
			t.Fatal(err)
		}
		items, err := all(t, s)
		if err != nil {
			t.Errorf("%s: %v", name, err)
		}
		same(t, name, items, records)
		if name == "-" {
			if got := items[1].Place.String(); got != "standard input:2" {
				t.Errorf("got %s", got)
			}
		}
	}
	if items, err := opened(t, "empty.jsonl.gz", nil, Options{}); err != nil || len(items) != 0 {
		t.Errorf("an empty file: %d items, %v", len(items), err)
	}
}

func TestLinesThatCannotBeRead(t *testing.T) {
	text := "{\"shop\":\"a\"}\n\n{\"shop\":5}\n" + strings.Repeat("x", 3<<20) + "\n\xff\n{\"shop\":\"b\"}\n" +
		"{\"note\":\"" + strings.Repeat("x", 1<<20-12) + "\"}\n{\"note\":\"" + strings.Repeat("x", 1<<20) + "\"}\n{\"shop\":\"c\"}"
	items, err := opened(t, "records.jsonl", []byte(text), Options{})
	want := []string{
		"1",
		"3: column 9: shop: got the number 5, want text",
		"4: the line is longer than 1 MiB",
		"5: column 1: got the byte 0xFF, which is not UTF-8 text; save the file as UTF-8",
		"6", "7",
		"8: the line is longer than 1 MiB",
		"9",
	}
	if got := said(items); err != nil || !slices.Equal(got, want) {
		t.Errorf("got %q, %v\nwant %q", got, err, want)
	}
	items, err = opened(t, "long.jsonl", []byte(`{"`+strings.Repeat("\u202ex", 5000)+`":1}`), Options{})
	if err != nil || len(items) != 1 || len([]rune(items[0].Unreadable)) > mostUnreadable || strings.Contains(items[0].Unreadable, "\u202e") {
		t.Errorf("got %q, %v", said(items), err)
	}
}

func TestTables(t *testing.T) {
	var records []*pb.SetupRecord
	for i := range 200 {
		records = append(records, record64(i))
	}
	comma := wideTable(",", records...)
	for name, data := range map[string][]byte{
		"jobs.csv":            comma,
		"jobs.CSV.gz":         gzipped(t, wideTable(";", records...)),
		"tabs.csv.zst":        zstandard(t, wideTable("\t", records...)),
		"bom.csv":             append([]byte("\xef\xbb\xbf"), comma...),
		"blank-rows.csv":      bytes.ReplaceAll(comma, []byte("\r\n"), []byte("\r\n\r\n"+strings.Repeat(",", 133)+"\r\n")),
		"line-feeds.csv":      bytes.ReplaceAll(comma, []byte("\r\n"), []byte("\n")),
		"quotes.csv":          []byte(`"` + strings.TrimSuffix(strings.NewReplacer(",", `","`, "\r\n", "\"\n\"").Replace(string(comma)), "\"")),
		"semicolon-cells.csv": bytes.Replace(comma, []byte("vin,"), []byte("vin,\"a;b;c;d;e;f;g;h;i;j;k;l;m;n;o;p;q;r;s;t;u;v\","), 1),
	} {
		if name == "semicolon-cells.csv" {
			data = bytes.ReplaceAll(data, []byte("\n0VST"), []byte("\n,0VST"))
			data = bytes.Replace(data, []byte("vin,\"a"), []byte("\"a"), 1)
			data = bytes.Replace(data, []byte("v\",hours"), []byte("v\",vin,hours"), 1)
		}
		items, err := opened(t, name, data, Options{Columns: wideMap(t)})
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		same(t, name, items, records)
	}
}

// A file that is filled in below the header of a template is read by its map.
func TestATableFromATemplate(t *testing.T) {
	sheet := &pb.SpecSheet{Make: "Varnholt", Model: "Scree 200i", ModelYear: 2026, Market: "EU", Characteristics: []*pb.Characteristic{
		{Id: "oil_tank_fill", DisplayName: "Oil", Limits: &pb.Limits{Unit: "mL"}, Kind: &pb.Characteristic_Capacity{Capacity: &pb.Capacity{Fluid: "oil"}}},
		{Id: "steering_free", DisplayName: "Steering", Kind: &pb.Characteristic_Inspection{Inspection: &pb.Inspection{}}},
		{Id: "engine_number", DisplayName: "Engine number", Kind: &pb.Characteristic_Identifier{Identifier: &pb.Identifier{Pattern: ".*"}}},
		{Id: "fuel_tap", DisplayName: "Fuel tap", Kind: &pb.Characteristic_Choice{Choice: &pb.Choice{Accepted: []string{"off"}}}},
	}}
	want := []*pb.SetupRecord{{
		Unit:  &pb.Unit{Vin: "0VST2E3C7TA000702", Model: "Scree 200i", ModelYear: 2026, Market: "EU"},
		Phase: pb.Phase_PHASE_HANDOVER, Shop: "ridge-cycles", Technician: "t07",
		FinishTime: &timestamppb.Timestamp{Seconds: 1782986700},
		Readings: []*pb.Reading{
			{Characteristic: "oil_tank_fill", Result: &pb.Reading_Value{Value: 420}, Unit: "mL"},
			{Characteristic: "steering_free", Result: &pb.Reading_Pass{Pass: false}},
			{Characteristic: "engine_number", Result: &pb.Reading_Text{Text: "VT2-000702"}},
			{Characteristic: "fuel_tap", Result: &pb.Reading_Choice{Choice: "off"}},
		},
	}}
	const head = "0VST2E3C7TA000702,handover,ridge-cycles,t07,2026-07-02T10:05:00Z,"
	for _, test := range []struct {
		template columns.Template
		rows     string
	}{
		{columns.Template{Sheet: sheet}, head + "420,not ok,VT2-000702,off\n"},
		{columns.Template{Sheet: sheet, Readings: true}, "1," + head + "oil_tank_fill,420,mL\n1," + head + "steering_free,no,\n1," +
			head + "engine_number,VT2-000702,\n1," + head + "fuel_tap,off,\n"},
	} {
		var text, table bytes.Buffer
		if err := errors.Join(test.template.Write(&text), test.template.WriteHeader(&table)); err != nil {
			t.Fatal(err)
		}
		table.WriteString(test.rows)
		items, err := opened(t, "jobs.csv", table.Bytes(), Options{Columns: mapOf(t, text.String())})
		if err != nil {
			t.Fatal(err)
		}
		if !test.template.Readings {
			for _, r := range want[0].Readings {
				r.Stage = pb.Stage_STAGE_AS_LEFT
			}
		} else {
			for _, r := range want[0].Readings {
				r.Stage = 0
			}
		}
		same(t, "template", items, want)
	}
}

const smallMap = `record:
  unit: {vin: {column: VIN}, model: Scree 200i, model_year: 2026, market: EU}
  phase: service
  shop: ridge-cycles
  technician: t07
  finish_time: {column: Done}
  readings:
    - {characteristic: chain_slack, value: {column: Chain slack}, unit: mm}
`

func TestRowsThatCannotBeRead(t *testing.T) {
	text := "VIN;Done;Chain slack\n" +
		"a;2026-07-02T10:05:00Z;36\n" +
		"b;02.07.2026;viel\n" +
		"c;2026-07-02T10:05:00Z\n" +
		"d;2026-07-02T10:05:00Z;\"36\n" +
		"e;2026-07-02T10:05:00Z;36\n" +
		"f\x00;2026-07-02T10:05:00Z;36\n" +
		"M\xfcller;2026-07-02T10:05:00Z;36\n" +
		"g;2026-07-02T10:05:00Z;36\n" + strings.Repeat(";", 1_000_000) + "\n"
	items, err := opened(t, "jobs.csv", []byte(text), Options{Columns: mapOf(t, smallMap)})
	want := []string{
		"2",
		`3: column "Done": got "02.07.2026", want a time such as 2026-03-01T09:20:00Z or 2026-03-01 09:20; column "Chain slack": got "viel", want a number`,
		"4: has 2 cells, want 3 as the first row has",
		`5: column "Chain slack": a quotation mark is not closed`,
		"6",
		`7: column "VIN": got a NUL byte; this is not text`,
		`8: column "VIN": got the byte 0xFC, which is not UTF-8 text; save the file as UTF-8`,
		"9",
		"10: the row has more than 16384 cells",
	}
	if got := said(items); err != nil || !slices.Equal(got, want) {
		t.Errorf("got %q, %v\nwant %q", got, err, want)
	}
}

func TestFilesThatCannotBeRead(t *testing.T) {
	directory := t.TempDir()
	data := jsonLinesOf(t, demoRecords(t)...)
	table := Options{Columns: mapOf(t, smallMap)}
	packed, zst := gzipped(t, data), zstandard(t, data)
	damaged := bytes.Clone(packed)
	damaged[len(damaged)-6] ^= 1
	for _, test := range []struct {
		name string
		data []byte
		opt  Options
		want string
	}{
		{"a.yaml", nil, Options{}, "a.yaml: the name does not say what is in it; want one that ends in .jsonl, .ndjson, .csv or .parquet"},
		{"a", nil, Options{Format: "xml"}, "a: there is no format xml; want jsonl, ndjson, csv, parquet"},
		{"a.csv", nil, Options{}, "a.csv: a table needs a column map"},
		{"a.parquet.gz", nil, Options{}, "a.parquet.gz: a Parquet file is read from its end, so it must be a file, and not compressed as a whole"},
		{"a.parquet", []byte("PAR1 and more than that"), Options{}, "a.parquet: this is not a whole Parquet file"},
		{"a.parquet", nil, Options{}, "a.parquet: this is not a whole Parquet file"},
		{"a.parquet", []byte("PAR1\x01\x02\x03\x04\x04\x00\x00\x00PAR1"), Options{}, "a.parquet: "},
		{"a.parquet", []byte("PAR1\x01\x02\x03\x04\xff\xff\xff\xffPAR1"), Options{}, "a.parquet: this is not a whole Parquet file"},
		{"a.jsonl", []byte("PAR1"), Options{}, "a.jsonl: this is a Parquet file"},
		{"a.csv", []byte("PK\x03\x04"), table, "a.csv: this is a ZIP archive or the workbook of a spreadsheet; save the sheet as CSV"},
		{"a.csv", []byte("\xff\xfeV\x00"), table, "a.csv: this is UTF-16; save it as UTF-8"},
		{"a.csv", nil, table, "a.csv: is empty; want a first row"},
		{"a.csv", []byte("VIN,\"Done"), table, "a.csv:1: the first row, which names the columns: a quotation mark is not closed"},
		{"a.csv", []byte("VIN,D\xf6ne\n"), table, "a.csv:1: the first row, which names the columns: cell 2: got the byte 0xF6"},
		{"a.csv", []byte(strings.Repeat(",", 1_000_000)), table, "a.csv:1: the first row, which names the columns: the row has more than 16384 cells"},
		{"a.csv", []byte("VIN,Done\n"), table, `map.yaml:8:53: record.readings[0].value: ` + "FILE" + ` has no column "Chain slack"; it has VIN, Done`},
		{"a.jsonl.gz", data, Options{}, "a.jsonl.gz: is not compressed as its name says"},
		{"a.jsonl.zst", data, Options{}, "a.jsonl.zst: is not compressed as its name says"},
		{"a.jsonl.gz", packed[:len(packed)/2], Options{}, "a.jsonl.gz: the compressed data ends too early: the file is not whole"},
		{"a.jsonl.gz", packed[:5], Options{}, "a.jsonl.gz: the compressed data ends too early"},
		{"a.jsonl.gz", damaged, Options{}, "a.jsonl.gz: the compressed data is damaged"},
		{"a.jsonl.zst", zst[:len(zst)/2], Options{}, "a.jsonl.zst: the compressed data ends too early: the file is not whole"},
		{"a.jsonl.zst", []byte("\x28\xb5\x2f\xfd\x00\xa8aaaaaaaaaaaa"), Options{}, "a.jsonl.zst: needs more than 128 MiB to unpack"},
		{"a.jsonl.gz", gzipped(t, packed), Options{}, "a.jsonl.gz: this is compressed twice"},
	} {
		path := filepath.Join(directory, test.name)
		if err := os.WriteFile(path, test.data, 0o600); err != nil {
			t.Fatal(err)
		}
		s, err := Open(path, nil, test.opt)
		if err == nil {
			_, err = all(t, s)
		}
		got := strings.ReplaceAll(fmt.Sprint(err), directory+string(filepath.Separator), "")
		if !strings.HasPrefix(got, strings.ReplaceAll(test.want, "FILE", test.name)) || strings.Contains(got, "\n") {
			t.Errorf("%s: got  %s\nwant %s", test.name, got, test.want)
		}
	}
	for _, name := range []string{"gone.jsonl", "gone.parquet", "gone.csv", "gone.jsnl"} {
		if _, err := Open(filepath.Join(directory, name), nil, Options{}); err == nil || !strings.HasSuffix(err.Error(), name+": no such file") {
			t.Errorf("%s: got %v", name, err)
		}
	}
	for _, name := range []string{"d.jsonl", "d.parquet", "d.csv", "d"} {
		if err := os.Mkdir(filepath.Join(directory, name), 0o700); err != nil {
			t.Fatal(err)
		}
		if _, err := Open(filepath.Join(directory, name), nil, Options{}); err == nil || !strings.HasSuffix(err.Error(), "this is a directory; want a file") {
			t.Errorf("%s: got %v", name, err)
		}
	}
	if _, err := Open("-", strings.NewReader("PAR1"), Options{Format: "parquet"}); err == nil || !strings.HasPrefix(err.Error(), "standard input: a Parquet file") {
		t.Errorf("got %v", err)
	}
}

// JSON Lines may be read beside tables, with the same options.
func TestJSONLinesDoWithoutAColumnMap(t *testing.T) {
	data := jsonLinesOf(t, demoRecords(t)...)
	s, err := Open("-", bytes.NewReader(data), Options{Columns: mapOf(t, smallMap)})
	if err != nil {
		t.Fatal(err)
	}
	items, err := all(t, s)
	if err != nil || len(items) != len(demoRecords(t)) || items[0].Record == nil {
		t.Errorf("got %d items, %v", len(items), err)
	}
	for name, want := range map[string]bool{"a.csv.gz": true, "A.PARQUET": true, "a.jsonl": false, "-": false, "a": false} {
		if IsTable(name, "") != want {
			t.Errorf("%s: got %v", name, !want)
		}
	}
	if !IsTable("-", "csv") {
		t.Error("standard input is a table where its format is that of one")
	}
}

// What stands in a broken file before it breaks is given first, and no half line.
func TestATruncatedFileGivesWholeRecordsOnly(t *testing.T) {
	var records []*pb.SetupRecord
	for i := range 3000 {
		records = append(records, record64(i))
	}
	data := jsonLinesOf(t, records...)
	for name, packed := range map[string][]byte{"a.jsonl.gz": gzipped(t, data), "a.jsonl.zst": zstandard(t, data)} {
		items, err := opened(t, name, packed[:len(packed)*2/3], Options{})
		if err == nil || len(items) == 0 || len(items) >= len(records) {
			t.Errorf("%s: got %d items, %v", name, len(items), err)
			continue
		}
		same(t, name, items, records[:len(items)])
	}
}

// Any text is read to its end, with a place for each item that comes after the
// one before.
func FuzzTable(f *testing.F) {
	f.Add("VIN;Done;Chain slack\na;2026-07-02T10:05:00Z;36\n")
	f.Add("VIN,Done,Chain slack\n\"a\n\",\"\"\"\",\n\"\n")
	m := mapOf(f, smallMap)
	f.Fuzz(func(t *testing.T, text string) {
		s, err := Open("-", strings.NewReader(text), Options{Format: "csv", Columns: m})
		if err != nil {
			return
		}
		items, _ := all(t, s)
		ordered(t, items)
	})
}

func FuzzJSONLines(f *testing.F) {
	f.Add("{\"shop\":\"a\"}\n\n{\"readings\":[{\"value\":1}]}")
	f.Add("\xef\xbb\xbf{}\r\n[]\nnull")
	f.Add(string(gzipped(f, []byte("{}\n{}"))))
	f.Add(string(zstandard(f, []byte("{}\n{}"))))
	f.Fuzz(func(t *testing.T, text string) {
		s, err := Open("-", strings.NewReader(text), Options{})
		if err != nil {
			return
		}
		items, _ := all(t, s)
		ordered(t, items)
	})
}

func ordered(t *testing.T, items []Item) {
	for i := range items {
		if i > 0 && items[i].Place.Line <= items[i-1].Place.Line {
			t.Errorf("line %d after %d", items[i].Place.Line, items[i-1].Place.Line)
		}
	}
}
