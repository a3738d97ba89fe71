package catalogue

import (
	"errors"
	"fmt"
	"strings"
	"time"

	"github.com/snapgauge/snapgauge/service/spec"
	"github.com/snapgauge/snapgauge/service/vin"
)

// ErrClosed says that the catalogue has been closed.
var ErrClosed = errors.New("catalogue is closed")

// StaleError says that the catalogue cannot vouch for its answer: it was last
// known to be level with the store too long ago, and asking the store did not
// help. It is a fault of the service that passes: the caller may try again.
type StaleError struct {
	// Age is how long ago the catalogue was last confirmed, Max how long ago
	// that may be; nought where it had to be level at the time of the call, as
	// for publishing.
	Age, Max time.Duration
	// Err is why it could not be confirmed now.
	Err error
}

func (e *StaleError) Error() string {
	if e.Max == 0 {
		return fmt.Sprintf("the specs in use cannot be brought up to date now: %v", e.Err)
	}
	return fmt.Sprintf("the specs in use were last known to be current %v ago, wanted at most %v: %v",
		e.Age.Round(time.Millisecond), e.Max, e.Err)
}

// Unwrap returns Err, which may be an error of a context that was not the
// caller's.
func (e *StaleError) Unwrap() error { return e.Err }

// BehindError says that a change is durable in the store but this catalogue does
// not answer by it yet. Doing the same again is harmless and settles it.
type BehindError struct {
	// Position is that of the change.
	Position int64
	// Err is why it could not be applied.
	Err error
}

func (e *BehindError) Error() string {
	return fmt.Sprintf("stored as change %d, but not in use here yet: %v", e.Position, e.Err)
}

// Unwrap returns Err, which may be an error of a context that was not the
// caller's.
func (e *BehindError) Unwrap() error { return e.Err }

// DivergedError says that the changes of the store are no longer those that were
// applied: it was put back to an earlier state, or breaks its own order. Nothing
// the catalogue holds can be relied on; only opening another one helps.
type DivergedError struct {
	// Position is the first at which it shows.
	Position int64
	// Message says what is wrong.
	Message string
}

func (e *DivergedError) Error() string {
	return fmt.Sprintf("the store's changes are not those that were applied: position %d: %s", e.Position, e.Message)
}

// NotInForceError says that a spec has no revision in force at the time asked
// about for another reason than that all begin later: it was withdrawn, or not
// recorded yet. It unwraps to a *[spec.NotInForceError].
type NotInForceError struct {
	spec.NotInForceError
	// Known is the second time asked about; zero when everything counted.
	Known time.Time
	// Why is the reason in words: "revision 1 was withdrawn on 2026-05-02
	// (misprint)".
	Why string
}

func (e *NotInForceError) Error() string {
	return fmt.Sprintf("spec %s has no revision in force on %s: %s", e.Spec, instant(e.AsOf), e.Why)
}

// Unwrap returns the *[spec.NotInForceError].
func (e *NotInForceError) Unwrap() error { return &e.NotInForceError }

// AmbiguousError says that several specs of a model cover one VIN, so that none
// can be chosen. The sheets are at fault, not the question.
type AmbiguousError struct {
	// What was asked for, in words: `model "Scree 200i" of 2026 in EU`.
	What string
	// VIN is the one that they cover.
	VIN vin.VIN
	// SpecIDs are theirs, sorted.
	SpecIDs []string
}

func (e *AmbiguousError) Error() string {
	return fmt.Sprintf("%d specs of %s cover the VIN %s: %s", len(e.SpecIDs), e.What, e.VIN, strings.Join(e.SpecIDs, ", "))
}

// UnfitError says that a stored revision cannot be used: it is corrupt, or this
// release refuses its sheet. Other revisions are not affected.
type UnfitError struct {
	// Name is the revision's, specs/{spec}/revisions/{revision}.
	Name string
	// Err is what is wrong.
	Err error
}

func (e *UnfitError) Error() string { return fmt.Sprintf("%s cannot be used: %v", e.Name, e.Err) }

// Unwrap returns Err.
func (e *UnfitError) Unwrap() error { return e.Err }

// LoadError says that the store did not give the sheet of a revision. It is a
// fault of the service that passes: the caller may try again.
type LoadError struct {
	// Name is the revision's, specs/{spec}/revisions/{revision}.
	Name string
	// Err is why.
	Err error
}

func (e *LoadError) Error() string { return fmt.Sprintf("load %s: %v", e.Name, e.Err) }

// Unwrap returns Err.
func (e *LoadError) Unwrap() error { return e.Err }

// SeedConflictError says that the store holds another content for a revision
// than the one to be seeded.
type SeedConflictError struct {
	// Name is the revision's, specs/{spec}/revisions/{revision}.
	Name string
	// Stored and Seed are the digests.
	Stored, Seed string
}

func (e *SeedConflictError) Error() string {
	return fmt.Sprintf("%s: the store holds it with SHA-256 %.12s, the one to be seeded has %.12s", e.Name, e.Stored, e.Seed)
}

// PositionError says that a position is one that the store has not reached: it
// is not from this store.
type PositionError struct {
	// Position is the one asked for, Head the last there is.
	Position, Head int64
}

func (e *PositionError) Error() string {
	return fmt.Sprintf("position %d is beyond the last change, %d", e.Position, e.Head)
}
