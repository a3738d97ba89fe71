package shape_test

import (
	"testing"
	"time"

	"github.com/snapgauge/snapgauge/service/shape"
)

// BenchmarkSound looks at a record of 64 readings, and has protovalidate look at
// it. The metric of-protovalidate is the time of the one as a part of the other's.
func BenchmarkSound(b *testing.B) {
	record := longRecord(64)
	asked := 1 + b.N/32 // it would take most of the time
	start := time.Now()
	for range asked {
		if err := ask(b, record); err != nil {
			b.Fatal(err)
		}
	}
	slow := float64(time.Since(start)) / float64(asked)
	b.ReportAllocs()
	b.ResetTimer()
	for range b.N {
		if !shape.Sound(record) {
			b.Fatal("not sound")
		}
	}
	b.StopTimer()
	b.ReportMetric(slow, "protovalidate-ns/op")
	b.ReportMetric(float64(b.Elapsed())/float64(b.N)/slow, "of-protovalidate")
}
