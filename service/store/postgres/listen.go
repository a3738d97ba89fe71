package postgres

import (
	"context"
	"math/rand/v2"
	"sync"
	"time"

	"github.com/jackc/pgx/v5"

	"github.com/snapgauge/snapgauge/service/store/internal/wake"
)

// channel is what changes of specs are told on.
const channel = "snapgauge_specs"

const (
	// quietTime is how long nothing may come before the connection is tested.
	quietTime = 10 * time.Second
	// testTime is how long that test may take.
	testTime = 5 * time.Second
	// Waits between attempts to connect, doubling from one to the other.
	minReconnect = 20 * time.Millisecond
	maxReconnect = 2 * time.Second
)

// listener owns one connection, which listens, and wakes a hub whenever there may
// be something new: when it is told so, and when it has connected, because what
// was told before is lost.
type listener struct {
	cfg *pgx.ConnConfig
	hub *wake.Hub

	ctx    context.Context // ends with close
	cancel context.CancelFunc
	once   sync.Once
	done   chan struct{} // closed when the goroutine has ended
}

func newListener(cfg *pgx.ConnConfig, hub *wake.Hub) *listener {
	cfg = cfg.Copy()
	cfg.RuntimeParams["application_name"] += " listen"
	ctx, cancel := context.WithCancel(context.Background())
	return &listener{cfg: cfg, hub: hub, ctx: ctx, cancel: cancel, done: make(chan struct{})}
}

// start starts the goroutine, the first time.
func (l *listener) start() { l.once.Do(func() { go l.run() }) }

// close ends the goroutine, if it was started, and waits for it.
func (l *listener) close() {
	l.cancel()
	l.once.Do(func() { close(l.done) })
	<-l.done
}

func (l *listener) run() {
	defer close(l.done)
	for wait := minReconnect; ; wait = min(2*wait, maxReconnect) {
		// Why it ended does not matter: a server that is away for good shows
		// in every other call.
		if connected, _ := l.listen(); connected {
			wait = minReconnect
		}
		select {
		case <-l.ctx.Done():
			return
		case <-time.After(wait/2 + rand.N(wait/2)): // replicas apart from each other
		}
	}
}

// listen connects and wakes the hub until the connection breaks or l closes.
func (l *listener) listen() (connected bool, err error) {
	conn, err := pgx.ConnectConfig(l.ctx, l.cfg)
	if err != nil {
		return false, err
	}
	defer func() {
		ctx, cancel := context.WithTimeout(context.Background(), time.Second)
		defer cancel()
		_ = conn.Close(ctx) // the server will find out
	}()
	if _, err := conn.Exec(l.ctx, "LISTEN "+channel); err != nil {
		return false, err
	}
	for {
		l.hub.Wake()
		if err := l.wait(conn); err != nil {
			return true, err
		}
	}
}

// wait returns when there was a notification. Where none comes for long it sees
// that the connection is still good: one whose other end has vanished is silent
// as well.
func (l *listener) wait(conn *pgx.Conn) error {
	for {
		ctx, cancel := context.WithTimeout(l.ctx, quietTime)
		_, err := conn.WaitForNotification(ctx)
		quiet := ctx.Err() != nil
		cancel()
		if err == nil || !quiet || l.ctx.Err() != nil {
			return err
		}
		ctx, cancel = context.WithTimeout(l.ctx, testTime)
		err = conn.Ping(ctx)
		cancel()
		if err != nil {
			return err
		}
	}
}
