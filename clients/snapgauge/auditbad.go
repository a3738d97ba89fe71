package main

import (
	"cmp"

	"github.com/snapgauge/snapgauge/clients/snapgauge/internal/layout"
	"github.com/snapgauge/snapgauge/clients/snapgauge/internal/render"
	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
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
		b.say("snapgauge: " + render.Many(more, "more record") + " could not be judged")
	}
}
