package recordjson

import (
	"strings"
	"time"

	"google.golang.org/protobuf/types/known/timestamppb"

	"github.com/snapgauge/snapgauge/service/phrase"
)

type stamp = timestamppb.Timestamp

func (d *decoder) time(to **stamp) bool {
	if d.null() {
		return true
	}
	start := d.at
	const want = "a time such as 2026-03-01T09:20:00Z or 2026-03-01T10:20:00+01:00"
	if d.peek() != '"' {
		return d.unwanted(want)
	}
	s, ok := d.quoted()
	if !ok {
		return false
	}
	seconds, nanos, ok := usual(s)
	if !ok {
		if seconds, nanos, ok = unusual(s); !ok {
			return d.fail(start, "got %q, want %s", phrase.Clip(s), want)
		}
	}
	t := d.timestamps.next()
	t.Seconds, t.Nanos = seconds, nanos
	*to = t
	return true
}

// usual reads 2026-03-01T09:20:00Z, with or without decimals of a second: the
// form that nearly all have, for which the general parser is slow.
func usual(s string) (seconds int64, nanos int32, ok bool) {
	const form = "2026-03-01T09:20:00Z"
	if len(s) < len(form) || s[4] != '-' || s[7] != '-' || s[10] != 'T' || s[13] != ':' || s[16] != ':' || s[len(s)-1] != 'Z' {
		return 0, 0, false
	}
	year, month, day := digits(s[:4]), digits(s[5:7]), digits(s[8:10])
	hour, minute, second := digits(s[11:13]), digits(s[14:16]), digits(s[17:19])
	if year < 1 || month < 1 || month > 12 || day < 1 || day > daysIn(year, month) ||
		hour < 0 || hour > 23 || minute < 0 || minute > 59 || second < 0 || second > 59 {
		return 0, 0, false
	}
	if fraction := s[19 : len(s)-1]; fraction != "" {
		if fraction[0] != '.' || len(fraction) < 2 || len(fraction) > 10 {
			return 0, 0, false
		}
		n := digits(fraction[1:])
		if n < 0 {
			return 0, 0, false
		}
		for range 10 - len(fraction) {
			n *= 10
		}
		nanos = int32(n)
	}
	return int64(daysSinceEpoch(year, month, day))*86400 + int64(hour*3600+minute*60+second), nanos, true
}

// unusual reads any other form that the protobuf JSON format has.
func unusual(s string) (seconds int64, nanos int32, ok bool) {
	t, err := time.Parse(time.RFC3339Nano, s)
	if err != nil || strings.Contains(s, ",") {
		return 0, 0, false
	}
	// More than nine decimals would be cut off unsaid.
	if point, end := strings.LastIndexByte(s, '.'), strings.LastIndexAny(s, "Z-+"); point >= 0 && end-point > len(".999999999") {
		return 0, 0, false
	}
	stamp := timestamppb.New(t)
	return stamp.GetSeconds(), stamp.GetNanos(), stamp.CheckValid() == nil
}

// digits is the number that s is, or less than nought when it is none.
func digits(s string) int {
	n := 0
	for i := range len(s) {
		c := s[i] - '0'
		if c > 9 {
			return -1
		}
		n = n*10 + int(c)
	}
	return n
}

func daysIn(year, month int) int {
	switch month {
	case 4, 6, 9, 11:
		return 30
	case 2:
		if year%4 == 0 && (year%100 != 0 || year%400 == 0) {
			return 29
		}
		return 28
	}
	return 31
}

// daysSinceEpoch counts the days from 1970-01-01 on, of years from 1 on. The year
// begins in March here, so that the leap day is its last.
func daysSinceEpoch(year, month, day int) int {
	if month <= 2 {
		year--
		month += 12
	}
	const toEpoch = 719468 // days from the first of March of the year nought
	return 365*year + year/4 - year/100 + year/400 + (153*(month-3)+2)/5 + day - 1 - toEpoch
}
