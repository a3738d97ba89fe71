package store

import (
	"errors"
	"fmt"
)

// The errors that belong to the domain. Stores wrap them with particulars, so
// ask with errors.Is.
var (
	// ErrNotFound says that no setup has that id, or that there is no such spec,
	// revision or draft.
	ErrNotFound = errors.New("not found")
	// ErrRequestReused says that the shop has used the request id for another
	// record.
	ErrRequestReused = errors.New("request id already used for another record")
	// ErrSupersedesMissing says that the record to be superseded is not stored
	// for this shop. Whether another shop has it is not told.
	ErrSupersedesMissing = errors.New("the setup to be superseded does not exist")
	// ErrAlreadySuperseded says that another record has superseded it before.
	ErrAlreadySuperseded = errors.New("the setup is superseded already")
	// ErrIDTaken says that the id belongs to another request. It speaks of a
	// faulty source of ids.
	ErrIDTaken = errors.New("setup id already taken")
	// ErrInvalidSetup says that a setup can not be stored as it is. It speaks
	// of a caller that has not checked the record's shape.
	ErrInvalidSetup = errors.New("invalid setup")
	// ErrInvalidQuery says that a query can not be answered as it is.
	ErrInvalidQuery = errors.New("invalid query")
	// ErrInvalidSpec says that a sheet, a draft or a withdrawal can not be stored
	// as it is. It speaks of a caller that has not checked it.
	ErrInvalidSpec = errors.New("invalid spec")
	// ErrSpecChanged says that the spec, or the draft, is no longer as the
	// caller saw it. The error in the chain is a *[SpecChangedError].
	ErrSpecChanged = errors.New("changed by somebody else")
	// ErrRevisionNumber says that a revision's number is not the next one.
	ErrRevisionNumber = errors.New("revision number is not the next one")
	// ErrEffectiveTime says that a revision would begin before the one that it
	// follows.
	ErrEffectiveTime = errors.New("effective time is before that of the revision before")
	// ErrCorrupt says that what is stored is not what was stored: its digest
	// or its head does not agree with it.
	ErrCorrupt = errors.New("stored content is corrupt")
	// ErrClosed says that the store has been closed.
	ErrClosed = errors.New("store is closed")
)

// SpecChangedError is [ErrSpecChanged] with what there is now.
type SpecChangedError struct {
	// SpecID is the spec.
	SpecID string
	// Draft says that it is about the draft, not about the revisions.
	Draft bool
	// Revision is the number of the newest revision, nought when there is none.
	// It is not set for drafts.
	Revision int
	// Etag is the current one, "" when there is nothing. Whoever passes it as
	// ifMatch says to have seen what it stands for.
	Etag string
}

// Error says what changed and what there is now.
func (e *SpecChangedError) Error() string {
	switch {
	case e.Draft && e.Etag == "":
		return fmt.Sprintf("draft of %s: %v: there is none", SpecName(e.SpecID), ErrSpecChanged)
	case e.Draft:
		return fmt.Sprintf("draft of %s: %v: its etag is %q", SpecName(e.SpecID), ErrSpecChanged, e.Etag)
	case e.Etag == "":
		return fmt.Sprintf("%s: %v: it has no revision", SpecName(e.SpecID), ErrSpecChanged)
	}
	return fmt.Sprintf("%s: %v: its newest revision is %d, with etag %q", SpecName(e.SpecID), ErrSpecChanged, e.Revision, e.Etag)
}

// Unwrap returns [ErrSpecChanged].
func (e *SpecChangedError) Unwrap() error { return ErrSpecChanged }
