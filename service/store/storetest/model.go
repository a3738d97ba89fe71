package storetest

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"sync"
	"time"

	"google.golang.org/protobuf/proto"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/store"
	"github.com/snapgauge/snapgauge/service/store/internal/wake"
)

// Model is a [store.DB] in memory: plain lists and one lock. It is as durable as
// its process. Make one with [NewModel].
type Model struct {
	data *modelData

	mu      sync.Mutex
	closed  bool
	watches []context.CancelFunc
}

type modelData struct {
	mu      sync.Mutex
	setups  []store.Setup         // in order of arrival
	specs   []store.PublishedSpec // in order of publishing
	changes []store.Change        // position n is element n-1
	drafts  map[string]store.Draft
	hub     wake.Hub
}

// NewModel returns an empty Model.
func NewModel() *Model { return &Model{data: &modelData{drafts: make(map[string]store.Draft)}} }

// Reopen returns a Model over the same data, open whether m is or not.
func (m *Model) Reopen() *Model { return &Model{data: m.data} }

// lock admits a call and returns how to end it.
func (m *Model) lock(ctx context.Context) (unlock func(), err error) {
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	if m.closed {
		return nil, store.ErrClosed
	}
	m.data.mu.Lock()
	return m.data.mu.Unlock, nil
}

// Submit implements [store.Store].
func (m *Model) Submit(ctx context.Context, s store.Setup) (store.Setup, bool, error) {
	unlock, err := m.lock(ctx)
	if err != nil {
		return store.Setup{}, false, err
	}
	defer unlock()
	if err := s.Check(); err != nil {
		return store.Setup{}, false, err
	}
	if _, err := proto.Marshal(s.Record); err != nil {
		return store.Setup{}, false, fmt.Errorf("%w: %v", store.ErrInvalidSetup, err)
	}
	if _, err := proto.Marshal(s.Report); err != nil {
		return store.Setup{}, false, fmt.Errorf("%w: %v", store.ErrInvalidSetup, err)
	}
	s = copyOf(s)
	s.Record.Expectation = nil
	s.CreateTime = s.CreateTime.Truncate(time.Microsecond).UTC()

	find := func(is func(store.Setup) bool) *store.Setup {
		if i := slices.IndexFunc(m.data.setups, is); i >= 0 {
			return &m.data.setups[i]
		}
		return nil
	}
	earlier := find(func(o store.Setup) bool { return o.Shop == s.Shop && o.RequestID == s.RequestID })
	if earlier != nil {
		if !proto.Equal(earlier.Record, s.Record) {
			return store.Setup{}, false, store.ErrRequestReused
		}
		return copyOf(*earlier), false, nil
	}
	var old *store.Setup
	if id := s.Supersedes(); id != "" {
		old = find(func(o store.Setup) bool { return o.ID == id && o.Shop == s.Shop })
		if old == nil {
			return store.Setup{}, false, store.ErrSupersedesMissing
		}
		if old.SupersededBy != "" {
			return store.Setup{}, false, store.ErrAlreadySuperseded
		}
	}
	if find(func(o store.Setup) bool { return o.ID == s.ID }) != nil {
		return store.Setup{}, false, store.ErrIDTaken
	}
	if old != nil {
		old.SupersededBy = s.ID
	}
	m.data.setups = append(m.data.setups, s)
	return copyOf(s), true, nil
}

// Get implements [store.Store].
func (m *Model) Get(ctx context.Context, id string) (store.Setup, error) {
	unlock, err := m.lock(ctx)
	if err != nil {
		return store.Setup{}, err
	}
	defer unlock()
	for _, s := range m.data.setups {
		if s.ID == id {
			return copyOf(s), nil
		}
	}
	return store.Setup{}, store.ErrNotFound
}

// List implements [store.Store].
func (m *Model) List(ctx context.Context, q store.Query) ([]store.Setup, store.Cursor, error) {
	unlock, err := m.lock(ctx)
	if err != nil {
		return nil, store.Cursor{}, err
	}
	defer unlock()
	if err := q.Check(); err != nil {
		return nil, store.Cursor{}, err
	}
	var page []store.Setup
	for _, s := range m.data.setups {
		if q.After.Precedes(s.CreateTime, s.ID) && store.Match(q.Filter, s) {
			page = append(page, s)
		}
	}
	slices.SortFunc(page, newestFirst)
	var next store.Cursor
	if size := q.PageSize(); len(page) > size {
		page = page[:size]
		next = store.CursorAfter(page[size-1].CreateTime, page[size-1].ID)
	}
	for i := range page {
		page[i] = copyOf(page[i])
		if q.Basic {
			basic(page[i].Record)
		}
	}
	return page, next, nil
}

// Ping implements [store.Store].
func (m *Model) Ping(ctx context.Context) error {
	unlock, err := m.lock(ctx)
	if err != nil {
		return err
	}
	unlock()
	return nil
}

// Close implements [store.Store]. The data stays for [Model.Reopen].
func (m *Model) Close() error {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.closed = true
	for _, cancel := range m.watches {
		cancel()
	}
	return nil
}

func copyOf(s store.Setup) store.Setup {
	s.Record, s.Report = proto.CloneOf(s.Record), proto.CloneOf(s.Report)
	return s
}

func basic(r *pb.SetupRecord) { r.Instruments, r.Readings = nil, nil }

// newestFirst is the order of lists.
func newestFirst(a, b store.Setup) int {
	if c := b.CreateTime.Compare(a.CreateTime); c != 0 {
		return c
	}
	return strings.Compare(b.ID, a.ID)
}
