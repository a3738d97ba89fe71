package render

import (
	"time"

	"google.golang.org/protobuf/types/known/timestamppb"
)

// Times are in UTC, as sheets are published by it. One that is not given is
// empty.

// day is a date.
func day(t *timestamppb.Timestamp) string { return stamp(t, time.DateOnly) }

// minute is a date and the time of day.
func minute(t *timestamppb.Timestamp) string { return stamp(t, "2006-01-02 15:04Z") }

// instant is a date where it is the beginning of one, as for most revisions, else
// also the time of day.
func instant(t *timestamppb.Timestamp) string {
	if t.IsValid() && t.AsTime().Equal(t.AsTime().Truncate(24*time.Hour)) {
		return day(t)
	}
	return minute(t)
}

func stamp(t *timestamppb.Timestamp, format string) string {
	if t == nil || !t.IsValid() {
		return ""
	}
	return t.AsTime().UTC().Format(format)
}
