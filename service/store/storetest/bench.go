package storetest

import (
	"context"
	"fmt"
	"sync"
	"sync/atomic"
	"testing"

	"google.golang.org/protobuf/proto"
	"google.golang.org/protobuf/types/known/timestamppb"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/spec"
	"github.com/snapgauge/snapgauge/service/store"
	"github.com/snapgauge/snapgauge/specs"
)

// revisionsPerSpec is how many revisions each spec of a benchmark has.
const revisionsPerSpec = 5

// BenchSpecs measures a store with 100, 1,000 and 10,000 revisions, five to a
// spec: nothing should cost more in the last than in the first. Publishing makes
// a store larger, so run it with -benchtime=100x or the like. Last come sheets of
// the size of the demonstration's.
func BenchSpecs(b *testing.B, open func(b *testing.B) store.DB) {
	small := func(n, revision int) *pb.SpecSheet { return Sheet(n, revision, 20) }
	for _, revisions := range []int{100, 1000, 10_000} {
		b.Run(fmt.Sprintf("Revisions=%d", revisions), func(b *testing.B) { benchSpecs(b, open(b), revisions, small) })
	}
	demo := demoSheet(b)
	b.Run("Demo/Revisions=1000", func(b *testing.B) {
		benchSpecs(b, open(b), 1000, func(n, revision int) *pb.SpecSheet {
			sheet := proto.CloneOf(demo)
			sheet.SpecId, sheet.Revision = SpecID(n), int32(revision)
			sheet.EffectiveTime = timestamppb.New(Base.AddDate(0, 0, revision))
			return sheet
		})
	})
}

// demoSheet returns the largest sheet of the demonstration's.
func demoSheet(b *testing.B) *pb.SpecSheet {
	b.Helper()
	revisions, err := spec.Load(specs.FS)
	if err != nil {
		b.Fatal(err)
	}
	largest := revisions[0].Sheet()
	for _, r := range revisions {
		if proto.Size(r.Sheet()) > proto.Size(largest) {
			largest = r.Sheet()
		}
	}
	return largest
}

func benchSpecs(b *testing.B, s store.DB, revisions int, sheet func(n, revision int) *pb.SpecSheet) {
	ctx := context.Background()
	publish := func(n, revision int, etag string) (string, error) {
		p, _, err := s.PublishSpec(ctx, store.PublishedSpec{Sheet: sheet(n, revision), RecordedTime: Base}, etag)
		return p.Etag, err
	}
	filled := revisions / revisionsPerSpec
	var next atomic.Int64
	var wait sync.WaitGroup
	for range 16 {
		wait.Go(func() {
			for {
				n := int(next.Add(1)) - 1
				if n >= filled {
					return
				}
				etag := ""
				for revision := 1; revision <= revisionsPerSpec; revision++ {
					var err error
					if etag, err = publish(n, revision, etag); err != nil {
						b.Error(err)
						return
					}
				}
			}
		})
	}
	wait.Wait()
	if b.Failed() {
		return
	}
	if canonical, err := spec.Canonical(sheet(0, 1)); err == nil {
		b.Logf("a sheet of %d bytes in canonical form", len(canonical))
	}
	some := func(i int) int { return i * 7919 % filled } // here and there
	n, revision, etag := filled, 0, ""
	b.Run("Publish", func(b *testing.B) {
		for b.Loop() {
			if revision == revisionsPerSpec {
				n, revision, etag = n+1, 0, ""
			}
			revision++
			var err error
			if etag, err = publish(n, revision, etag); err != nil {
				b.Fatal(err)
			}
		}
	})
	b.Run("Spec", func(b *testing.B) {
		for i := 0; b.Loop(); i++ {
			if _, err := s.Spec(ctx, SpecID(some(i)), 1+i%revisionsPerSpec); err != nil {
				b.Fatal(err)
			}
		}
	})
	b.Run("History", func(b *testing.B) {
		for i := 0; b.Loop(); i++ {
			if history, err := s.SpecHistory(ctx, SpecID(some(i))); err != nil || len(history) != revisionsPerSpec {
				b.Fatalf("got %d, error %v", len(history), err)
			}
		}
	})
	b.Run("Changes50", func(b *testing.B) {
		for i := 0; b.Loop(); i++ {
			after := int64(some(i) * revisionsPerSpec)
			if changes, err := s.SpecChanges(ctx, min(after, int64(revisions-50)), 50); err != nil || len(changes) != 50 {
				b.Fatalf("got %d, error %v", len(changes), err)
			}
		}
	})
	b.Run("Head", func(b *testing.B) {
		for b.Loop() {
			if _, err := s.SpecHead(ctx); err != nil {
				b.Fatal(err)
			}
		}
	})
}
