package jobplan

import (
	"fmt"
	"math"
	"strings"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/phrase"
	"github.com/snapgauge/snapgauge/service/quantity"
)

// targetText says what to arrive at in one phrase. The figure is that of the
// characteristic, its target perhaps computed.
func targetText(c *pb.Characteristic, f figure, units quantity.System) string {
	switch kind := c.GetKind().(type) {
	case *pb.Characteristic_Choice:
		return phrase.Any(kind.Choice.GetAccepted())
	case *pb.Characteristic_Inspection:
		return kind.Inspection.GetCriterion()
	case *pb.Characteristic_Identifier:
		return "read off and written down"
	case *pb.Characteristic_Capacity:
		return fmt.Sprintf("%s of %s", aimAndLimits(f, units, ""), phrase.LowerFirst(kind.Capacity.GetFluid()))
	case *pb.Characteristic_Fastener:
		return strings.Join(append([]string{aimAndLimits(f, units, "")}, fastenerWords(kind.Fastener)...), ", ")
	case *pb.Characteristic_Adjuster:
		return aimAndLimits(f, units, fmt.Sprintf(" %s from %s", counted(kind.Adjuster), kind.Adjuster.GetReferencePosition()))
	}
	return aimAndLimits(f, units, "")
}

// aimAndLimits says the target and the limits, "4 mm (3 to 5 mm)", or what there
// is of them. Words for how a target is counted come after it.
func aimAndLimits(f figure, units quantity.System, how string) string {
	limits := f.Limits(units, f.lower, f.upper)
	switch {
	case math.IsNaN(f.target):
		return limits + how
	case limits == "" || f.lower == f.upper:
		return f.Value(units, f.target) + how
	}
	return fmt.Sprintf("%s%s (%s)", f.Value(units, f.target), how, limits)
}

func counted(a *pb.Adjuster) string {
	if a.GetCounted() == pb.TurnDirection_TURN_DIRECTION_IN {
		return "in"
	}
	return "out"
}

// fastenerWords says what the fastener is and how it is prepared: "M8x1.25",
// "hexagon 13 mm", "4 pieces".
func fastenerWords(fastener *pb.Fastener) []string {
	words := []string{fastener.GetThread()}
	if drive := fastener.GetDrive(); drive != pb.Drive_DRIVE_UNSPECIFIED || fastener.GetDriveSizeMm() > 0 {
		word := phrase.Drive(drive)
		if size := fastener.GetDriveSizeMm(); size > 0 {
			// A spanner is called by its millimetres everywhere.
			word += " " + quantity.Format(size, millimetre, 3)
		}
		words = append(words, word)
	}
	if n := fastener.GetPieces(); n > 1 {
		words = append(words, fmt.Sprintf("%d pieces", n))
	}
	if locking := phrase.Locking(fastener.GetLocking()); locking != "" {
		words = append(words, "with "+locking)
	}
	if lubrication := phrase.Lubrication(fastener.GetLubrication()); lubrication != "" {
		words = append(words, lubrication)
	}
	if fastener.GetRenew() {
		words = append(words, "renewed")
	}
	return words
}
