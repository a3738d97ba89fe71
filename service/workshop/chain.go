package workshop

import "math"

// ChainDimensions are the nominal dimensions of a drive chain, in millimetres.
type ChainDimensions struct {
	// PitchMM is the distance from pin to pin.
	PitchMM float64
	// InnerWidthMM is the nominal width between the inner plates. The standards'
	// smallest width is up to 0.2 mm less, so measure against those.
	InnerWidthMM float64
	// RollerMM is the largest roller diameter.
	RollerMM float64
}

// ChainSize returns the dimensions behind a motorcycle chain's size number: 415,
// 420, 428, 520, 525 or 530. The first digit is the pitch in eighths of an inch;
// the other two stand for the width but do not always convert to it (428 is
// 5/16 in), so the numbers are a table.
//
// Sources: ISO 10190 and, for 428 and 530, ISO 606 08B and 10A, read from two
// published tables of chain dimensions.
func ChainSize(designation int) (ChainDimensions, error) {
	const sixteenth = mmPerInch / 16
	d := ChainDimensions{PitchMM: float64(designation/100) * mmPerInch / 8}
	switch designation {
	case 415:
		d.InnerWidthMM, d.RollerMM = 3*sixteenth, 7.77
	case 420:
		d.InnerWidthMM, d.RollerMM = 4*sixteenth, 7.77
	case 428:
		d.InnerWidthMM, d.RollerMM = 5*sixteenth, 8.51
	case 520:
		d.InnerWidthMM, d.RollerMM = 4*sixteenth, 10.16
	case 525:
		d.InnerWidthMM, d.RollerMM = 5*sixteenth, 10.16
	case 530:
		d.InnerWidthMM, d.RollerMM = 6*sixteenth, 10.16
	default:
		return ChainDimensions{}, badInput("designation", float64(designation), "415, 420, 428, 520, 525 or 530")
	}
	return d, nil
}

func checkSprockets(pitchMM float64, frontTeeth, rearTeeth int) error {
	return firstErr(
		positive("pitchMM", pitchMM),
		inRange("frontTeeth", float64(frontTeeth), 6, 150),
		inRange("rearTeeth", float64(rearTeeth), 6, 150),
	)
}

// ChainLinks returns the length in links, fractional, of a chain round two
// sprockets on a centre distance:
//
//	L = 2C + (N₁+N₂)/2 + ((N₂−N₁)/2π)²/C,  C = centreMM/pitchMM
//
// It counts every pitch as a link. The sprockets must not touch. The formula
// takes the sprockets as circles of as many pitches as they have teeth and is
// the first terms of a series: with centres at least twice as far apart as the
// sprockets need, it is within a twentieth of a link of the tight belt round
// them.
//
// Source: the handbook chain-length formula, as the chain makers' engineering
// guides print it.
func ChainLinks(centreMM, pitchMM float64, frontTeeth, rearTeeth int) (float64, error) {
	if err := firstErr(
		checkSprockets(pitchMM, frontTeeth, rearTeeth),
		positive("centreMM", centreMM),
	); err != nil {
		return 0, err
	}
	c := centreMM / pitchMM
	if c <= touchingPitches(frontTeeth, rearTeeth) {
		return 0, badInput("centreMM", centreMM, "a distance at which the sprockets do not touch")
	}
	return 2*c + halfTeeth(frontTeeth, rearTeeth) + sprocketTerm(frontTeeth, rearTeeth)/c, nil
}

// EvenLinks rounds a computed chain length up to the next even whole number of
// links, which is what a chain with one joining link can have. A length within
// a hundredth of a link above an even number counts as that number.
//
// Source: common practice, as the chain makers' engineering guides state it.
func EvenLinks(links float64) (int, error) {
	if err := inRange("links", links, 2, 1000); err != nil {
		return 0, err
	}
	return 2 * int(math.Ceil((links-0.01)/2)), nil
}

// ChainCentre returns the centre distance in millimetres at which a chain of
// the given number of links runs without slack round two sprockets: the inverse
// of [ChainLinks],
//
//	C = (B + √(B² − 2(N₂−N₁)²/π²))/4,  B = L − (N₁+N₂)/2
//
// Source: the handbook chain-length formula solved for C, as the chain makers'
// engineering guides print it.
func ChainCentre(links, pitchMM float64, frontTeeth, rearTeeth int) (float64, error) {
	if err := firstErr(
		checkSprockets(pitchMM, frontTeeth, rearTeeth),
		positive("links", links),
	); err != nil {
		return 0, err
	}
	b := links - halfTeeth(frontTeeth, rearTeeth)
	square := b*b - 8*sprocketTerm(frontTeeth, rearTeeth)
	if b <= 0 || square < 0 {
		return 0, badInput("links", links, "enough links to go round both sprockets")
	}
	c := (b + math.Sqrt(square)) / 4
	if c <= touchingPitches(frontTeeth, rearTeeth) {
		return 0, badInput("links", links, "enough links that the sprockets do not touch")
	}
	return c * pitchMM, nil
}

func halfTeeth(a, b int) float64 { return float64(a+b) / 2 }

func sprocketTerm(a, b int) float64 {
	d := float64(b-a) / (2 * math.Pi)
	return d * d
}

// touchingPitches is the centre distance, in pitches, at which the pitch circles
// touch.
func touchingPitches(a, b int) float64 {
	radius := func(teeth int) float64 { return 1 / (2 * math.Sin(math.Pi/float64(teeth))) }
	return radius(a) + radius(b)
}

// ChainElongation returns the wear of a chain in per cent of its nominal length:
// how much measuredMM, pin centre to pin centre over a number of links with the
// chain pulled tight, exceeds links × pitchMM. It is negative for a chain below
// nominal, which a new one may be by a few hundredths of a per cent. A length
// more than 10 % off is a miscount and is refused.
//
// Source: ISO 606, chain length measurement, in principle; closed form.
func ChainElongation(measuredMM, pitchMM float64, links int) (float64, error) {
	if err := firstErr(
		positive("measuredMM", measuredMM),
		positive("pitchMM", pitchMM),
		inRange("links", float64(links), 1, 1000),
	); err != nil {
		return 0, err
	}
	percent := (measuredMM/(pitchMM*float64(links)) - 1) * 100
	if math.Abs(percent) > 10 {
		return 0, badInput("measuredMM", measuredMM, "within 10 % of links times pitch: count the links again")
	}
	return percent, nil
}

// ChainWearLimit returns the length in millimetres over a number of links at
// which a chain has elongated by limitPercent. Usual limits are 2 % for a plain
// chain and 1 % for a sealed one; 3 % is where a chain rides over its sprocket
// (common practice, no source).
//
// Source: closed form.
func ChainWearLimit(pitchMM float64, links int, limitPercent float64) (float64, error) {
	if err := firstErr(
		positive("pitchMM", pitchMM),
		inRange("links", float64(links), 1, 1000),
		positive("limitPercent", limitPercent),
		inRange("limitPercent", limitPercent, 0, 10),
	); err != nil {
		return 0, err
	}
	return pitchMM * float64(links) * (1 + limitPercent/100), nil
}

// ChainSlackExcess returns how much longer, in millimetres, the slack run of a
// chain is than the straight line between its ends: √(spanMM² + slackMM²) −
// spanMM. slackMM is the whole movement up and down at mid-span, the other run
// tight; spanMM is the free length of the run, about the centre distance.
//
// Source: closed form (Pythagoras).
func ChainSlackExcess(spanMM, slackMM float64) (float64, error) {
	if err := firstErr(
		positive("spanMM", spanMM),
		nonNegative("slackMM", slackMM),
	); err != nil {
		return 0, err
	}
	if slackMM > spanMM {
		return 0, badInput("slackMM", slackMM, "at most the span")
	}
	// The direct difference loses its digits when the slack is small.
	return slackMM * slackMM / (math.Hypot(spanMM, slackMM) + spanMM), nil
}

// AxleMoveForSlack returns how far, in millimetres, the rear axle must move
// backwards to change the slack at mid-span from slackMM to wantSlackMM; it is
// negative where the axle must come forward. Both runs lengthen with the axle, so
// half the difference of [ChainSlackExcess] does it. Measure with the swing arm
// where the manual says, and again after tightening the axle.
//
// Source: closed form.
func AxleMoveForSlack(spanMM, slackMM, wantSlackMM float64) (float64, error) {
	have, err := ChainSlackExcess(spanMM, slackMM)
	if err != nil {
		return 0, err
	}
	if err := firstErr(nonNegative("wantSlackMM", wantSlackMM)); err != nil {
		return 0, err
	}
	if wantSlackMM > spanMM {
		return 0, badInput("wantSlackMM", wantSlackMM, "at most the span")
	}
	want, err := ChainSlackExcess(spanMM, wantSlackMM)
	if err != nil {
		return 0, err
	}
	return (have - want) / 2, nil
}
