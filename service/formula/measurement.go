package formula

import (
	"math"

	"github.com/snapgauge/snapgauge/service/workshop"
)

const (
	gum        = "JCGM 100:2008"
	jcgm106    = "JCGM 106:2012"
	fromMemory = " (from memory)"
)

var (
	valueInput    = input{name: "value", group: readingGroup, param: "value", what: "The reading, in any unit; limits and uncertainties without a unit are in its"}
	standardInput = input{name: "standard_uncertainty", group: readingGroup, span: true, param: "u", what: "Standard uncertainty u"}
	expandedInput = input{name: "expanded_uncertainty", group: readingGroup, span: true, param: "expanded", what: "Expanded uncertainty U, as a calibration certificate states it"}
	coverageInput = input{name: "coverage_factor", unit: "1", fallback: "2", param: "k", what: "Coverage factor k; 2 covers about 95 %"}
	guardInput    = input{name: "guard_band", group: readingGroup, span: true, param: "w", what: "Length w by which the acceptance limit lies inside the tolerance limit"}

	standardResult = result{name: "standard_uncertainty", group: readingGroup, form: span, what: "Standard uncertainty u, in the unit of the input"}

	// toleranceInputs are the limits of a tolerance; [toleranceOf] reads them.
	toleranceInputs = []input{
		{name: "lower", group: readingGroup, optional: true, param: "tolerance.Lower tolerance", what: "Lower limit of the tolerance"},
		{name: "upper", group: readingGroup, optional: true, param: "tolerance.Upper", what: "Upper limit of the tolerance"},
	}
)

// toleranceOf reads the limits, one of which is needed.
func toleranceOf(a *arguments) (workshop.Interval, error) {
	if !a.has("lower") && !a.has("upper") {
		return workshop.Interval{}, refuse("lower", "is missing; give a lower limit, an upper one or both")
	}
	t := workshop.Interval{Lower: a.numOr("lower", math.Inf(-1)), Upper: a.numOr("upper", math.Inf(1))}
	if t.Empty() {
		return t, refuse("lower", "is above the upper limit")
	}
	return t, nil
}

// withTolerance reads the limits first.
func withTolerance(work func(*arguments, workshop.Interval) (outputs, error)) func(*arguments) (outputs, error) {
	return func(a *arguments) (outputs, error) {
		t, err := toleranceOf(a)
		if err != nil {
			return nil, err
		}
		return work(a, t)
	}
}

var measurement = []Formula{
	{
		name: "uncertainty-from-resolution", topic: "measurement",
		description: "The standard uncertainty that an instrument's smallest step alone brings.",
		source:      gum + ", F.2.2.1",
		inputs:      []input{{name: "resolution", group: readingGroup, span: true, param: "resolution", what: "Smallest step of the indication, in any unit"}},
		results:     []result{standardResult},
		work: func(a *arguments) (outputs, error) {
			return one(workshop.StandardUncertaintyFromResolution(a.num("resolution")))
		},
	},
	{
		name: "uncertainty-from-permissible-error", topic: "measurement",
		description: "The standard uncertainty of an instrument of which only the permissible error is known.",
		source:      gum + ", 4.3.7",
		inputs:      []input{{name: "max_error", group: readingGroup, span: true, param: "maxError", what: "Largest permissible error either way, in any unit"}},
		results:     []result{standardResult},
		work: func(a *arguments) (outputs, error) {
			return one(workshop.StandardUncertaintyFromPermissibleError(a.num("max_error")))
		},
	},
	{
		name: "uncertainty-from-certificate", topic: "measurement",
		description: "The standard uncertainty behind the expanded one of a calibration certificate.",
		source:      gum + ", 4.3.3",
		inputs:      []input{expandedInput, coverageInput},
		results:     []result{standardResult},
		work: func(a *arguments) (outputs, error) {
			return one(workshop.StandardUncertaintyFromExpanded(a.num("expanded_uncertainty"), a.num("coverage_factor")))
		},
	},
	{
		name: "combined-uncertainty", topic: "measurement",
		description: "The standard uncertainty of a result from independent ones that act on it one to one.",
		source:      gum + ", 5.1.2, with every sensitivity coefficient 1",
		inputs:      []input{{name: "uncertainties", group: readingGroup, span: true, repeated: true, param: "standard", what: "Standard uncertainties, in any unit"}},
		results:     []result{standardResult},
		work: func(a *arguments) (outputs, error) {
			return one(workshop.CombineUncertainty(a.nums("uncertainties")...))
		},
	},
	{
		name: "expanded-uncertainty", topic: "measurement",
		description: "The expanded uncertainty from a standard one and a coverage factor.",
		source:      gum + ", 6.2.1",
		inputs:      []input{standardInput, coverageInput},
		results:     []result{{name: "expanded_uncertainty", group: readingGroup, form: span, what: "Expanded uncertainty U, in the unit of the input"}},
		work: func(a *arguments) (outputs, error) {
			return one(workshop.ExpandedUncertainty(a.num("standard_uncertainty"), a.num("coverage_factor")))
		},
	},
	{
		name: "guard-band", topic: "measurement",
		description: "How far an acceptance limit lies inside the tolerance limit for an expanded uncertainty.",
		source:      jcgm106 + ", 8.3.2" + fromMemory,
		inputs: []input{expandedInput,
			{name: "multiplier", unit: "1", fallback: "1", param: "r", what: "Multiplier r: 1 by default in ISO 14253-1, 0 for simple acceptance"},
		},
		results: []result{{name: "guard_band", group: readingGroup, form: span, what: "Length of the guard band, in the unit of the input"}},
		work: func(a *arguments) (outputs, error) {
			return one(workshop.GuardBand(a.num("expanded_uncertainty"), a.num("multiplier")))
		},
	},
	{
		name: "acceptance-interval", topic: "measurement",
		description: "The readings that prove conformity with a tolerance: its limits, each shortened by the guard band.",
		source:      jcgm106 + ", 8.3.2" + fromMemory,
		inputs:      append(toleranceInputs, guardInput),
		results: []result{
			{name: "lowest", group: readingGroup, what: "Least reading that proves conformity, in the unit of the limits"},
			{name: "highest", group: readingGroup, what: "Greatest reading that does"},
			{name: "possible", what: "Whether any does: where not, the instrument is too coarse for the tolerance"},
		},
		work: withTolerance(acceptanceInterval),
	},
	{
		name: "decision", topic: "measurement",
		description: "What a reading says about a tolerance once its uncertainty is allowed for.",
		source:      "ISO 14253-1:2017, clause 5" + fromMemory + "; " + jcgm106 + ", 8.3" + fromMemory,
		inputs:      append(append([]input{valueInput}, toleranceInputs...), guardInput),
		results:     []result{{name: "decision", what: "Conforming, nonconforming, or undecided where the uncertainty straddles a limit"}},
		work: withTolerance(func(a *arguments, t workshop.Interval) (outputs, error) {
			w := a.num("guard_band")
			if w < 0 {
				return nil, refuse("guard_band", "is below 0")
			}
			return outputs{words(workshop.Decide(a.num("value"), t, w).String())}, nil
		}),
	},
	{
		name: "conformance-probability", topic: "measurement",
		description: "How probable it is that what was measured lies within a tolerance.",
		source:      jcgm106 + ", 7.2 to 7.4" + fromMemory,
		inputs:      append(append([]input{valueInput}, toleranceInputs...), standardInput),
		results:     []result{{name: "probability", unit: "1", form: probability, what: "Probability, for a normal distribution and no prior knowledge"}},
		work: withTolerance(func(a *arguments, t workshop.Interval) (outputs, error) {
			return one(workshop.ConformanceProbability(a.num("value"), a.num("standard_uncertainty"), t))
		}),
	},
	{
		name: "measurement-capability", topic: "measurement",
		description: "How much finer a measurement is than the tolerance it is to prove.",
		source:      jcgm106 + ", 7.6.3" + fromMemory,
		inputs:      append(needed(toleranceInputs), standardInput),
		results:     []result{{name: "capability", unit: "1", digits: 3, what: "Tolerance over four standard uncertainties; below about 1 hardly any reading can be decided"}},
		work: withTolerance(func(a *arguments, t workshop.Interval) (outputs, error) {
			return one(workshop.MeasurementCapability(t, a.num("standard_uncertainty")))
		}),
	},
}

// needed returns inputs none of which may be left out.
func needed(inputs []input) []input {
	all := make([]input, len(inputs))
	for i, in := range inputs {
		in.optional = false
		all[i] = in
	}
	return all
}

func acceptanceInterval(a *arguments, t workshop.Interval) (outputs, error) {
	w := a.num("guard_band")
	if w < 0 {
		return nil, refuse("guard_band", "is below 0")
	}
	acceptance := workshop.AcceptanceInterval(t, w)
	if acceptance.Empty() {
		return outputs{absent(), absent(), yes(false)}, nil
	}
	return outputs{limit(acceptance.Lower), limit(acceptance.Upper), yes(true)}, nil
}
