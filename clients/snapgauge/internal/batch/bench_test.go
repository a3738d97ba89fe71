package batch

import (
	"bytes"
	"errors"
	"io"
	"strings"
	"testing"

	"google.golang.org/protobuf/proto"

	"github.com/snapgauge/snapgauge/clients/snapgauge/internal/batch/columns"
	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

// All readers give the same records of 64 readings, and all writers take the same
// results, so that their figures can be compared with each other in one run.
func BenchmarkRead(b *testing.B) {
	const n = 2000
	var records []*pb.SetupRecord
	var nested []parquetRecord
	var long bytes.Buffer
	long.WriteString("job,vin,characteristic,result,pass,unit,time\n")
	for i := range n {
		m := record64(i)
		records, nested = append(records, m), append(nested, rowOf(m))
		for _, r := range m.GetReadings() {
			at := r.GetTime().AsTime().Format("2006-01-02T15:04:05Z")
			line := []string{m.GetUnit().GetVin(), m.GetUnit().GetVin(), r.GetCharacteristic(), "3.25", "", "mm", at}
			if r.GetUnit() == "" {
				line[3], line[4], line[5] = "", "yes", ""
			}
			long.WriteString(strings.Join(line, ",") + "\n")
		}
	}
	longMap := mapOf(b, `
table: {rows: readings, key: [job]}
record:
  unit: {vin: {column: vin}, model: Scree 200i, model_year: 2026, market: EU}
  phase: handover
  shop: ridge-cycles
  technician: t07
  finish_time: 2026-07-02T10:05:00Z
  readings:
    - {characteristic: {column: characteristic}, only: [`+strings.Join(passed(records[0]), ", ")+`], pass: {column: pass}, time: {column: time}}
    - {characteristic: {column: characteristic}, value: {column: result}, unit: {column: unit}, time: {column: time}}
`)
	lines, table := jsonLinesOf(b, records...), wideTable(",", records...)
	for _, test := range []struct {
		name    string
		data    []byte
		columns *columns.Map
	}{
		{"records.jsonl", lines, nil},
		{"records.jsonl.gz", gzipped(b, lines), nil},
		{"records.jsonl.zst", zstandard(b, lines), nil},
		{"wide.csv", table, wideMap(b)},
		{"long.csv", long.Bytes(), longMap},
		{"nested.parquet", parquetOf(b, nested), nil},
		{"flat.parquet", flatParquet(b, records), wideMap(b)},
	} {
		b.Run(test.name, func(b *testing.B) {
			name := file(b, test.name, test.data)
			b.SetBytes(int64(len(test.data) / n))
			b.ReportAllocs()
			var s Source
			for done := 0; done < b.N; {
				var err error
				if s, err = Open(name, nil, Options{Columns: test.columns}); err != nil {
					b.Fatal(err)
				}
				for {
					item, err := s.Next()
					if errors.Is(err, io.EOF) {
						break
					}
					if err != nil || item.Record == nil || len(item.Record.Readings) != 64 {
						b.Fatal(item.Unreadable, err)
					}
					if done++; done == b.N {
						break
					}
				}
				if err := s.Close(); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(float64(b.N)/b.Elapsed().Seconds(), "records/s")
		})
	}
}

// passed are the characteristics of a record that were inspected.
func passed(m *pb.SetupRecord) []string {
	var ids []string
	for _, r := range m.GetReadings() {
		if _, ok := r.GetResult().(*pb.Reading_Pass); ok {
			ids = append(ids, r.GetCharacteristic())
		}
	}
	return ids
}

func BenchmarkWrite(b *testing.B) {
	result := proto.CloneOf(results()[0])
	for _, name := range []string{"jsonl", "csv", "parquet"} {
		b.Run(name, func(b *testing.B) {
			s, err := Create("-", io.Discard, CreateOptions{Format: name})
			if err != nil {
				b.Fatal(err)
			}
			b.ReportAllocs()
			for i := range b.N {
				result.Index = int64(i)
				if err := s.Write(result, Place{"records.jsonl", int64(i)}); err != nil {
					b.Fatal(err)
				}
			}
			if err := s.Close(); err != nil {
				b.Fatal(err)
			}
			b.ReportMetric(float64(b.N)/b.Elapsed().Seconds(), "results/s")
		})
	}
}
