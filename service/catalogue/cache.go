package catalogue

import (
	"container/list"
	"context"
	"sync"
)

// cache keeps the values that were used last, at most max of them, and makes
// each that is missing once for all who wait for it. It is safe for concurrent
// use.
type cache[V any] struct {
	max int

	mu      sync.Mutex
	entries map[string]*list.Element // of *entry[V]
	order   list.List                // the one used last in front
	making  map[string]*making[V]
}

// entry is a value, or the error that making it will always have.
type entry[V any] struct {
	key   string
	value V
	err   error
}

// making is a value being made.
type making[V any] struct {
	done  chan struct{}
	value V // both set before done is closed
	err   error
}

func newCache[V any](limit int) *cache[V] {
	return &cache[V]{max: limit, entries: make(map[string]*list.Element), making: make(map[string]*making[V])}
}

// get returns the value of a key, and whether it was there. When it was not, it
// is made in a goroutine that spawn starts, which goes on when ctx, that of one
// who waits, ends. An error of which forGood says so is kept like a value.
func (c *cache[V]) get(ctx context.Context, key string, spawn func(func()) error, forGood func(error) bool, produce func() (V, error)) (value V, there bool, err error) {
	c.mu.Lock()
	if element, ok := c.entries[key]; ok {
		c.order.MoveToFront(element)
		e := element.Value.(*entry[V])
		c.mu.Unlock()
		return e.value, true, e.err
	}
	m, err := c.makeOnce(key, spawn, forGood, produce)
	c.mu.Unlock()
	if err != nil {
		return value, false, err
	}
	select {
	case <-m.done:
		return m.value, false, m.err
	case <-ctx.Done():
		return value, false, ctx.Err()
	}
}

// makeOnce returns the making of a value, begun now unless it is under way. It
// is called with mu held.
func (c *cache[V]) makeOnce(key string, spawn func(func()) error, forGood func(error) bool, produce func() (V, error)) (*making[V], error) {
	if m, ok := c.making[key]; ok {
		return m, nil
	}
	m := &making[V]{done: make(chan struct{})}
	err := spawn(func() {
		m.value, m.err = produce()
		c.mu.Lock()
		defer c.mu.Unlock()
		delete(c.making, key)
		if m.err == nil || forGood(m.err) {
			c.keep(key, m.value, m.err)
		}
		close(m.done)
	})
	if err != nil {
		return nil, err
	}
	c.making[key] = m
	return m, nil
}

// put keeps a value that was made elsewhere.
func (c *cache[V]) put(key string, value V) {
	c.mu.Lock()
	defer c.mu.Unlock()
	c.keep(key, value, nil)
}

// keep is put with mu held.
func (c *cache[V]) keep(key string, value V, err error) {
	if element, ok := c.entries[key]; ok {
		c.order.MoveToFront(element)
		return // what is made of one key is always the same
	}
	c.entries[key] = c.order.PushFront(&entry[V]{key, value, err})
	for c.order.Len() > c.max {
		delete(c.entries, c.order.Remove(c.order.Back()).(*entry[V]).key)
	}
}

// len returns how many values are kept.
func (c *cache[V]) len() int {
	c.mu.Lock()
	defer c.mu.Unlock()
	return c.order.Len()
}
