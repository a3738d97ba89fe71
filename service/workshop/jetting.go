package workshop

import "math"

// JetNumbering is what the number stamped on a jet means. The two kinds must not
// be mixed: the same number is not the same jet.
type JetNumbering int

const (
	// JetByFlow numbers a jet by its flow, in ml/min under a standard head, and
	// so in proportion to its area.
	JetByFlow JetNumbering = iota + 1
	// JetByDiameter numbers a jet by its bore, in hundredths of a millimetre.
	JetByDiameter
)

// String names the numbering.
func (n JetNumbering) String() string {
	switch n {
	case JetByFlow:
		return "flow"
	case JetByDiameter:
		return "diameter"
	}
	return "unknown"
}

// MainJetNumber returns the number, not rounded, of the main jet that keeps the
// mixture of a jet that is right in air of one density when the air changes to
// another; see [RelativeAirDensity].
//
// At one throttle and engine speed the air's volume flow V is the same. The
// venturi's depression is then ∝ ρV² with the whole air's density ρ, the fuel
// through a jet of area A is ∝ A·√ρ, and the air that can burn it is ∝ the dry
// part's density d. The mixture is ∝ A·√ρ/d and stays when A goes with d/√ρ,
// which in dry air is √ρ:
//
//	flow number      n₂ = n₁·(d₂/d₁)/√(ρ₂/ρ₁)        dry: n₁·(ρ₂/ρ₁)^½
//	diameter number  n₂ = n₁·√((d₂/d₁)/√(ρ₂/ρ₁))     dry: n₁·(ρ₂/ρ₁)^¼
//
// This is the least correction. It leaves out the emulsion air, and the charts
// that parts dealers print go further, up to A ∝ ρ. Start from a jet that is
// right in the densest air the machine sees: going up, too small a correction
// is rich and harmless; coming down from a jet found at altitude, it is lean and
// can seize a two-stroke. Read the plug.
//
// Source: Bernoulli's equation (closed form).
func MainJetNumber(number float64, numbering JetNumbering, from, to RelativeDensity) (float64, error) {
	if err := firstErr(
		positive("number", number),
		from.check("from"),
		to.check("to"),
	); err != nil {
		return 0, err
	}
	areaFactor := to.Dry / from.Dry / math.Sqrt(to.Total/from.Total)
	switch numbering {
	case JetByFlow:
		return number * areaFactor, nil
	case JetByDiameter:
		return number * math.Sqrt(areaFactor), nil
	}
	return 0, badInput("numbering", float64(numbering), "numbering by flow or by diameter")
}

func (d RelativeDensity) check(name string) error {
	if err := inRange(name+".Total", d.Total, 0.2, 1.6); err != nil {
		return err
	}
	// More than half vapour is no air that an engine meets; above the whole is
	// impossible.
	return inRange(name+".Dry", d.Dry, d.Total/2, d.Total)
}

// JetForNumber returns the jet of a series that is nearest to a computed number
// on the safe side: the smallest that is not below it, since a lean main jet
// damages the engine and a rich one only costs power. series are the numbers
// that exist, in any order. It refuses an empty series and a number above the
// largest jet.
//
// Source: common practice, no source.
func JetForNumber(number float64, series []float64) (float64, error) {
	if err := positive("number", number); err != nil {
		return 0, err
	}
	if len(series) == 0 {
		return 0, badInput("series", 0, "at least one jet")
	}
	// A computed number that only rounding puts above a jet is that jet.
	least := number * (1 - 1e-9)
	best := math.Inf(1)
	for _, jet := range series {
		if err := positive("series", jet); err != nil {
			return 0, err
		}
		if jet >= least && jet < best {
			best = jet
		}
	}
	if math.IsInf(best, 1) {
		return 0, badInput("number", number, "at most the largest jet of the series")
	}
	return best, nil
}
