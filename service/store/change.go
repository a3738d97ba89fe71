package store

import (
	"fmt"
	"time"
)

// Change is one step in the history of all specs.
type Change struct {
	// Position is its place in the one order of changes, from 1, without gaps.
	Position int64
	// Kind is what happened.
	Kind ChangeKind
	// SpecID and Revision name what it happened to.
	SpecID   string
	Revision int
	// Reason is that of a withdrawal, else "".
	Reason string
	// RecordedTime is when it happened, in UTC, in whole microseconds. It never
	// falls as positions rise.
	RecordedTime time.Time

	// Of the revision, see [PublishedSpec].
	Digest        string
	Make, Model   string
	ModelYear     int
	Market        string
	EffectiveTime time.Time
}

// ChangeKind is what can happen to a revision.
type ChangeKind int

// The kinds of changes. Each happens to a revision once at most.
const (
	Published ChangeKind = iota + 1
	Withdrawn
)

// String is the kind as databases keep it.
func (k ChangeKind) String() string {
	switch k {
	case Published:
		return "PUBLISHED"
	case Withdrawn:
		return "WITHDRAWN"
	}
	return fmt.Sprintf("ChangeKind(%d)", int(k))
}

// Name returns the resource name of the revision that changed.
func (c Change) Name() string { return RevisionName(c.SpecID, c.Revision) }

// CheckChanges returns an error that wraps [ErrInvalidQuery] when
// SpecChanges can not be asked so, and else the limit brought down to
// [MaxLimit]. It is for stores.
func CheckChanges(after int64, limit int) (size int, err error) {
	switch {
	case after < 0:
		return 0, fmt.Errorf("%w: position: got %d, wanted 0 or more", ErrInvalidQuery, after)
	case limit < 1:
		return 0, fmt.Errorf("%w: limit: got %d, wanted 1 or more", ErrInvalidQuery, limit)
	}
	return min(limit, MaxLimit), nil
}
