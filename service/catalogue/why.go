package catalogue

import (
	"fmt"
	"strings"
	"time"
	"unicode/utf8"
)

// maxReasonShown is how much of the reason of a withdrawal is quoted, in bytes.
const maxReasonShown = 200

// chosen says what was chosen and why: what it is, what would have been chosen
// but was withdrawn or not known, what comes next, and what else there is to
// say.
func chosen(s *history, h *Head, asOf, known time.Time, note string) Choice {
	var why strings.Builder
	fmt.Fprintf(&why, "revision %d of %s, in force from %s", h.Revision, s.id, instant(h.EffectiveTime))
	var withdrawn, unknown, next *Head
	for _, later := range s.heads[h.Revision:] {
		switch {
		case !later.recordedBy(known):
			if unknown == nil {
				unknown = later
			}
		case later.withdrawnBy(known):
			if later.begun(asOf) {
				withdrawn = later
			}
		case next == nil:
			next = later
		}
	}
	add := func(clause string) {
		why.WriteString("; ")
		why.WriteString(clause)
	}
	if withdrawn != nil {
		add(withdrawal(withdrawn))
	}
	if next != nil {
		add(fmt.Sprintf("revision %d begins %s", next.Revision, instant(next.EffectiveTime)))
	}
	if unknown != nil {
		add(lateness(unknown))
	}
	if note != "" {
		add(note)
	}
	return Choice{SpecID: s.id, Revision: h.Revision, Digest: h.Digest, Why: why.String()}
}

func withdrawal(h *Head) string {
	reason := h.WithdrawReason
	if len(reason) > maxReasonShown {
		end := maxReasonShown
		for !utf8.RuneStart(reason[end]) {
			end--
		}
		reason = reason[:end] + "…"
	}
	return fmt.Sprintf("revision %d was withdrawn on %s (%s)", h.Revision, instant(*h.Withdrawn), reason)
}

func lateness(h *Head) string {
	return fmt.Sprintf("revision %d was recorded only on %s", h.Revision, instant(h.RecordedTime))
}

// instant writes a time as a day in UTC where it is the beginning of one, else
// to the second.
func instant(t time.Time) string {
	t = t.UTC()
	switch {
	case t.IsZero():
		return "any day"
	case t.Equal(t.Truncate(24 * time.Hour)):
		return t.Format(time.DateOnly)
	}
	return t.Format(time.RFC3339)
}
