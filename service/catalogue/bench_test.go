package catalogue

import (
	"context"
	"fmt"
	"path/filepath"
	"runtime"
	"testing"
	"time"

	"github.com/snapgauge/snapgauge/service/gauge"
	"github.com/snapgauge/snapgauge/service/spec"
	"github.com/snapgauge/snapgauge/service/store"
	"github.com/snapgauge/snapgauge/service/store/sqlite"
	"github.com/snapgauge/snapgauge/service/store/storetest"
)

// revisionsOfEach is how many revisions each spec has in the benchmarks.
const revisionsOfEach = 5

// sizes are the numbers of revisions with which to show that they do not matter.
var sizes = []int{100, 1_000, 10_000}

// filled returns a catalogue whose index has so many revisions. Its store has
// only one sheet.
func filled(b *testing.B, revisions int) *Catalogue {
	b.Helper()
	model := storetest.NewModel()
	fill(b, model, sheet(0, 1, 1))
	c := open(b, model, Config{})
	for n := range revisions / revisionsOfEach {
		for revision := 1; revision <= revisionsOfEach; revision++ {
			if n > 0 || revision > 1 {
				change, head := published(c, n, revision)
				c.index.apply(change, head)
			}
		}
	}
	return c
}

// published is the next change, which publishes a revision.
func published(c *Catalogue, n, revision int) (store.Change, *Head) {
	s := sheet(n, revision, revision)
	change := store.Change{
		Position: c.Position() + 1, Kind: store.Published, SpecID: s.GetSpecId(), Revision: revision, Digest: fmt.Sprintf("%064x", n),
		Make: s.GetMake(), Model: s.GetModel(), ModelYear: int(s.GetModelYear()), Market: s.GetMarket(),
		EffectiveTime: s.GetEffectiveTime().AsTime(), RecordedTime: day0(0),
	}
	return change, headOf(change, store.PublishedSpec{}, headFields(s), c.index.specs[s.GetSpecId()].head(revision-1))
}

// BenchmarkApply applies a change to one of the specs and takes it back.
func BenchmarkApply(b *testing.B) {
	for _, size := range sizes {
		b.Run(fmt.Sprint(size), func(b *testing.B) {
			c := filled(b, size)
			change, head := published(c, 7, revisionsOfEach+1)
			before := c.index.specs[change.SpecID]
			for b.Loop() {
				c.index.apply(change, head)
				c.index.wake()
				c.index.specs[change.SpecID] = before
			}
		})
	}
}

func BenchmarkInForce(b *testing.B) {
	for _, size := range sizes {
		b.Run(fmt.Sprint(size), func(b *testing.B) {
			c := filled(b, size)
			c.cfg.MaxStale = time.Hour
			q := about(7)
			q.AsOf = day0(3)
			b.ReportAllocs()
			for b.Loop() {
				if choice, err := c.InForce(context.Background(), q); err != nil || choice.Revision != 3 {
					b.Fatal(choice, err)
				}
			}
		})
	}
}

// BenchmarkJudge is InForce with an engine that is there.
func BenchmarkJudge(b *testing.B) {
	for _, size := range sizes {
		b.Run(fmt.Sprint(size), func(b *testing.B) {
			c := filled(b, size)
			c.cfg.MaxStale = time.Hour
			q := about(0)
			q.AsOf = day0(1)
			if _, _, err := c.Judge(context.Background(), q); err != nil {
				b.Fatal(err)
			}
			b.ReportAllocs()
			b.RunParallel(func(p *testing.PB) {
				for p.Next() {
					if _, _, err := c.Judge(context.Background(), q); err != nil {
						b.Error(err)
						return
					}
				}
			})
		})
	}
}

// BenchmarkSeek asks by a name, and by one that is mistyped and therefore
// compared with all there are.
func BenchmarkSeek(b *testing.B) {
	for how, model := range map[string]string{"Named": "sample works tarn 7", "Mistyped": "sampel works tarn 7"} {
		for _, size := range sizes {
			b.Run(fmt.Sprintf("%s/%d", how, size), func(b *testing.B) {
				c := filled(b, size)
				c.cfg.MaxStale = time.Hour
				for b.Loop() {
					if choice, err := c.Seek(context.Background(), Query{Model: model}); err != nil || choice.SpecID != storetest.SpecID(7) {
						b.Fatal(choice, err)
					}
				}
			})
		}
	}
}

// BenchmarkEngineLoad makes an engine of a demonstration sheet each time.
func BenchmarkEngineLoad(b *testing.B) {
	revisions := demo(b)[:2]
	c := open(b, storetest.NewModel(), Config{})
	if _, err := c.Seed(context.Background(), revisions); err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		c.engines, c.sheets = newCache[*gauge.Engine](1), newCache[*spec.Revision](1)
		if _, err := c.Engine(context.Background(), revisions[0].SpecID(), revisions[0].Number()); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkPublish publishes on a catalogue over SQLite that has so many
// revisions, and waits until it answers by it.
func BenchmarkPublish(b *testing.B) {
	for _, size := range sizes {
		b.Run(fmt.Sprint(size), func(b *testing.B) {
			s := filledSQLite(b, size)
			c := open(b, s, Config{CallTimeout: time.Minute})
			n := 0
			for b.Loop() {
				n++
				if _, created, err := c.Publish(context.Background(), sheet(1_000_000+n, 1, 1), "", false); err != nil || !created {
					b.Fatal(created, err)
				}
			}
		})
	}
}

// BenchmarkOpen opens a catalogue over SQLite with so many revisions.
func BenchmarkOpen(b *testing.B) {
	for _, size := range sizes {
		b.Run(fmt.Sprint(size), func(b *testing.B) {
			s := filledSQLite(b, size)
			for b.Loop() {
				open(b, s, Config{CallTimeout: time.Minute}).Close()
			}
		})
	}
}

// BenchmarkMemory tells what a head takes in the index of a catalogue, and what
// an engine of a demonstration sheet takes with its sheet.
func BenchmarkMemory(b *testing.B) {
	held := func(hold func() any) float64 {
		var before, after runtime.MemStats
		runtime.GC()
		runtime.ReadMemStats(&before)
		kept := hold()
		runtime.GC()
		runtime.ReadMemStats(&after)
		runtime.KeepAlive(kept)
		return float64(after.HeapAlloc) - float64(before.HeapAlloc)
	}
	const heads, engines = 10_000, 20
	s, sheet := filledSQLite(b, heads), demo(b)[0].Sheet()
	for b.Loop() {
		b.ReportMetric(held(func() any { return open(b, s, Config{CallTimeout: time.Minute}) })/heads, "B/head")
		b.ReportMetric(held(func() any {
			var all [engines]*gauge.Engine
			for i := range all {
				engine, err := gauge.Compile(mustRevision(b, sheet))
				if err != nil {
					b.Fatal(err)
				}
				all[i] = engine
			}
			return all
		})/engines, "B/engine")
	}
}

func filledSQLite(b *testing.B, size int) store.SpecStore {
	b.Helper()
	s, err := sqlite.Open(context.Background(), filepath.Join(b.TempDir(), "specs.db"))
	if err != nil {
		b.Fatal(err)
	}
	b.Cleanup(func() { _ = s.Close() })
	for n := range size / revisionsOfEach {
		etag := ""
		for revision := 1; revision <= revisionsOfEach; revision++ {
			p, _, err := s.PublishSpec(context.Background(), store.PublishedSpec{Sheet: sheet(n, revision, revision), RecordedTime: day0(0)}, etag)
			if err != nil {
				b.Fatal(err)
			}
			etag = p.Etag
		}
	}
	return s
}
