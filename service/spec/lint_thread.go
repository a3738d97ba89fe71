package spec

import (
	"slices"

	"github.com/snapgauge/snapgauge/service/workshop"
)

// finePitches holds the fine pitches of each diameter, both in millimetres.
//
// Source: ISO 261, table 2, up to M64, all columns; from memory.
var finePitches = map[float64][]float64{
	1: {0.2}, 1.1: {0.2}, 1.2: {0.2}, 1.4: {0.2}, 1.6: {0.2}, 1.8: {0.2}, 2: {0.25}, 2.2: {0.25},
	2.5: {0.35}, 3: {0.35}, 3.5: {0.35}, 4: {0.5}, 4.5: {0.5}, 5: {0.5}, 5.5: {0.5},
	6: {0.75}, 7: {0.75}, 8: {1, 0.75}, 9: {1, 0.75}, 10: {1.25, 1, 0.75}, 11: {1, 0.75},
	12: {1.5, 1.25, 1}, 14: {1.5, 1.25, 1}, 15: {1.5, 1}, 16: {1.5, 1}, 17: {1.5, 1},
	18: {2, 1.5, 1}, 20: {2, 1.5, 1}, 22: {2, 1.5, 1}, 24: {2, 1.5, 1}, 25: {2, 1.5, 1}, 26: {1.5},
	27: {2, 1.5, 1}, 28: {2, 1.5, 1}, 30: {3, 2, 1.5, 1}, 32: {2, 1.5}, 33: {3, 2, 1.5}, 35: {1.5},
	36: {3, 2, 1.5}, 38: {1.5}, 39: {3, 2, 1.5}, 40: {3, 2, 1.5}, 42: {4, 3, 2, 1.5}, 45: {4, 3, 2, 1.5},
	48: {4, 3, 2, 1.5}, 50: {3, 2, 1.5}, 52: {4, 3, 2, 1.5}, 55: {4, 3, 2, 1.5}, 56: {4, 3, 2, 1.5},
	58: {4, 3, 2, 1.5}, 60: {4, 3, 2, 1.5}, 62: {4, 3, 2, 1.5}, 64: {4, 3, 2, 1.5},
}

// thread checks that a fastener's thread is a combination of ISO 261.
func (l *linter) thread(path, designation string) {
	if designation == "" {
		return // told by the schema
	}
	t, err := workshop.ParseThread(designation)
	if err != nil {
		l.add(path, "got %q, want an ISO metric thread such as M8 or M10x1.25", designation)
		return
	}
	if coarse, err := workshop.CoarsePitch(t.DiameterMM); err == nil && coarse == t.PitchMM {
		return
	}
	if !slices.Contains(finePitches[t.DiameterMM], t.PitchMM) {
		l.add(path, "got %q, want a diameter and pitch that ISO 261 has together", designation)
	}
}
