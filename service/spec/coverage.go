package spec

import (
	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/vin"
)

// SerialLength is that of the serials that a coverage bounds: positions 12 to 17
// of the VIN, also for small makers, whose own serial number is only the last
// three of them.
const SerialLength = 6

// Coverage is a compiled [pb.VinCoverage]. It must not be modified.
type Coverage struct {
	// Patterns of which one must match.
	Patterns []vin.Pattern
	// Serials that are covered.
	Serials vin.SerialRange
}

// CompileCoverage compiles a coverage. A pattern that [Lint] would refuse covers
// nothing.
func CompileCoverage(c *pb.VinCoverage) Coverage {
	compiled := Coverage{Serials: vin.SerialRange{From: c.GetSerialFrom(), To: c.GetSerialTo()}}
	for _, text := range c.GetPatterns() {
		if pattern, err := vin.CompilePattern(text); err == nil {
			compiled.Patterns = append(compiled.Patterns, pattern)
		}
	}
	return compiled
}

// Contains reports whether v is covered. It does not look at the check digit.
func (c Coverage) Contains(v vin.VIN) bool {
	for _, pattern := range c.Patterns {
		if pattern.Match(v) {
			return c.Serials.Contains(string(v[vin.Length-SerialLength:]))
		}
	}
	return false
}
