package sqlite

import (
	"context"
	"path/filepath"
	"runtime"
	"sync/atomic"
	"testing"

	"github.com/snapgauge/snapgauge/service/store"
	"github.com/snapgauge/snapgauge/service/store/storetest"
)

func BenchmarkSubmitAlone(b *testing.B) {
	s := openAt(b, filepath.Join(b.TempDir(), "bench.db"))
	n := 0
	for b.Loop() {
		if _, _, err := s.Submit(context.Background(), storetest.Sample(n)); err != nil {
			b.Fatal(err)
		}
		n++
	}
	reportGroups(b, s)
}

func BenchmarkSubmit64Parallel(b *testing.B) {
	s := openAt(b, filepath.Join(b.TempDir(), "bench.db"))
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
	reportGroups(b, s)
}

// BenchmarkSample is what the two above spend on making their input.
func BenchmarkSample(b *testing.B) {
	n := 0
	for b.Loop() {
		storetest.Sample(n)
		n++
	}
}

func reportGroups(b *testing.B, s *Store) {
	stats := s.Stats()
	b.ReportMetric(float64(stats.Rows)/float64(stats.Groups), "rows/commit")
	b.ReportMetric(float64(stats.Rows)/b.Elapsed().Seconds(), "rows/s")
}

// filled has 10,000 set-ups of 64 readings.
func filled(b *testing.B) *Store {
	b.Helper()
	s := openAt(b, filepath.Join(b.TempDir(), "bench.db"))
	var next atomic.Int64
	done := make(chan error)
	const workers = 64
	for range workers {
		go func() {
			for {
				n := int(next.Add(1)) - 1
				if n >= 10_000 {
					done <- nil
					return
				}
				if _, _, err := s.Submit(context.Background(), storetest.Sample(n)); err != nil {
					done <- err
					return
				}
			}
		}()
	}
	for range workers {
		if err := <-done; err != nil {
			b.Fatal(err)
		}
	}
	return s
}

func BenchmarkRead(b *testing.B) {
	s := filled(b)
	ctx := context.Background()
	b.Run("Get", func(b *testing.B) {
		n := 0
		for b.Loop() {
			if _, err := s.Get(ctx, storetest.Sample(n*7919%10_000).ID); err != nil {
				b.Fatal(err)
			}
			n++
		}
	})
	shop := store.Compare{Field: store.FieldShop, Op: store.Equal, Value: storetest.Shops[0]}
	reject := store.Compare{Field: store.FieldVerdict, Op: store.Equal, Value: "REJECT"}
	for _, bench := range []struct {
		name string
		q    store.Query
	}{
		{"List50", store.Query{}},
		{"List50Basic", store.Query{Basic: true}},
		{"List50BasicShopVerdict", store.Query{Basic: true, Filter: store.And{shop, reject}}},
		{"List50BasicMiddle", store.Query{Basic: true, After: store.CursorAfter(storetest.Sample(5000).CreateTime, "x")}},
		{"List50JudgedBySpec", store.Query{Filter: store.JudgedBy("larkspur-250-r-2026-eu", 0)}},
		{"List50JudgedByRevision", store.Query{Filter: store.JudgedBy("larkspur-250-r-2026-eu", 2)}},
		{"List50BasicUnindexed", store.Query{Basic: true, Filter: store.Compare{Field: store.FieldModelYear, Op: store.Equal, Value: int64(2026)}}},
	} {
		b.Run(bench.name, func(b *testing.B) {
			bench.q.Limit = 50
			for b.Loop() {
				page, _, err := s.List(ctx, bench.q)
				if err != nil || len(page) != 50 {
					b.Fatalf("got %d, error %v", len(page), err)
				}
			}
		})
	}
}

func BenchmarkSpecs(b *testing.B) {
	storetest.BenchSpecs(b, func(b *testing.B) store.DB {
		return openAt(b, filepath.Join(b.TempDir(), "bench.db"))
	})
}
