package batch

import (
	"bytes"
	"fmt"
	"io"
	"runtime"
	"strings"
	"testing"

	"github.com/klauspost/compress/gzip"
	"google.golang.org/protobuf/proto"

	"github.com/snapgauge/snapgauge/clients/snapgauge/internal/batch/columns"
)

// repeated gives a head once, and then a part so many times.
type repeated struct {
	part  []byte
	times int
	left  []byte
}

func (r *repeated) Read(p []byte) (int, error) {
	if len(r.left) == 0 {
		if r.times == 0 {
			return 0, io.EOF
		}
		r.times--
		r.left = r.part
	}
	n := copy(p, r.left)
	r.left = r.left[n:]
	return n, nil
}

// live is how much memory is in use, without what is garbage.
func live() int64 {
	runtime.GC()
	var m runtime.MemStats
	runtime.ReadMemStats(&m)
	return int64(m.HeapAlloc)
}

// heldBy reads a source to its end and says how much memory it held at most, and
// how many items it gave.
func heldBy(t *testing.T, s Source, before int64) (most int64, items int) {
	t.Helper()
	for {
		item, err := s.Next()
		if err != nil {
			if err != io.EOF {
				t.Error(err)
			}
			return most, items
		}
		if items++; items%2000 == 1 || item.Record == nil && items < 50 {
			most = max(most, live()-before)
		}
	}
}

// What is held does not grow with the file, whatever is in it.
func TestMemoryIsConstant(t *testing.T) {
	const bound = 16 << 20
	line := jsonLinesOf(t, record64(1))
	var zeros bytes.Buffer // many of them in few bytes
	z, err := gzip.NewWriterLevel(&zeros, gzip.BestSpeed)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := io.Copy(z, &repeated{part: make([]byte, 1<<20), times: 64}); err != nil {
		t.Fatal(err)
	}
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	table := wideTable(",", record64(1))
	head := bytes.IndexByte(table, '\n') + 1
	for _, test := range []struct {
		name    string
		in      io.Reader
		columns *columns.Map
		least   int // items
	}{
		{"JSON Lines", &repeated{part: line, times: 8_000}, nil, 8_000},
		{"bad lines", &repeated{part: append([]byte(`{"vinn":1,`), line...), times: 8_000}, nil, 8_000},
		{"long lines", &repeated{part: append(bytes.Repeat([]byte("x"), 5<<20), '\n'), times: 40}, nil, 40},
		{"a line without end", &repeated{part: bytes.Repeat([]byte(" "), 1<<20), times: 64}, nil, 1},
		{"a gzip bomb", bytes.NewReader(zeros.Bytes()), nil, 1},
		{"a table", io.MultiReader(bytes.NewReader(table[:head]), &repeated{part: table[head:], times: 8_000}), wideMap(t), 8_000},
		{"a gzip bomb for a table", io.MultiReader(bytes.NewReader(gzipped(t, table[:head])), bytes.NewReader(zeros.Bytes())), wideMap(t), 1},
		{"a cell without end", io.MultiReader(strings.NewReader("VIN,Done,Chain slack\na,b,\""), &repeated{part: []byte("x,y\nz,"), times: 1 << 19}), mapOf(t, smallMap), 1 << 18},
	} {
		before := live()
		opt := Options{Columns: test.columns}
		if test.columns != nil {
			opt.Format = "csv"
		}
		s, err := Open("-", test.in, opt)
		if err != nil {
			t.Errorf("%s: %v", test.name, err)
			continue
		}
		most, items := heldBy(t, s, before)
		if most > bound || items < test.least {
			t.Errorf("%s: %d MiB are held at most, want at most %d; %d items, want %d", test.name, most>>20, bound>>20, items, test.least)
		}
		t.Logf("%s: %d items, %.1f MiB", test.name, items, float64(most)/(1<<20))
	}
}

// A record of which every row of a table is a part is no larger than a record.
func TestMemoryOfARecordOfManyRows(t *testing.T) {
	m := mapOf(t, `
table: {rows: readings, key: [Job]}
record:
  unit: {vin: {column: VIN}, model: Scree 200i, model_year: 2026, market: EU}
  phase: service
  shop: ridge-cycles
  technician: t07
  finish_time: 2026-07-02T10:05:00Z
  readings: [{characteristic: {column: Item}, value: {column: Value}, unit: mm}]
`)
	before := live()
	s, err := Open("-", io.MultiReader(strings.NewReader("Job,VIN,Item,Value\n"), &repeated{part: []byte("1,v,chain_slack,36\n"), times: 500_000}),
		Options{Format: "csv", Columns: m})
	if err != nil {
		t.Fatal(err)
	}
	item, err := s.Next()
	if err != nil || item.Unreadable != "more than 1024 rows have the same Job" {
		t.Errorf("got %v, %v", item, err)
	}
	if held := live() - before; held > 4<<20 {
		t.Errorf("%d KiB are held", held>>10)
	}
}

func TestMemoryOfParquet(t *testing.T) {
	rows := make([]parquetRecord, 6000)
	for i := range rows {
		rows[i] = rowOf(record64(i))
	}
	name := file(t, "a.parquet", parquetOf(t, rows))
	rows = nil
	before := live()
	s, err := Open(name, nil, Options{})
	if err != nil {
		t.Fatal(err)
	}
	most, items := heldBy(t, s, before)
	if err := s.Close(); err != nil {
		t.Error(err)
	}
	if most > 32<<20 || items != 6000 {
		t.Errorf("%d MiB are held at most; %d items", most>>20, items)
	}
	t.Logf("%.1f MiB", float64(most)/(1<<20))

	before = live()
	sink, err := Create("-", io.Discard, CreateOptions{Format: "parquet"})
	if err != nil {
		t.Fatal(err)
	}
	most = 0
	for i := range 100_000 {
		r := proto.CloneOf(results()[0])
		r.Index, r.Vin = int64(i), fmt.Sprint("0VST2E3C7TA", i)
		if err := sink.Write(r, Place{"records.jsonl", int64(i)}); err != nil {
			t.Fatal(err)
		}
		if i%10_000 == 0 {
			most = max(most, live()-before)
		}
	}
	if err := sink.Close(); err != nil || most > 48<<20 {
		t.Errorf("%d MiB are held at most; %v", most>>20, err)
	}
	t.Logf("%.1f MiB", float64(most)/(1<<20))
}
