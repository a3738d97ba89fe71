package store

import "errors"

// The errors that belong to the domain. Stores wrap them with particulars, so
// ask with errors.Is.
var (
	// ErrNotFound says that no setup has that id.
	ErrNotFound = errors.New("no such setup")
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
	// ErrClosed says that the store has been closed.
	ErrClosed = errors.New("store is closed")
)
