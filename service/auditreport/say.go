package auditreport

import (
	"cmp"
	"fmt"
	"math"
	"strconv"
	"strings"

	"google.golang.org/protobuf/types/known/timestamppb"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/phrase"
	"github.com/snapgauge/snapgauge/service/quantity"
)

// none stands where there is no figure.
const none = "–"

// space does not break, so that a figure stays with its unit.
const space = "\u00a0"

func finite(v float64) bool { return !math.IsNaN(v) && !math.IsInf(v, 0) }

// typeset keeps a figure together, and sets signs of order apart from it.
var typeset = strings.NewReplacer(" ", space, "<", "<"+space, ">", ">"+space)

// count writes a whole number in groups of three: "12,480".
func count(n int64) string { return phrase.Grouped(n) }

// counted is a number with its noun: "1 record", "12,480 records". The plural
// has an s.
func counted(n int64, noun string) string {
	return strings.Replace(phrase.Many(n, noun), " ", space, 1)
}

// isShare reports whether a number can be a share. What can not is neither
// written nor drawn.
func isShare(v float64) bool { return v >= 0 && v <= 1 }

// percent writes a share to a tenth of a percent.
func percent(share float64) string {
	if !isShare(share) {
		return none
	}
	return typeset.Replace(phrase.Percent(share))
}

// wholePercent is [percent] without tenths, for cells that are narrow.
func wholePercent(share float64) string {
	switch {
	case share > 0 && share < 0.005:
		return "<" + space + "1" + space + "%"
	case share > 0.995 && share < 1:
		return ">" + space + "99" + space + "%"
	}
	return strconv.FormatFloat(math.Round(share*100), 'f', 0, 64) + space + "%"
}

// part is a over b, and nought where there is no b.
func part(a, b int64) float64 {
	if b <= 0 {
		return 0
	}
	return float64(a) / float64(b)
}

// probability writes a p-value or q-value as it is read.
func probability(v float64) string { return cmp.Or(typeset.Replace(phrase.Probability(v)), none) }

// probabilityIs is [probability] in a sentence: "q < 0.001", "q = 0.012".
func probabilityIs(name string, v float64) string {
	said := probability(v)
	if said == none || strings.HasPrefix(said, "<") {
		return name + space + said
	}
	return name + space + "=" + space + said
}

// plain writes a number that has no unit to so many significant digits.
func plain(v float64, digits int) string {
	if !finite(v) {
		return none
	}
	return quantity.Format(v, quantity.Unit{}, digits)
}

// bounds is the interval of an estimate, without an end that would be [none].
func bounds(e *pb.AuditEstimate, say func(float64) string) string {
	return phrase.Interval(e, func(v float64) string { return strings.TrimSuffix(say(v), none) })
}

// estimated is an estimate with its interval in brackets.
func estimated(e *pb.AuditEstimate, say func(float64) string) string {
	if e == nil || !finite(e.GetValue()) {
		return none
	}
	if b := bounds(e, say); b != "" {
		return say(e.GetValue()) + " (" + b + ")"
	}
	return say(e.GetValue())
}

func threeDigits(v float64) string { return plain(v, 3) }

// twoDecimals is how capabilities are read.
func twoDecimals(v float64) string { return fixed(v, 2) }

// instant writes a time in UTC, to the minute.
func instant(t *timestamppb.Timestamp) string {
	if t == nil || !t.IsValid() {
		return none
	}
	return t.AsTime().UTC().Format("2006-01-02 15:04") + space + "UTC"
}

var signs = map[pb.AuditSign]string{
	pb.AuditSign_AUDIT_SIGN_REPEATED_READINGS:      "readings repeated from an earlier record",
	pb.AuditSign_AUDIT_SIGN_FASTER_THAN_LEAST_TIME: "work faster than the least time",
	pb.AuditSign_AUDIT_SIGN_TIMES_OUT_OF_ORDER:     "times out of order",
	pb.AuditSign_AUDIT_SIGN_INSTRUMENT_ELSEWHERE:   "instrument in use elsewhere at the time",
	pb.AuditSign_AUDIT_SIGN_VIN_SEEN_BEFORE:        "VIN seen before",
	pb.AuditSign_AUDIT_SIGN_FINER_THAN_INSTRUMENT:  "values finer than the instrument shows",
	pb.AuditSign_AUDIT_SIGN_DIGIT_PREFERENCE:       "last digits unlike those of others",
	pb.AuditSign_AUDIT_SIGN_PILED_AT_NOMINAL:       "readings piled at the nominal value",
	pb.AuditSign_AUDIT_SIGN_PILED_AT_LIMIT:         "readings piled at a limit",
	pb.AuditSign_AUDIT_SIGN_DRIFT:                  "drift with time",
}

// signWords says a sign inside a sentence.
func signWords(s pb.AuditSign) string {
	if said, ok := signs[s]; ok {
		return said
	}
	return phrase.Words(s)
}

// phaseWords says a phase that is named as in the contract, in either case, as
// people do. Another name stays as it is.
func phaseWords(name string) string {
	key := strings.ToUpper(strings.ReplaceAll(strings.ReplaceAll(name, "-", "_"), " ", "_"))
	for _, k := range []string{key, "PHASE_" + key} {
		if v, ok := pb.Phase_value[k]; ok && v != 0 {
			return phrase.Phase(pb.Phase(v))
		}
	}
	return name
}

// identifierWords makes words of an identifier: "oil tank fill".
func identifierWords(id string) string { return strings.ReplaceAll(id, "_", " ") }

// reasonWords makes words of a stable reason: "no revision in force".
func reasonWords(reason string) string {
	return strings.ToLower(strings.ReplaceAll(reason, "_", " "))
}

// revisionWords says a revision's resource name: "revision 4 of
// varnholt-scree-200i-2026-eu".
func revisionWords(name string) string {
	rest, ok := strings.CutPrefix(name, "specs/")
	if spec, number, found := strings.Cut(rest, "/revisions/"); ok && found {
		return fmt.Sprintf("revision %s of %s", number, spec)
	}
	return name
}

// revisionNumber is [revisionWords] beside the spec's name: "revision 4".
func revisionNumber(name string) string {
	if words, _, ok := strings.Cut(revisionWords(name), " of "); ok && words != name {
		return words
	}
	return name
}

// nameOr is a name, or what stands for one that is empty.
func nameOr(name, other string) string {
	if strings.TrimSpace(name) == "" {
		return other
	}
	return name
}
