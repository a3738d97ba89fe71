package columns

import (
	"errors"
	"fmt"
	"strings"
	"time"

	"github.com/snapgauge/snapgauge/service/phrase"
)

// timeLayout reads times as one export writes them.
type timeLayout struct {
	pattern string // as the map has it; empty for ISO 8601
	layouts []string
	offset  bool // whether every one of them has an offset
}

// iso are the forms that need no layout: RFC 3339, and what spreadsheets and
// databases make of it.
var iso = timeLayout{layouts: []string{
	time.RFC3339,
	"2006-01-02T15:04Z07:00", "2006-01-02 15:04:05Z07:00", "2006-01-02 15:04Z07:00",
	"2006-01-02T15:04:05", "2006-01-02T15:04", "2006-01-02 15:04:05", "2006-01-02 15:04",
	time.DateOnly,
}}

// The letters of a pattern, the longer before those that they begin with. Days,
// months and hours may leave out a leading nought.
var letters = []struct{ pattern, layout string }{
	{"YYYY", "2006"}, {"YY", "06"}, {"MMM", "Jan"}, {"MM", "1"}, {"DD", "2"}, {"hh", "15"}, {"mm", "4"}, {"ss", "5"},
	{"AM", "PM"}, {"Z", "Z07:00"},
}

const layoutHelp = "want one such as DD.MM.YYYY hh:mm or MM/DD/YYYY hh:mm AM, of YYYY, YY, MM, MMM (Jan), DD, hh, mm, ss, AM, " +
	"Z (an offset) and signs between them"

// newTimeLayout reads a pattern.
func newTimeLayout(pattern string) (timeLayout, error) {
	l := timeLayout{pattern: pattern}
	var b strings.Builder
	seen := make(map[string]bool)
	for rest := pattern; rest != ""; {
		found := false
		for _, letter := range letters {
			if after, ok := strings.CutPrefix(rest, letter.pattern); ok {
				if seen[letter.pattern] {
					return l, fmt.Errorf("got %s twice, %s", letter.pattern, layoutHelp)
				}
				seen[letter.pattern] = true
				b.WriteString(letter.layout)
				rest, found = after, true
				break
			}
		}
		if found {
			continue
		}
		if !strings.ContainsRune(" .,:/-T", rune(rest[0])) {
			return l, fmt.Errorf("got %q, %s", pattern, layoutHelp)
		}
		b.WriteByte(rest[0])
		rest = rest[1:]
	}
	if !(seen["YYYY"] || seen["YY"]) || !(seen["MM"] || seen["MMM"]) || !seen["DD"] {
		return l, fmt.Errorf("got %q, which has no day, month or year; %s", pattern, layoutHelp)
	}
	text := b.String()
	if seen["AM"] {
		text = strings.Replace(text, "15", "3", 1)
	}
	l.layouts, l.offset = []string{text}, seen["Z"]
	return l, nil
}

// parse reads a time. Where it has no offset, it is one in the zone, which may be
// nil. The problem says what is wrong with it, or is empty.
func (l timeLayout) parse(text string, zone *time.Location) (t time.Time, problem string) {
	never := false // it has the right form, and is in no calendar or on no clock
	for _, one := range l.layouts {
		t, err := time.Parse(one, text)
		if err != nil {
			bad := (*time.ParseError)(nil)
			never = never || errors.As(err, &bad) && strings.HasSuffix(bad.Message, "out of range")
			continue
		}
		if strings.HasSuffix(one, "Z07:00") {
			return t, ""
		}
		return inZone(t, zone)
	}
	switch {
	case never && l.pattern != "": // or day and month stand the other way round
		return t, fmt.Sprintf("got %q, and there is no such day or hour in the form %s", phrase.Clip(text), l.pattern)
	case never:
		return t, fmt.Sprintf("got %q, and there is no such day or hour", phrase.Clip(text))
	case l.pattern != "":
		return t, fmt.Sprintf("got %q, want a time in the form %s", phrase.Clip(text), l.pattern)
	}
	return t, fmt.Sprintf("got %q, want a time such as 2026-03-01T09:20:00Z or 2026-03-01 09:20", phrase.Clip(text))
}

// inZone takes what a clock showed for a time in the zone. In the hour that comes
// twice when clocks are put back it is the earlier; the one that is left out in
// spring is no time.
func inZone(shown time.Time, zone *time.Location) (t time.Time, problem string) {
	if zone == nil {
		return t, fmt.Sprintf("got %s, which has no offset; the column map needs a time_zone", shown.Format("2006-01-02 15:04:05"))
	}
	same := func(t time.Time) bool {
		return t.Hour() == shown.Hour() && t.Minute() == shown.Minute() && t.Day() == shown.Day()
	}
	t = time.Date(shown.Year(), shown.Month(), shown.Day(), shown.Hour(), shown.Minute(), shown.Second(), shown.Nanosecond(), zone)
	if !same(t) {
		return t, fmt.Sprintf("got %s, which the clocks of %s left out", shown.Format("2006-01-02 15:04:05"), zone)
	}
	if earlier := t.Add(-time.Hour); same(earlier) {
		return earlier, ""
	}
	return t, ""
}
