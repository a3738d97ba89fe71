package store

import "time"

// Cursor is a position in the order of [Store.List]: right after one setup.
// Callers take it from one page and give it to the next; only stores look
// inside. The zero Cursor stands before the first setup as a start, and means
// that there is no more as an end.
type Cursor struct {
	micros int64
	id     string
}

// CursorAfter returns the position right after the setup with that create time
// and id. It is for stores.
func CursorAfter(createTime time.Time, id string) Cursor {
	return Cursor{micros: createTime.UnixMicro(), id: id}
}

// IsZero says whether c is the zero Cursor.
func (c Cursor) IsZero() bool { return c == Cursor{} }

// Position returns the create time, in microseconds since 1970 UTC, and the id
// of the setup that c stands after. It is for stores.
func (c Cursor) Position() (micros int64, id string) { return c.micros, c.id }

// Precedes says whether a setup with that create time and id comes after c in
// the order of [Store.List]. The zero Cursor precedes every setup.
func (c Cursor) Precedes(createTime time.Time, id string) bool {
	if c.IsZero() {
		return true
	}
	micros := createTime.UnixMicro()
	return micros < c.micros || micros == c.micros && id < c.id
}
