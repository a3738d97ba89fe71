package store

import (
	"context"
	"time"
)

// SpecStore keeps the revisions of spec sheets and their drafts. All methods are
// safe for concurrent use. When ctx ends, a method returns ctx.Err() soon after;
// a write may then be stored or not, and repeating it settles that. After Close,
// methods return [ErrClosed].
//
// Publishing and withdrawing are changes. They happen one after the other, over
// all specs and all processes on one database, and are numbered in that order:
// the first change has position 1, the next 2, with no gap. A change is visible
// to every call that begins after the one that made it returned, and whoever
// sees a change sees all with lower positions: no later commit fills a gap.
type SpecStore interface {
	// PublishSpec appends a revision and returns once it is durable. Nothing
	// published ever changes or disappears.
	//
	// Of p, Sheet and RecordedTime count; SpecID, Revision and Digest must be
	// those of the sheet where they are set, and everything else is read from
	// it. Checked in this order:
	//
	// What [PublishedSpec.Check] refuses is [ErrInvalidSpec].
	//
	// The same content (by digest) under the same spec is one revision: the
	// earlier one comes back as it is now, withdrawn or not, and created is
	// false. So publishing again after an error is safe, whatever ifMatch is.
	//
	// ifMatch is the etag of the spec's newest revision as the caller saw it,
	// "" for a spec that has none yet. If it is not the current one the error is
	// a *[SpecChangedError], and [ErrSpecChanged]. Of several callers with the
	// same etag and different content one wins.
	//
	// The number must be 1, or that of the newest revision and one, withdrawn
	// or not: [ErrRevisionNumber].
	//
	// The revision must not begin, in whole microseconds, before the newest
	// revision that has not been withdrawn: [ErrEffectiveTime]. So a revision
	// with a wrong date can be withdrawn and followed by one that begins
	// earlier.
	//
	// The stored recorded time is p's cut to whole microseconds, or that of the
	// change before where p's is earlier: recorded times never fall as positions
	// rise, even where clocks disagree. The returned value shares the sheet with
	// p: treat it as read-only from then on.
	PublishSpec(ctx context.Context, p PublishedSpec, ifMatch string) (stored PublishedSpec, created bool, err error)

	// WithdrawSpec marks a revision as withdrawn and returns once that is
	// durable. The revision stays readable, keeps its number and changes its
	// etag. at is when it was withdrawn, kept as recorded times are.
	//
	// A revision is withdrawn once: again, with whatever reason, nothing is
	// stored and the change of the first time comes back.
	//
	// A missing spec or revision is [ErrNotFound]. A reason that is empty, not
	// UTF-8 or longer than [MaxReason] and a time out of range are
	// [ErrInvalidSpec].
	WithdrawSpec(ctx context.Context, specID string, revision int, reason string, at time.Time) (Change, error)

	// Spec returns one revision with its sheet, or [ErrNotFound]. It sees every
	// change that was made before it was called. The sheet's digest is computed
	// again; when it is not the one that was published, or the sheet's head is
	// not that of the revision, the error is [ErrCorrupt].
	Spec(ctx context.Context, specID string, revision int) (PublishedSpec, error)

	// SpecHistory returns all revisions of a spec, newest first, withdrawn ones
	// too, each without its sheet; all of one moment. A spec without revisions
	// is [ErrNotFound].
	SpecHistory(ctx context.Context, specID string) ([]PublishedSpec, error)

	// SpecChanges returns the changes with positions above after, in their
	// order, at most limit of them; a limit above [MaxLimit] is read as
	// MaxLimit. The first has position after+1. None are no error: there is
	// nothing new. A negative position and a limit below 1 are
	// [ErrInvalidQuery].
	SpecChanges(ctx context.Context, after int64, limit int) ([]Change, error)

	// SpecHead returns the position of the last change, nought when there is
	// none.
	SpecHead(ctx context.Context) (int64, error)

	// WatchSpecHead returns a channel that is ready once at the beginning and
	// then whenever there may be new changes. Signals are not counted: several
	// changes may make one, and one may come for nothing. The channel is closed
	// when ctx ends or the store closes.
	//
	// It is best effort: a signal may be late or lost where another process
	// made the change (sqlite never sees those) or a connection broke. A
	// follower asks SpecChanges after every signal, and now and then without
	// one.
	WatchSpecHead(ctx context.Context) (<-chan struct{}, error)

	// SaveDraft keeps the draft of a spec, of which there is one at most, in
	// place of the one before, and returns it as it is stored. ifMatch is the
	// etag of the draft as the caller saw it, "" when there was none; else the
	// error is a *[SpecChangedError], and [ErrSpecChanged]. A draft whose sheet
	// is stored already is returned as it is, whatever ifMatch. What
	// [Draft.Check] refuses is [ErrInvalidSpec].
	//
	// Drafts are no changes: they have no position and wake nobody. Publishing
	// leaves the draft as it is.
	SaveDraft(ctx context.Context, d Draft, ifMatch string) (Draft, error)

	// GetDraft returns the draft of a spec, or [ErrNotFound]. A draft that is
	// not as it was stored is [ErrCorrupt].
	GetDraft(ctx context.Context, specID string) (Draft, error)

	// DeleteDraft removes the draft of a spec. Without one the error is
	// [ErrNotFound], with another than ifMatch says a *[SpecChangedError].
	DeleteDraft(ctx context.Context, specID, ifMatch string) error
}

// DB is a database that keeps set-ups and specs.
type DB interface {
	Store
	SpecStore
}
