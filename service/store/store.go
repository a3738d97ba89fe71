package store

import "context"

// Store keeps set-ups. All methods are safe for concurrent use.
//
// When ctx ends, a method returns ctx.Err() soon after. After Close, methods
// return [ErrClosed].
type Store interface {
	// Submit keeps s and returns once it is durable: it then survives the end
	// of the process and a loss of power.
	//
	// When the shop has already submitted this request id, nothing is stored:
	// with the same record (its expectation aside) the setup stored then comes
	// back as it is now, and created is false, whatever else of s differs; with
	// another record the error is [ErrRequestReused].
	//
	// A record that supersedes another must name one that the same shop has
	// stored ([ErrSupersedesMissing]) and nobody has superseded
	// ([ErrAlreadySuperseded]). Repeated requests are recognised first, so that
	// submitting a correction again is no error.
	//
	// A setup that [Setup.Check] refuses is [ErrInvalidSetup], an ID that
	// another request has taken is [ErrIDTaken].
	//
	// The stored setup has its create time cut to whole microseconds, in UTC,
	// and its record has no expectation. It may share messages with s: treat
	// both as read-only from then on.
	//
	// When ctx ends while Submit waits, the error is ctx.Err() and the setup
	// may be stored or not. Submitting again settles it.
	Submit(ctx context.Context, s Setup) (stored Setup, created bool, err error)

	// Get returns the setup with that id, or [ErrNotFound]. It sees every
	// submit that returned before Get was called.
	Get(ctx context.Context, id string) (Setup, error)

	// List returns the setups that q asks for, newest first: by create time,
	// those of one microsecond by id, both descending. The cursor is where the
	// next page starts; it is zero when there is no next page.
	//
	// Paging is by position in that order, not by counting. A setup that was
	// stored before the first page was asked for appears exactly once,
	// whatever is stored meanwhile. One that is stored meanwhile appears once
	// when its place lies after the cursor, and not at all otherwise.
	//
	// A query that [Query.Check] refuses is [ErrInvalidQuery].
	List(ctx context.Context, q Query) ([]Setup, Cursor, error)

	// Ping returns nil when the store can answer.
	Ping(ctx context.Context) error

	// Close refuses new calls, lets those under way finish, and releases what
	// the store holds. A second Close does nothing and returns what the first
	// one did.
	Close() error
}
