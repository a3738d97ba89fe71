package workshop

import (
	"math"
	"strconv"
	"testing"

	"pgregory.net/rapid"
)

func itoa(i int) string { return strconv.Itoa(i) }

func TestGearingPublished(t *testing.T) {
	ratio, err := OverallRatio(GearPair{20, 60}, GearPair{14, 28}, GearPair{12, 48})
	noErr(t, err)
	check(t, PublishedCheck{Function: "OverallRatio", Case: "primary 20:60, gear 14:28, final 12:48", Source: "closed form", Where: "3 × 2 × 4", Want: 24, Got: ratio, Tolerance: 1e-12})

	const rule = "the tuners' rule mph = rpm × tyre diameter in inches / (336 × ratio); common practice, no source"
	circumference := math.Pi * 26 * mmPerInch
	speed, err := RoadSpeedKMH(6000, 8, circumference)
	noErr(t, err)
	check(t, PublishedCheck{Function: "RoadSpeedKMH", Case: "6000 rpm, ratio 8, tyre 26 in: 58.04 mph", Source: rule, Want: 58.036 * 1.609344, Got: speed, Tolerance: 0.1, Unit: "km/h"})
	rpm, err := EngineRPM(60*1.609344, 8, circumference)
	noErr(t, err)
	check(t, PublishedCheck{Function: "EngineRPM", Case: "60 mph, ratio 8, tyre 26 in", Source: rule, Want: 6203, Got: rpm, Tolerance: 7, Unit: "rpm"})

	speeds, err := SpeedsByGear(6000, GearPair{1, 2}, []GearPair{{1, 2}, {1, 1}}, GearPair{1, 4}, circumference)
	noErr(t, err)
	check(t, PublishedCheck{Function: "SpeedsByGear", Case: "second gear, overall ratio 8, 6000 rpm, tyre 26 in: 58.04 mph", Source: rule, Want: 58.036 * 1.609344, Got: speeds[1], Tolerance: 0.1, Unit: "km/h"})
}

func TestGearing(t *testing.T) {
	_, err := OverallRatio(GearPair{0, 60}, GearPair{14, 28}, GearPair{12, 48})
	refused(t, "no teeth", err)
	_, err = RoadSpeedKMH(-1, 8, 2000)
	refused(t, "engine backwards", err)
	_, err = EngineRPM(50, 0, 2000)
	refused(t, "ratio 0", err)
	_, err = SpeedsByGear(6000, GearPair{1, 2}, nil, GearPair{1, 4}, 2000)
	refused(t, "no gears", err)
	_, err = SpeedsByGear(6000, GearPair{1, 2}, []GearPair{{1, 0}}, GearPair{1, 4}, 2000)
	refused(t, "gear without teeth", err)
	_, err = SpeedsByGear(6000, GearPair{1, 2}, []GearPair{{1, 1}}, GearPair{1, 4}, 0)
	refused(t, "no tyre", err)
	rapid.Check(t, func(t *rapid.T) {
		rpm := rapid.Float64Range(100, 15000).Draw(t, "rpm")
		ratio := rapid.Float64Range(2, 60).Draw(t, "ratio")
		circumference := rapid.Float64Range(1000, 2500).Draw(t, "circumference")
		speed, err := RoadSpeedKMH(rpm, ratio, circumference)
		noErr(t, err)
		back, err := EngineRPM(speed, ratio, circumference)
		noErr(t, err)
		if math.Abs(back-rpm) > 1e-9*rpm {
			t.Fatalf("there and back: %g, was %g", back, rpm)
		}
		teeth := rapid.IntRange(8, 60)
		primary := GearPair{teeth.Draw(t, "a"), teeth.Draw(t, "b")}
		final := GearPair{teeth.Draw(t, "c"), teeth.Draw(t, "d")}
		speeds, err := SpeedsByGear(rpm, primary, []GearPair{{12, 30}, {15, 30}, {20, 30}}, final, circumference)
		noErr(t, err)
		for i := 1; i < len(speeds); i++ {
			if speeds[i] <= speeds[i-1] {
				t.Fatalf("gear %d is not faster: %v", i+1, speeds)
			}
		}
	})
}

func TestChainPublished(t *testing.T) {
	const sizes = "chain dimension tables of two parts dealers (ISO 606, ISO 10190)"
	for size, want := range map[int]ChainDimensions{
		415: {12.70, 4.76, 7.77},
		420: {12.70, 6.35, 7.77},
		428: {12.70, 7.85, 8.51},
		520: {15.875, 6.35, 10.16},
		525: {15.875, 7.94, 10.16},
		530: {15.875, 9.53, 10.16},
	} {
		got, err := ChainSize(size)
		noErr(t, err)
		check(t, PublishedCheck{Function: "ChainSize", Case: itoa(size) + ", pitch", Source: sizes, Want: want.PitchMM, Got: got.PitchMM, Tolerance: 0.0005, Unit: "mm"})
		// The tables print nominal and smallest widths side by side.
		check(t, PublishedCheck{Function: "ChainSize", Case: itoa(size) + ", inner width", Source: sizes, Want: want.InnerWidthMM, Got: got.InnerWidthMM, Tolerance: 0.2, Unit: "mm"})
		check(t, PublishedCheck{Function: "ChainSize", Case: itoa(size) + ", roller diameter", Source: sizes, Want: want.RollerMM, Got: got.RollerMM, Tolerance: 0.02, Unit: "mm"})
	}

	const handbook = "the engineer's handbook formula as a chain calculator prints it"
	links, err := ChainLinks(600, 15.875, 13, 50)
	noErr(t, err)
	check(t, PublishedCheck{Function: "ChainLinks", Case: "13 and 50 teeth, pitch 15.875 mm, centres 600 mm", Source: handbook, Where: "n = 2a' + (z₁+z₂)/2 + (z₂−z₁)²/(39.6·a')", Want: 108.0052, Got: links, Tolerance: 0.005, Unit: "links"})
	links, err = ChainLinks(381, 12.7, 40, 40)
	noErr(t, err)
	check(t, PublishedCheck{Function: "ChainLinks", Case: "equal sprockets of 40 teeth, 30 pitches apart", Source: "closed form", Where: "2·30 + 40", Want: 100, Got: links, Tolerance: 1e-9, Unit: "links"})
	centre, err := ChainCentre(108.0052, 15.875, 13, 50)
	noErr(t, err)
	check(t, PublishedCheck{Function: "ChainCentre", Case: "108.0052 links, 13 and 50 teeth, pitch 15.875 mm", Source: handbook, Where: "solved for a'", Want: 600, Got: centre, Tolerance: 0.05, Unit: "mm"})
	even, err := EvenLinks(107.09)
	noErr(t, err)
	check(t, PublishedCheck{Function: "EvenLinks", Case: "107.09 links", Source: "a chain maker's engineering guide", Where: "round up, an even amount as far as possible", Want: 108, Got: float64(even), Unit: "links"})

	const practice = "common practice, no source"
	wear, err := ChainElongation(323.85, 15.875, 20)
	noErr(t, err)
	check(t, PublishedCheck{Function: "ChainElongation", Case: "20 links of 520 measuring 323.85 mm", Source: "closed form", Where: "323.85/317.5", Want: 2, Got: wear, Tolerance: 1e-9, Unit: "%"})
	limit, err := ChainWearLimit(15.875, 20, 2)
	noErr(t, err)
	check(t, PublishedCheck{Function: "ChainWearLimit", Case: "20 links of 520, 2 %: about 324 mm over 21 pins", Source: practice, Want: 324, Got: limit, Tolerance: 0.5, Unit: "mm"})
	excess, err := ChainSlackExcess(400, 300)
	noErr(t, err)
	check(t, PublishedCheck{Function: "ChainSlackExcess", Case: "span 400 mm, slack 300 mm (3-4-5 triangle)", Source: "closed form", Want: 100, Got: excess, Tolerance: 1e-9, Unit: "mm"})
	move, err := AxleMoveForSlack(400, 300, 0)
	noErr(t, err)
	check(t, PublishedCheck{Function: "AxleMoveForSlack", Case: "span 400 mm, slack 300 mm to none (3-4-5 triangle)", Source: "closed form", Want: 50, Got: move, Tolerance: 1e-9, Unit: "mm"})
}

func TestChainRefuses(t *testing.T) {
	_, err := ChainSize(519)
	refused(t, "chain 519", err)
	_, err = ChainLinks(100, 15.875, 13, 50)
	refused(t, "sprockets overlap", err)
	_, err = ChainLinks(600, 15.875, 3, 50)
	refused(t, "3 teeth", err)
	_, err = ChainCentre(20, 15.875, 13, 50)
	refused(t, "too few links", err)
	_, err = ChainCentre(44, 15.875, 13, 50)
	refused(t, "sprockets would overlap", err)
	_, err = EvenLinks(math.NaN())
	refused(t, "links NaN", err)
	_, err = ChainElongation(300, 15.875, 21)
	refused(t, "miscounted", err)
	_, err = ChainWearLimit(15.875, 20, 0)
	refused(t, "no wear limit", err)
	_, err = ChainSlackExcess(400, 401)
	refused(t, "slack beyond span", err)
	_, err = AxleMoveForSlack(400, 30, -1)
	refused(t, "negative slack", err)
	_, err = AxleMoveForSlack(400, 30, 500)
	refused(t, "wanted slack beyond span", err)
	_, err = AxleMoveForSlack(0, 30, 30)
	refused(t, "no span", err)
}

func TestChainProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		front := rapid.IntRange(9, 20).Draw(t, "front")
		rear := rapid.IntRange(9, 70).Draw(t, "rear")
		pitch := rapid.SampledFrom([]float64{12.7, 15.875}).Draw(t, "pitch")
		touching := touchingPitches(front, rear) * pitch
		centre := touching * rapid.Float64Range(1.001, 5).Draw(t, "reach")
		links, err := ChainLinks(centre, pitch, front, rear)
		noErr(t, err)
		back, err := ChainCentre(links, pitch, front, rear)
		noErr(t, err)
		if math.Abs(back-centre) > 1e-6*centre {
			t.Fatalf("centre %g, %g links, back %g", centre, links, back)
		}
		longer, err := ChainLinks(centre+1, pitch, front, rear)
		noErr(t, err)
		if longer <= links {
			t.Fatalf("1 mm further apart: %g links after %g", longer, links)
		}
		if centre >= 2*touching {
			difference := math.Abs(float64(rear-front)) / (2 * math.Pi)
			c := centre / pitch
			belt := 2*math.Sqrt(c*c-difference*difference) + halfTeeth(front, rear) + 2*difference*math.Asin(difference/c)
			if math.Abs(links-belt) > 0.05 {
				t.Fatalf("%g links, belt round circles %g", links, belt)
			}
		}
		even, err := EvenLinks(links)
		noErr(t, err)
		if even%2 != 0 || float64(even) < links-0.01 || float64(even) >= links+2 {
			t.Fatalf("%g links: even %d", links, even)
		}

		n := rapid.IntRange(10, 130).Draw(t, "links")
		percent := rapid.Float64Range(0.01, 9.9).Draw(t, "percent")
		limit, err := ChainWearLimit(pitch, n, percent)
		noErr(t, err)
		worn, err := ChainElongation(limit, pitch, n)
		noErr(t, err)
		if math.Abs(worn-percent) > 1e-9 {
			t.Fatalf("limit of %g %% measures %g %%", percent, worn)
		}

		span := rapid.Float64Range(300, 800).Draw(t, "span")
		slack := rapid.Float64Range(0, 90).Draw(t, "slack")
		want := rapid.Float64Range(0, 90).Draw(t, "want")
		move, err := AxleMoveForSlack(span, slack, want)
		noErr(t, err)
		opposite, err := AxleMoveForSlack(span, want, slack)
		noErr(t, err)
		if move != -opposite || (slack > want) != (move > 0) && math.Abs(slack-want) > 1e-6 {
			t.Fatalf("slack %g to %g: move %g, back %g", slack, want, move, opposite)
		}
	})
}
