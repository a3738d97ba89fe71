package population

import "time"

// calendar counts the working days of a period. Nobody works on Sundays.
type calendar struct {
	monday int64 // midnight of the Monday of the first week
	offset int   // working days of that week before the period
	days   int
}

const (
	secondsOfDay  = 24 * 60 * 60
	secondsOfWeek = 7 * secondsOfDay
	workingDays   = 6 // of a week
)

func newCalendar(from, until time.Time) calendar {
	first := from.UTC().Truncate(24 * time.Hour)
	c := calendar{offset: (int(first.Weekday()) + 6) % 7} // days since Monday
	c.monday = first.AddDate(0, 0, -c.offset).Unix()
	for day := first; day.Before(until); day = day.AddDate(0, 0, 1) {
		if day.Weekday() != time.Sunday {
			c.days++
		}
	}
	c.days = max(c.days, 1)
	return c
}

// day gives the midnight at which the day begins on which the record of that index,
// of so many, is finished, and how far that day has gone, from 0 to 1.
func (c calendar) day(index, of int) (midnight int64, share float64) {
	at := float64(float64(index)*float64(c.days)) / float64(max(of, 1))
	n := int(at)
	day := c.offset + n
	return c.monday + int64(day/workingDays)*secondsOfWeek + int64(day%workingDays)*secondsOfDay, at - float64(n)
}
