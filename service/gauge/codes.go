package gauge

import pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"

// codeMeaning says what a finding code does to the verdict, and whether its
// severity is that of the paperwork or that of the characteristic it speaks of.
type codeMeaning struct {
	effect pb.Verdict
	record bool
}

// meanings has one entry for every code but UNSPECIFIED; a test holds it to the
// contract's list.
var meanings = map[pb.FindingCode]codeMeaning{
	pb.FindingCode_FINDING_CODE_BELOW_LOWER_LIMIT:     {effect: reject},
	pb.FindingCode_FINDING_CODE_ABOVE_UPPER_LIMIT:     {effect: reject},
	pb.FindingCode_FINDING_CODE_UNDECIDED:             {effect: refer},
	pb.FindingCode_FINDING_CODE_IMPOSSIBLE_VALUE:      {effect: reject, record: true},
	pb.FindingCode_FINDING_CODE_WRONG_COUNT:           {effect: reject},
	pb.FindingCode_FINDING_CODE_WRONG_CHOICE:          {effect: reject},
	pb.FindingCode_FINDING_CODE_INSPECTION_FAILED:     {effect: reject},
	pb.FindingCode_FINDING_CODE_WRONG_IDENTIFIER:      {effect: reject, record: true},
	pb.FindingCode_FINDING_CODE_FILL_ABOVE_SAFE_LEVEL: {effect: reject},

	pb.FindingCode_FINDING_CODE_ADJUSTER_PAST_MECHANICAL_RANGE: {effect: reject},
	pb.FindingCode_FINDING_CODE_ADJUSTER_PAST_PERMITTED_RANGE:  {effect: reject},
	pb.FindingCode_FINDING_CODE_ADJUSTER_PAST_FLUSH:            {effect: reject},
	pb.FindingCode_FINDING_CODE_ADJUSTER_OUT_OF_TRAVEL:         {effect: reject},

	pb.FindingCode_FINDING_CODE_FASTENER_WRONG_THREAD: {effect: reject},
	pb.FindingCode_FINDING_CODE_FASTENER_WRONG_CLASS:  {effect: reject},
	pb.FindingCode_FINDING_CODE_FASTENER_NOT_RENEWED:  {effect: reject},
	pb.FindingCode_FINDING_CODE_FASTENER_NOT_LOCKED:   {effect: reject},
	pb.FindingCode_FINDING_CODE_FASTENER_NOT_SHOWN:    {effect: incomplete, record: true},

	pb.FindingCode_FINDING_CODE_OUT_OF_ORDER:         {effect: reject},
	pb.FindingCode_FINDING_CODE_ORDER_NOT_SHOWN:      {effect: incomplete, record: true},
	pb.FindingCode_FINDING_CODE_PREREQUISITE_MISSING: {effect: incomplete},
	pb.FindingCode_FINDING_CODE_WRONG_CONDITION:      {effect: reject},
	pb.FindingCode_FINDING_CODE_CONDITION_NOT_STATED: {effect: incomplete, record: true},
	pb.FindingCode_FINDING_CODE_TIME_OUTSIDE_JOB:     {effect: reject, record: true},

	pb.FindingCode_FINDING_CODE_INSTRUMENT_OUT_OF_CALIBRATION: {effect: reject},
	pb.FindingCode_FINDING_CODE_INSTRUMENT_OUT_OF_RANGE:       {effect: refer},
	pb.FindingCode_FINDING_CODE_INSTRUMENT_TOO_COARSE:         {effect: refer},
	pb.FindingCode_FINDING_CODE_UNCERTAINTY_NOT_STATED:        {effect: incomplete, record: true},
	pb.FindingCode_FINDING_CODE_INSTRUMENT_NOT_LISTED:         {effect: incomplete, record: true},

	pb.FindingCode_FINDING_CODE_OPTION_UNKNOWN:  {effect: reject, record: true},
	pb.FindingCode_FINDING_CODE_OPTION_CONFLICT: {effect: reject, record: true},
	pb.FindingCode_FINDING_CODE_OPTION_REQUIRES: {effect: reject, record: true},

	pb.FindingCode_FINDING_CODE_VIN_MALFORMED:   {effect: reject, record: true},
	pb.FindingCode_FINDING_CODE_VIN_CHECK_DIGIT: {effect: reject, record: true},
	pb.FindingCode_FINDING_CODE_VIN_NOT_COVERED: {effect: reject, record: true},

	pb.FindingCode_FINDING_CODE_MISSING_READING:   {effect: incomplete},
	pb.FindingCode_FINDING_CODE_DUPLICATE_READING: {effect: reject, record: true},
	pb.FindingCode_FINDING_CODE_UNKNOWN_READING:   {effect: reject, record: true},
	pb.FindingCode_FINDING_CODE_NOT_APPLICABLE:    {effect: reject, record: true},

	pb.FindingCode_FINDING_CODE_RULE_BROKEN:      {effect: reject},
	pb.FindingCode_FINDING_CODE_RULE_NOT_DECIDED: {effect: incomplete},
}

const (
	reject     = pb.Verdict_VERDICT_REJECT
	incomplete = pb.Verdict_VERDICT_INCOMPLETE
	refer      = pb.Verdict_VERDICT_REFER
)

// verdictOf gives the verdict of a whole record: the first of REJECT,
// INCOMPLETE and REFER that any finding brings about, else ACCEPT.
func verdictOf(findings []*pb.Finding) pb.Verdict {
	verdict := pb.Verdict_VERDICT_ACCEPT
	rank := func(v pb.Verdict) int {
		switch v {
		case reject:
			return 3
		case incomplete:
			return 2
		case refer:
			return 1
		}
		return 0
	}
	for _, f := range findings {
		if rank(f.GetEffect()) > rank(verdict) {
			verdict = f.GetEffect()
		}
	}
	return verdict
}
