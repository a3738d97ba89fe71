package batch

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/parquet-go/parquet-go"
	"google.golang.org/protobuf/encoding/protojson"
	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/timestamppb"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

// results are one of each kind.
func results() []*pb.AuditResult {
	return []*pb.AuditResult{
		{
			Index: 0, Setup: "setups/a1", Vin: "0VST2E3C7TA000702", Model: "Scree 200i", Shop: "ridge-cycles", Technician: "t07",
			Phase: pb.Phase_PHASE_PRE_DELIVERY, FinishTime: timestamppb.New(time.Date(2026, 7, 2, 11, 0, 0, 250_000_000, time.UTC)),
			SpecRevision: "specs/varnholt-scree-200i-2026-eu/revisions/3", Verdict: pb.Verdict_VERDICT_REJECT, VerdictThen: pb.Verdict_VERDICT_ACCEPT,
			Tally: &pb.Tally{Conforming: 14, Nonconforming: 2, Undecided: 1, NotApplicable: 3},
			Findings: []*pb.AuditFinding{
				{Code: pb.FindingCode_FINDING_CODE_ABOVE_UPPER_LIMIT, Severity: pb.Severity_SEVERITY_DAMAGE, Message: "Oil, \"much\" too\nmuch"},
				{Code: pb.FindingCode_FINDING_CODE_ABOVE_UPPER_LIMIT, Severity: pb.Severity_SEVERITY_FUNCTION},
				{Code: pb.FindingCode_FINDING_CODE_UNDECIDED, Severity: pb.Severity_SEVERITY_SAFETY},
			},
			Remarks: []*pb.AuditRemark{
				{Sign: pb.AuditSign_AUDIT_SIGN_REPEATED_READINGS, Because: "As record 3.", EarlierIndex: proto.Int64(3)},
				{Sign: pb.AuditSign_AUDIT_SIGN_FASTER_THAN_LEAST_TIME, Because: "In 4 min."},
			},
		},
		{
			Index: 1, Vin: "=HYPERLINK(\"http://example.org\")", Model: "+1", Shop: "-1", Technician: "@SUM(A1)", Phase: pb.Phase_PHASE_SERVICE,
			Verdict: pb.Verdict_VERDICT_ACCEPT, Tally: &pb.Tally{Conforming: 17},
		},
		{Index: 2, Vin: "＝1", Error: &pb.AuditError{Reason: "UNREADABLE", Message: "\tcolumn 9: shop: got the number 5"}},
	}
}

// written writes results to a file of this name.
func written(t testing.TB, name string, results []*pb.AuditResult) []byte {
	t.Helper()
	path := filepath.Join(t.TempDir(), name)
	s, err := Create(path, nil, CreateOptions{})
	if err != nil {
		t.Fatal(err)
	}
	defer s.Discard()
	for _, r := range results {
		if err := s.Write(r, Place{"records.jsonl", r.GetIndex()*2 + 1}); err != nil {
			t.Fatal(err)
		}
	}
	if _, err := os.Stat(path); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("%s is there before it is whole: %v", name, err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	left, err := os.ReadDir(filepath.Dir(path))
	if err != nil || len(left) != 1 {
		t.Errorf("got %v, %v, want %s alone", left, err, name)
	}
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	return data
}

// unpacked is the text of a stream, by the same reading as records.
func unpacked(t testing.TB, data []byte) string {
	t.Helper()
	s, err := openStream("-", bytes.NewReader(data), packingNone)
	if err != nil {
		t.Fatal(err)
	}
	text, err := io.ReadAll(s.text)
	if err != nil {
		t.Fatal(err)
	}
	return string(text)
}

func TestResultsAsJSONLines(t *testing.T) {
	for _, name := range []string{"r.jsonl", "r.NDJSON", "r.jsonl.gz", "r.jsonl.zst"} {
		text := unpacked(t, written(t, name, results()))
		lines := strings.Split(strings.TrimSuffix(text, "\n"), "\n")
		if len(lines) != len(results()) {
			t.Fatalf("%s: got %q", name, text)
		}
		for i, want := range results() {
			got := new(pb.AuditResult)
			if err := protojson.Unmarshal([]byte(lines[i]), got); err != nil || !proto.Equal(got, want) {
				t.Errorf("%s: got %v, %v, want %v", name, got, err, want)
			}
		}
	}
	const want = `{"index":"2","vin":"＝1","error":{"reason":"UNREADABLE","message":"\tcolumn 9: shop: got the number 5"}}` + "\n"
	if got := string(written(t, "r.jsonl", results()[2:])); got != want {
		t.Errorf("got %s, want %s", got, want)
	}
}

const wantCSV = `place,record,index,setup,vin,model,shop,technician,phase,finish_time,spec_revision,verdict,verdict_then,conforming,nonconforming,undecided,missing,codes,worst_severity,first_finding,signs,because,error_reason,error
records.jsonl:1,1,0,setups/a1,0VST2E3C7TA000702,Scree 200i,ridge-cycles,t07,PRE_DELIVERY,2026-07-02T11:00:00.25Z,specs/varnholt-scree-200i-2026-eu/revisions/3,REJECT,ACCEPT,14,2,1,0,ABOVE_UPPER_LIMIT UNDECIDED,SAFETY,"Oil, ""much"" too
much",REPEATED_READINGS FASTER_THAN_LEAST_TIME,As record 3. In 4 min.,,
records.jsonl:3,2,1,,"'=HYPERLINK(""http://example.org"")",'+1,'-1,'@SUM(A1),SERVICE,,,ACCEPT,,17,0,0,0,,,,,,,
records.jsonl:5,3,2,,'＝1,,,,,,,,,,,,,,,,,,UNREADABLE,'	column 9: shop: got the number 5
`

func TestResultsAsCSV(t *testing.T) {
	for _, name := range []string{"r.csv", "r.CSV.gz", "r.csv.zst"} {
		text := unpacked(t, written(t, name, results()))
		if diff := cmp.Diff(wantCSV, text); diff != "" {
			t.Errorf("%s (-want +got):\n%s", name, diff)
		}
		rows, err := csv.NewReader(strings.NewReader(text)).ReadAll()
		if err != nil || len(rows) != len(results())+1 {
			t.Errorf("%s: got %d rows, %v", name, len(rows), err)
		}
	}
}

func TestResultsAsParquet(t *testing.T) {
	data := written(t, "r.parquet", results())
	// By the schema in the file alone, as any other program reads it.
	f, err := parquet.OpenFile(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		t.Fatal(err)
	}
	var names []string
	for _, column := range f.Schema().Fields() {
		names = append(names, column.Name())
	}
	if diff := cmp.Diff(csvColumns, names); diff != "" {
		t.Errorf("columns (-want +got):\n%s", diff)
	}
	r := parquet.NewGenericReader[any](bytes.NewReader(data))
	rows := make([]any, len(results())+1)
	n, err := r.Read(rows)
	if n != len(results()) || !errors.Is(err, io.EOF) {
		t.Fatalf("got %d rows, %v", n, err)
	}
	cells, err := csv.NewReader(strings.NewReader(wantCSV)).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	for i := range n {
		got := rows[i].(map[string]any)
		for j, name := range csvColumns {
			want, text := strings.TrimPrefix(cells[i+1][j], "'"), ""
			switch v := got[name].(type) {
			case nil:
			case string:
				text = v
			case time.Time:
				text = v.UTC().Format(time.RFC3339Nano)
			default:
				text = strings.TrimSpace(toText(v))
			}
			if name == "finish_time" && want != "" {
				if !strings.HasPrefix(text, "2026-07-02T11:00:00.25") && text != "1782990000250000" {
					t.Errorf("row %d: finish_time: got %q", i, text)
				}
			} else if strings.TrimSpace(text) != strings.TrimSpace(want) {
				t.Errorf("row %d: %s: got %q, want %q", i, name, text, want)
			}
		}
	}
}

func TestTheSameResultsAreTheSameBytes(t *testing.T) {
	var many []*pb.AuditResult
	for i := range 20_000 { // several row groups and blocks
		r := proto.CloneOf(results()[i%3])
		r.Index = int64(i)
		many = append(many, r)
	}
	for _, name := range []string{"r.jsonl", "r.jsonl.gz", "r.jsonl.zst", "r.csv", "r.csv.gz", "r.csv.zst", "r.parquet"} {
		first := written(t, name, many)
		if !bytes.Equal(first, written(t, name, many)) {
			t.Errorf("%s differs", name)
		}
		if !strings.HasSuffix(name, "parquet") {
			continue
		}
		f, err := parquet.OpenFile(bytes.NewReader(first), int64(len(first)))
		if err != nil || f.NumRows() != int64(len(many)) || len(f.RowGroups()) != 3 {
			t.Errorf("%s: got %v, %v", name, f, err)
		}
	}
}

func TestAFileIsWholeOrNotThere(t *testing.T) {
	directory := t.TempDir()
	path := filepath.Join(directory, "r.csv")
	if err := os.WriteFile(path, []byte("before"), 0o644); err != nil {
		t.Fatal(err)
	}
	content := func() string {
		data, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		entries, err := os.ReadDir(directory)
		if err != nil || len(entries) != 1 {
			t.Errorf("got %v, %v", entries, err)
		}
		return string(data)
	}
	s, err := Create(path, nil, CreateOptions{})
	if err != nil {
		t.Fatal(err)
	}
	if err := s.Write(results()[0], Place{}); err != nil {
		t.Fatal(err)
	}
	s.Discard()
	s.Discard()
	if err := s.Close(); err != nil || content() != "before" {
		t.Errorf("got %q, %v", content(), err)
	}
	if s, err = Create(path, nil, CreateOptions{Format: "jsonl"}); err != nil {
		t.Fatal(err)
	}
	if err := errors.Join(s.Write(results()[2], Place{}), s.Close()); err != nil {
		t.Fatal(err)
	}
	s.Discard()
	if got := content(); !strings.HasPrefix(got, `{"index":"2"`) {
		t.Errorf("got %q", got)
	}
	link := filepath.Join(t.TempDir(), "link.csv")
	if err := os.Symlink(path, link); err != nil {
		t.Skip(err)
	}
	if s, err = Create(link, nil, CreateOptions{}); err != nil {
		t.Fatal(err)
	}
	if err := s.Close(); err != nil || !strings.HasPrefix(content(), "place,") {
		t.Errorf("got %q, %v", content(), err)
	}
}

func TestStandardOutput(t *testing.T) {
	for format, want := range map[string]string{"": `{"index":"2"`, "csv": "place,record,index", "parquet": "PAR1"} {
		var b bytes.Buffer
		s, err := Create("-", &b, CreateOptions{Format: format})
		if err != nil {
			t.Fatal(err)
		}
		if err := errors.Join(s.Write(results()[2], Place{}), s.Close()); err != nil || !strings.HasPrefix(b.String(), want) {
			t.Errorf("%s: got %q, %v", format, b.String(), err)
		}
	}
}

// full is a device that has no room.
type full struct{ room int }

func (f *full) Write(p []byte) (int, error) {
	if f.room -= len(p); f.room < 0 {
		return 0, errors.New("no space left on device")
	}
	return len(p), nil
}

func TestFilesThatCannotBeWritten(t *testing.T) {
	directory := t.TempDir()
	for name, want := range map[string]string{
		"r.txt":        "r.txt: the name does not say what is in it",
		"r.parquet.gz": "r.parquet.gz: a Parquet file is compressed within",
		"gone/r.csv":   "gone/r.csv: there is no such directory",
		"../" + filepath.Base(directory) + "/d.csv": "d.csv: this is a directory; want the name of a file",
	} {
		_ = os.MkdirAll(filepath.Join(directory, "d.csv"), 0o700)
		if _, err := Create(directory+"/"+name, nil, CreateOptions{}); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%s: got %v", name, err)
		}
	}
	for _, format := range []string{"jsonl", "csv", "parquet"} {
		for _, room := range []int{0, 3, 500_000} {
			if format == "parquet" && room > 3 {
				continue // it gets by with less
			}
			s, err := Create("-", &full{room}, CreateOptions{Format: format})
			for i := 0; err == nil && i < 20_000; i++ {
				err = s.Write(results()[0], Place{"x", int64(i)})
			}
			if s != nil {
				err = errors.Join(err, s.Close())
			}
			if err == nil || !strings.HasPrefix(err.Error(), "standard output: ") || !strings.Contains(err.Error(), "no space left on device") {
				t.Errorf("%s, %d: got %v", format, room, err)
			}
		}
	}
}

// An output is as whole as a file of results.
func TestOutput(t *testing.T) {
	name := filepath.Join(t.TempDir(), "r.html")
	for _, text := range []string{"first", "the second"} {
		o, err := CreateOutput(name)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := io.WriteString(o, text); err != nil || o.Size() != int64(len(text)) {
			t.Errorf("wrote %d bytes, %v", o.Size(), err)
		}
		if before, _ := os.ReadFile(name); string(before) == text {
			t.Error("it is there before it is closed")
		}
		if err := o.Close(); err != nil {
			t.Fatal(err)
		}
		o.Discard()
		if got, err := os.ReadFile(name); string(got) != text {
			t.Errorf("got %q, %v, want %q", got, err, text)
		}
	}
	o, err := CreateOutput(name)
	if err != nil {
		t.Fatal(err)
	}
	o.Discard()
	if left, err := os.ReadDir(filepath.Dir(name)); err != nil || len(left) != 1 {
		t.Errorf("got %v, %v, want what was there before", left, err)
	}
	if _, err := CreateOutput(filepath.Dir(name)); err == nil || !strings.HasSuffix(err.Error(), ": this is a directory; want the name of a file") {
		t.Errorf("got %v", err)
	}
	if _, err := os.Stat("/dev/full"); err != nil {
		t.Skip("there is no device without room")
	}
	if o, err = CreateOutput("/dev/full"); err != nil {
		t.Fatal(err)
	}
	defer o.Discard()
	if _, err := io.WriteString(o, "x"); err == nil || err.Error() != "/dev/full: no space left on device" {
		t.Errorf("got %v", err)
	}
}

func toText(v any) string {
	data, err := json.Marshal(v)
	if err != nil {
		return err.Error()
	}
	return strings.Trim(string(data), `"`)
}
