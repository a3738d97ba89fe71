package storetest

import (
	"context"
	"testing"
	"time"
)

var watchTests = []namedSpecTest{
	{"Wakes", watchWakes},
	{"Ends", watchEnds},
}

// wakeTime is far more than a signal takes, for a test that waits for one.
const wakeTime = 20 * time.Second

// await waits for a signal.
func await(t tester, c <-chan struct{}) {
	t.Helper()
	select {
	case _, ok := <-c:
		if !ok {
			t.Fatalf("the channel was closed")
		}
	case <-time.After(wakeTime):
		t.Fatalf("no signal in %v", wakeTime)
	}
}

// awaitEnd waits until the channel is closed.
func awaitEnd(t tester, c <-chan struct{}) {
	t.Helper()
	late := time.After(wakeTime)
	for {
		select {
		case _, ok := <-c:
			if !ok {
				return
			}
		case <-late:
			t.Fatalf("the channel was not closed in %v", wakeTime)
		}
	}
}

func watchWakes(t *testing.T, open specOpener) {
	s := open(t)
	ctx, cancel := context.WithCancel(context.Background())
	defer cancel()
	watches := make([]<-chan struct{}, 3)
	for i := range watches {
		var err error
		if watches[i], err = s.WatchSpecHead(ctx); err != nil {
			t.Fatal(err)
		}
		await(t, watches[i])
	}
	seen := make([]int64, len(watches))
	change := []func(){
		func() { publishSteps(t, s, 1, 1) },
		func() { publishSteps(t, s, 2, 3) },
		func() { mustWithdraw(t, s, SpecID(2), 1, "misprint", Base) },
	}
	wanted := []int64{1, 4, 5}
	for i, do := range change {
		do()
		for w, c := range watches {
			for seen[w] < wanted[i] { // a signal may have come early
				await(t, c)
				seen[w] += int64(len(feed(t, s, seen[w], 10)))
			}
		}
	}
}

func watchEnds(t *testing.T, open specOpener) {
	s := open(t)
	ctx, cancel := context.WithCancel(context.Background())
	withContext, err := s.WatchSpecHead(ctx)
	if err != nil {
		t.Fatal(err)
	}
	withStore, err := s.WatchSpecHead(context.Background())
	if err != nil {
		t.Fatal(err)
	}
	cancel()
	awaitEnd(t, withContext)
	if err := s.Close(); err != nil {
		t.Errorf("Close: %v", err)
	}
	awaitEnd(t, withStore)
}
