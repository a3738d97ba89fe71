package audit

import (
	"math/rand/v2"
	"testing"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/gauge"
)

// BenchmarkAudit judges records of 12 readings and adds them; judging alone stands
// beside it.
func BenchmarkAudit(b *testing.B) {
	e := testEngine(b, 1)
	var records []*pb.SetupRecord
	for n := range 1000 {
		records = append(records, record(rand.New(rand.NewPCG(1, uint64(n))), n, shopOfUnit(n), personOfUnit(n)))
	}
	b.Run("judge", func(b *testing.B) {
		b.ReportAllocs()
		for i := range b.N {
			r := records[i%len(records)]
			if _, err := e.Gauge(r, gauge.Options{AsOf: r.GetFinishTime().AsTime()}); err != nil {
				b.Fatal(err)
			}
		}
	})
	b.Run("judge-and-add", func(b *testing.B) {
		b.ReportAllocs()
		a := newAuditor()
		for i := range b.N {
			add(b, a, e, records[i%len(records)])
		}
	})
	a := newAuditor()
	honest(b, a, testEngines(b), 1, 0, 2000)
	b.Run("save", func(b *testing.B) {
		for range b.N {
			saved, err := a.Save("")
			if err != nil {
				b.Fatal(err)
			}
			b.ReportMetric(float64(len(saved)), "bytes")
		}
	})
	b.Run("summary", func(b *testing.B) {
		for range b.N {
			a.Summary()
		}
	})
}
