package wake_test

import (
	"context"
	"sync"
	"testing"

	"github.com/snapgauge/snapgauge/service/store/internal/wake"
)

func ready(c <-chan struct{}) (signal, open bool) {
	select {
	case _, open := <-c:
		return open, open
	default:
		return false, true
	}
}

func TestHub(t *testing.T) {
	t.Parallel()
	var hub wake.Hub
	ctx, cancel := context.WithCancel(context.Background())
	a, b := hub.Subscribe(ctx), hub.Subscribe(context.Background())
	for _, c := range []<-chan struct{}{a, b} {
		if signal, _ := ready(c); !signal {
			t.Error("wanted a signal at the beginning")
		}
		if signal, open := ready(c); signal || !open {
			t.Errorf("got signal %t, open %t, wanted to wait", signal, open)
		}
	}
	hub.Wake()
	hub.Wake()
	for _, c := range []<-chan struct{}{a, b} {
		if signal, _ := ready(c); !signal {
			t.Error("wanted a signal")
		}
		if signal, _ := ready(c); signal {
			t.Error("got two signals where nobody took the first")
		}
	}
	cancel()
	if _, open := <-a; open {
		t.Error("wanted it closed with its context")
	}
	hub.Close()
	if _, open := <-b; open {
		t.Error("wanted it closed with the hub")
	}
	if _, open := <-hub.Subscribe(context.Background()); open {
		t.Error("wanted it closed from the beginning")
	}
	hub.Wake()
}

// TestHubConcurrently is for the race detector.
func TestHubConcurrently(t *testing.T) {
	t.Parallel()
	var hub wake.Hub
	var wait sync.WaitGroup
	for range 8 {
		wait.Go(func() {
			for range 200 {
				ctx, cancel := context.WithCancel(context.Background())
				c := hub.Subscribe(ctx)
				hub.Wake()
				<-c
				cancel()
				for range c { // until it is closed
				}
			}
		})
	}
	wait.Wait()
	hub.Close()
}
