package store

import "fmt"

// MaxLimit is the greatest number of setups in one page.
const MaxLimit = 1000

// Query asks for one page of setups.
type Query struct {
	// Filter chooses the setups; nil chooses all.
	Filter Expr
	// After is the cursor that the page before came with. Zero means the first
	// page. It must come from a query with the same filter; [DecodeToken]
	// sees to that for cursors that travel.
	After Cursor
	// Limit is the greatest number of setups to return: 1 or more. A limit
	// above [MaxLimit] is read as MaxLimit.
	Limit int
	// Basic leaves readings and instruments out of the records.
	Basic bool
}

// Check returns an error that wraps [ErrInvalidQuery] and says what is wrong
// when the limit is below 1 or [CheckExpr] refuses the filter.
func (q Query) Check() error {
	if q.Limit < 1 {
		return fmt.Errorf("%w: limit: got %d, wanted 1 or more", ErrInvalidQuery, q.Limit)
	}
	return CheckExpr(q.Filter)
}

// PageSize is Limit brought down to [MaxLimit].
func (q Query) PageSize() int { return min(q.Limit, MaxLimit) }
