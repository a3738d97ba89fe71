package store

import (
	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/phrase"
)

// PhaseName is the short name of a phase, as filters write it: "PRE_DELIVERY".
// A number without a name is its decimal digits.
func PhaseName(p pb.Phase) string { return phrase.Name(p) }

// VerdictName is the short name of a verdict, as filters write it: "REJECT". A
// number without a name is its decimal digits.
func VerdictName(v pb.Verdict) string { return phrase.Name(v) }
