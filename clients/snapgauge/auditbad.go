package main

import (
	"cmp"
	"regexp"
	"strings"

	"github.com/snapgauge/snapgauge/clients/snapgauge/internal/layout"
	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/phrase"
)

// mostBad records are told of as they come; the rest are often only more of the
// same, and counted.
const mostBad = 10

// badRecords tells of the records that could not be judged.
type badRecords struct {
	next int64 // index of the first that was not looked at
	told int64
	say  func(line string)
}

// tell tells of a result, where it has an error. A result that comes again, after
// the server was lost, is not told again.
func (b *badRecords) tell(place string, r *pb.AuditResult) {
	if r.GetIndex() < b.next {
		return
	}
	b.next = r.GetIndex() + 1
	if r.GetError() == nil || b.told == mostBad {
		return
	}
	b.told++
	b.say(place + ": " + layout.Clean(cmp.Or(r.GetError().GetMessage(), r.GetError().GetReason())))
}

// rest tells how many more there were.
func (b *badRecords) rest(all int64) {
	if more := all - b.told; more > 0 {
		b.say("snapgauge: " + phrase.Many(more, "more record") + " could not be judged")
	}
}

// misshapen is the message about a field that is not of the form that the
// contract wants.
var misshapen = regexp.MustCompile("^([^:]+): does not match regex pattern `.*`( \\(and \\d+ more\\))?$")

// plainly says an error in the words that snapgauge check has for it: forms by an
// example in place of a pattern, fields as they are in the record. The words of
// the server are not part of any contract; when they change, they stay.
func plainly(e *pb.AuditError) {
	if e == nil {
		return
	}
	e.Message = strings.TrimPrefix(e.GetMessage(), "record.")
	if m := misshapen.FindStringSubmatch(e.GetMessage()); m != nil {
		if shape := shapes[lastName(m[1])]; shape != "" {
			e.Message = m[1] + ": want " + shape + m[2]
		}
	}
}
