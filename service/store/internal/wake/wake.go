// Package wake tells many waiting goroutines that something has happened,
// without ever waiting for one of them.
package wake

import (
	"context"
	"sync"
)

// Hub wakes subscribers. The zero Hub is ready. It is safe for concurrent use.
type Hub struct {
	mu     sync.Mutex
	closed bool
	all    map[chan struct{}]struct{}
}

// Subscribe returns a channel that is ready once now and then after each Wake;
// several of those make one signal where nobody took the first. It is closed
// when ctx ends or the Hub closes.
func (h *Hub) Subscribe(ctx context.Context) <-chan struct{} {
	c := make(chan struct{}, 1)
	h.mu.Lock()
	defer h.mu.Unlock()
	if h.closed || ctx.Err() != nil {
		close(c)
		return c
	}
	if h.all == nil {
		h.all = make(map[chan struct{}]struct{})
	}
	h.all[c] = struct{}{}
	c <- struct{}{}
	context.AfterFunc(ctx, func() { h.drop(c) })
	return c
}

func (h *Hub) drop(c chan struct{}) {
	h.mu.Lock()
	defer h.mu.Unlock()
	if _, ok := h.all[c]; ok {
		delete(h.all, c)
		close(c)
	}
}

// Wake makes every channel ready.
func (h *Hub) Wake() {
	h.mu.Lock()
	defer h.mu.Unlock()
	for c := range h.all {
		select {
		case c <- struct{}{}:
		default: // ready already
		}
	}
}

// Close closes every channel, and those of later subscribers at once.
func (h *Hub) Close() {
	h.mu.Lock()
	defer h.mu.Unlock()
	h.closed = true
	for c := range h.all {
		delete(h.all, c)
		close(c)
	}
}
