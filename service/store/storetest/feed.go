package storetest

import (
	"context"
	"errors"
	"sync"
	"testing"

	"github.com/snapgauge/snapgauge/service/store"
)

var feedTests = []namedSpecTest{
	{"Pages", feedPages},
	{"Refusals", feedRefusals},
	{"WhileChanging", feedWhileChanging},
}

func feedPages(t *testing.T, open specOpener) {
	s := open(t)
	head := func() int64 {
		t.Helper()
		position, err := s.SpecHead(context.Background())
		if err != nil {
			t.Fatal(err)
		}
		return position
	}
	if got := feed(t, s, 0, 10); len(got) != 0 || head() != 0 {
		t.Errorf("got %d changes and head %d in an empty store", len(got), head())
	}
	for n := range 5 {
		publishSteps(t, s, n, 3)
		mustWithdraw(t, s, SpecID(n), 2, "misprint", Base)
	}
	if head() != 20 {
		t.Errorf("got head %d, wanted 20", head())
	}
	want := feed(t, s, 0, 1<<30)
	for _, limit := range []int{1, 3, 20} {
		if diff := difference(want, feed(t, s, 0, limit)); diff != "" {
			t.Errorf("limit %d: (-all +paged)\n%s", limit, diff)
		}
	}
	if diff := difference(want[12:], feed(t, s, 12, 5)); diff != "" {
		t.Errorf("from the middle: (-want +got)\n%s", diff)
	}
	if got := feed(t, s, 20, 5); len(got) != 0 {
		t.Errorf("got %d changes after the head", len(got))
	}
	if got := feed(t, s, 1<<62, 5); len(got) != 0 {
		t.Errorf("got %d changes far after the head", len(got))
	}
	CheckSpecs(t, s)
}

func feedRefusals(t *testing.T, open specOpener) {
	s := open(t)
	for _, test := range []struct {
		after int64
		limit int
	}{{0, 0}, {0, -1}, {-1, 1}} {
		if _, err := s.SpecChanges(context.Background(), test.after, test.limit); !errors.Is(err, store.ErrInvalidQuery) {
			t.Errorf("after %d, limit %d: got %v, wanted ErrInvalidQuery", test.after, test.limit, err)
		}
	}
}

// feedWhileChanging follows the feed while many change it: no position is passed
// over that is filled later, and what was acknowledged is seen.
func feedWhileChanging(t *testing.T, open specOpener) {
	s := open(t)
	const publishers, revisions, followers = 6, 12, 3
	var changing, following sync.WaitGroup
	done := make(chan struct{})
	for range followers {
		following.Go(func() {
			var after int64
			for last := false; ; {
				changes := feed(failLater{t}, s, after, 7)
				after += int64(len(changes))
				for _, c := range changes {
					if _, err := s.Spec(context.Background(), c.SpecID, c.Revision); err != nil {
						t.Errorf("position %d: %v", c.Position, err)
					}
				}
				if last {
					break
				}
				select {
				case <-done:
					last = true
				default:
				}
			}
			if after != publishers*revisions*3/2 {
				t.Errorf("followed to position %d, wanted %d", after, publishers*revisions*3/2)
			}
		})
	}
	for n := range publishers {
		changing.Go(func() {
			etag := ""
			for revision := 1; revision <= revisions; revision++ {
				p, created, err := s.PublishSpec(context.Background(), Revision(n, revision), etag)
				if err != nil || !created {
					t.Errorf("spec %d, revision %d: created %t, error %v", n, revision, created, err)
					return
				}
				if head, err := s.SpecHead(context.Background()); err != nil || head < p.Position {
					t.Errorf("got head %d, error %v, wanted %d or more", head, err, p.Position)
				}
				etag = p.Etag
				if revision%2 == 0 {
					if _, err := s.WithdrawSpec(context.Background(), SpecID(n), revision-1, "misprint", Base); err != nil {
						t.Errorf("spec %d, revision %d: %v", n, revision-1, err)
					}
				}
			}
		})
	}
	changing.Wait()
	close(done)
	following.Wait()
	CheckSpecs(t, s)
}
