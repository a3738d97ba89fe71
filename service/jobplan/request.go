package jobplan

import (
	"fmt"
	"strings"
	"time"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/phrase"
	"github.com/snapgauge/snapgauge/service/quantity"
	"github.com/snapgauge/snapgauge/service/spec"
	"github.com/snapgauge/snapgauge/service/vin"
)

// Request says what a plan is wanted for.
type Request struct {
	// Phase is the occasion. Not stated means pre-delivery.
	Phase pb.Phase
	// Options are those fitted, in any order.
	Options []string
	// VIN decides which bulletins hold. With an empty one only those for every
	// machine do.
	VIN vin.VIN
	// Rider is who will ride the machine, or nil: then nothing is computed that
	// needs a rider.
	Rider *pb.Rider
	// Ambient is the air at the workshop and where the machine is ridden, or nil:
	// then nothing is computed that needs it.
	Ambient *pb.Ambient
	// Use is what the machine is for. Not stated means trail.
	Use pb.IntendedUse
	// AsOf is the instant asked about: bulletins that take effect later do not
	// hold. At the zero time none does.
	AsOf time.Time
	// Units are those of the texts.
	Units quantity.System
}

// RequestError says that a request does not fit the sheet. It tells everything
// that is wrong with it.
type RequestError struct {
	// Phase is set when there is no such phase.
	Phase pb.Phase
	// Unknown holds the options that the sheet does not have, sorted.
	Unknown []string
	// Known holds the options that it has, in sheet order, when some are unknown.
	Known []string
	// Conflicting holds the pairs that exclude each other, in sheet order.
	Conflicting []spec.Conflict
	// Missing holds what fitted options need and is not fitted, in sheet order.
	Missing []spec.Requirement
}

func (e *RequestError) Error() string {
	var faults []string
	if e.Phase != 0 {
		faults = append(faults, fmt.Sprintf("phase %d does not exist", e.Phase))
	}
	for _, id := range e.Unknown {
		faults = append(faults, fmt.Sprintf("the sheet has no option %q", id))
	}
	for _, c := range e.Conflicting {
		faults = append(faults, fmt.Sprintf("%s and %s exclude each other", c.Option, c.Excludes))
	}
	for _, m := range e.Missing {
		faults = append(faults, fmt.Sprintf("%s needs %s", m.Option, m.Requires))
	}
	text := strings.Join(faults, "; ")
	switch {
	case len(e.Unknown) == 0:
	case len(e.Known) == 0:
		text += " (it has none)"
	default:
		text += " (options are " + phrase.All(e.Known) + ")"
	}
	return text
}

// refusal returns what is wrong with a request, or nil.
func refusal(rev *spec.Revision, phase pb.Phase, resolved *spec.Resolved) *RequestError {
	e := &RequestError{
		Unknown:     resolved.Unknown,
		Conflicting: resolved.Conflicts,
		Missing:     resolved.Unmet,
	}
	if _, ok := pb.Phase_name[int32(phase)]; !ok {
		e.Phase = phase
	}
	if len(e.Unknown) > 0 {
		for _, option := range rev.Sheet().GetOptions() {
			e.Known = append(e.Known, option.GetId())
		}
	}
	if e.Phase == 0 && len(e.Unknown)+len(e.Conflicting)+len(e.Missing) == 0 {
		return nil
	}
	return e
}
