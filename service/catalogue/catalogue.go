package catalogue

import (
	"context"
	"fmt"
	"log/slog"
	"runtime"
	"sync"
	"time"

	"github.com/snapgauge/snapgauge/service/gauge"
	"github.com/snapgauge/snapgauge/service/spec"
	"github.com/snapgauge/snapgauge/service/store"
)

// Config says how a [Catalogue] works. The zero Config is the usual one: a field
// that is not above nought, or nil, has its default.
type Config struct {
	// MaxStale bounds how long ago the catalogue was level with its store when
	// it gives an answer to judge by. The default is 1 s.
	MaxStale time.Duration
	// Poll is how often the store is asked for changes, whether it told of any or
	// not. The default is 250 ms. With less than MaxStale, judging does not wait
	// for it.
	Poll time.Duration
	// ConfirmTimeout bounds how long who asks for an answer to judge by waits for
	// a catalogue that is too old to catch up. The default is 500 ms. Who
	// publishes waits as long as the store answers each call in CallTimeout.
	ConfirmTimeout time.Duration
	// CallTimeout bounds each call of the store that the catalogue makes for
	// itself. The default is 1 s.
	CallTimeout time.Duration
	// LoadTimeout bounds the loading of one sheet for those who wait for it. The
	// default is 10 s.
	LoadTimeout time.Duration
	// MaxEngines bounds the engines that are kept, and apart from them the
	// sheets. The default is 512.
	MaxEngines int
	// Now is the clock: by it the age of the catalogue is measured, and changes
	// are recorded. Like that of [time.Now], which is the default, its times
	// should have a monotonic reading.
	Now func() time.Time
	// Log is told when the store is lost and when it is there again, and of
	// revisions that cannot be read. The default says nothing.
	Log *slog.Logger
}

func (c Config) withDefaults() Config {
	orDefault := func(d *time.Duration, usual time.Duration) {
		if *d <= 0 {
			*d = usual
		}
	}
	orDefault(&c.MaxStale, time.Second)
	orDefault(&c.Poll, 250*time.Millisecond)
	orDefault(&c.ConfirmTimeout, 500*time.Millisecond)
	orDefault(&c.CallTimeout, time.Second)
	orDefault(&c.LoadTimeout, 10*time.Second)
	if c.MaxEngines <= 0 {
		c.MaxEngines = 512
	}
	if c.Now == nil {
		c.Now = time.Now
	}
	if c.Log == nil {
		c.Log = slog.New(slog.DiscardHandler)
	}
	return c
}

// Catalogue is a live, bounded view of a spec store. Make one with [Open] and
// keep it level with [Catalogue.Run]. It is safe for concurrent use.
type Catalogue struct {
	store store.SpecStore
	cfg   Config
	index *index

	sheets  *cache[*spec.Revision] // by digest
	engines *cache[*gauge.Engine]  // by digest
	slots   chan struct{}          // one taken for each engine being made

	life  context.Context // ends with Close
	end   context.CancelFunc
	work  sync.WaitGroup // goroutines of its own, and Run
	mu    sync.Mutex     // guards what follows, and adding to work
	shut  bool
	under *flight // asking the store for changes now, nil when nobody is
	// lately is how the last asking failed, nil when it did not, and failed when.
	lately error
	failed time.Time
}

// Open makes a catalogue of everything that is in the store by now. ctx bounds
// the opening alone. Opening fails when the store cannot be read, but not for
// one revision whose content is corrupt: that one cannot be used then, see
// [UnfitError].
//
// The store must stay open until the catalogue is closed, which does not close
// it. A catalogue that nobody runs asks the store whenever it is older than
// [Config].MaxStale.
func Open(ctx context.Context, s store.SpecStore, cfg Config) (*Catalogue, error) {
	cfg = cfg.withDefaults()
	life, end := context.WithCancel(context.Background())
	c := &Catalogue{
		store: s, cfg: cfg, index: newIndex(),
		sheets: newCache[*spec.Revision](cfg.MaxEngines), engines: newCache[*gauge.Engine](cfg.MaxEngines),
		slots: make(chan struct{}, runtime.GOMAXPROCS(0)),
		life:  life, end: end,
	}
	if err := c.catchUp(ctx); err != nil {
		end()
		if ctx.Err() != nil {
			return nil, ctx.Err()
		}
		return nil, fmt.Errorf("open the catalogue of specs: %w", err)
	}
	return c, nil
}

// Close ends [Catalogue.Run] and every [Catalogue.Watch], and returns when no
// goroutine of the catalogue is left. What would wait for the store, or for an
// engine to be made, fails with [ErrClosed] from then on. It may be called more
// than once.
func (c *Catalogue) Close() {
	c.mu.Lock()
	c.shut = true
	c.mu.Unlock()
	c.end()
	c.work.Wait()
}

// spawn runs f in a goroutine that Close waits for, or returns [ErrClosed].
func (c *Catalogue) spawn(f func()) error {
	c.mu.Lock()
	defer c.mu.Unlock()
	if c.shut {
		return ErrClosed
	}
	c.work.Go(f)
	return nil
}

// age is how long ago a time of the clock was: by its monotonic reading, which
// stands still while the machine sleeps, or by the wall clock, which may be set
// back, whichever says more.
func (c *Catalogue) age(t time.Time) time.Duration {
	now := c.cfg.Now()
	return max(0, now.Sub(t), now.Round(0).Sub(t.Round(0)))
}

// Stats tells how a catalogue is doing.
type Stats struct {
	// Position is that of the last change applied.
	Position int64
	// Age is how long ago the catalogue was known to be level with the store.
	Age time.Duration
	// Specs is the number of specs.
	Specs int
	// Engines is the number of engines kept.
	Engines int
}

// Stats returns figures of about one moment.
func (c *Catalogue) Stats() Stats {
	c.index.mu.RLock()
	s := Stats{Position: c.index.position, Specs: len(c.index.specs)}
	confirmed := c.index.confirmed
	c.index.mu.RUnlock()
	s.Age = c.age(confirmed)
	s.Engines = c.engines.len()
	return s
}
