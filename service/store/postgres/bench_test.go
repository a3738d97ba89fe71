package postgres

import (
	"context"
	"runtime"
	"sync/atomic"
	"testing"

	"github.com/snapgauge/snapgauge/service/store"
	"github.com/snapgauge/snapgauge/service/store/postgres/pgtest"
	"github.com/snapgauge/snapgauge/service/store/storetest"
)

// durable opens a store on a server that forces its commits to the disk.
func durable(b *testing.B) *Store {
	return openAt(b, pgtest.Start(b, pgtest.Options{Durable: true}).DSN("postgres"))
}

func BenchmarkSubmitAlone(b *testing.B) {
	s := durable(b)
	n := 0
	for b.Loop() {
		if _, _, err := s.Submit(context.Background(), storetest.Sample(n)); err != nil {
			b.Fatal(err)
		}
		n++
	}
}

func BenchmarkSubmit64Parallel(b *testing.B) {
	s := durable(b)
	b.SetParallelism(64 / runtime.GOMAXPROCS(0))
	var next atomic.Int64
	b.ResetTimer()
	b.RunParallel(func(p *testing.PB) {
		for p.Next() {
			if _, _, err := s.Submit(context.Background(), storetest.Sample(int(next.Add(1)))); err != nil {
				b.Error(err)
				return
			}
		}
	})
	b.ReportMetric(float64(next.Load())/b.Elapsed().Seconds(), "rows/s")
}

func BenchmarkSpecs(b *testing.B) {
	storetest.BenchSpecs(b, func(b *testing.B) store.DB { return durable(b) })
}
