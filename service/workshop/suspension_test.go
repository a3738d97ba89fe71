package workshop

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

func TestSuspensionPublished(t *testing.T) {
	const method = "the three-measurement method as a suspension calculator prints it"
	sag, err := MeasuredSag(600, 505, 495)
	noErr(t, err)
	check(t, PublishedCheck{Function: "MeasuredSag", Case: "extended 600, settled 505 and 495 mm: sag", Source: method, Where: "F1 − (F2 + F3)/2", Want: 100, Got: sag.SagMM, Tolerance: 1e-9, Unit: "mm"})
	check(t, PublishedCheck{Function: "MeasuredSag", Case: "extended 600, settled 505 and 495 mm: friction", Source: method, Where: "F3 − F2", Want: 10, Got: sag.FrictionMM, Tolerance: 1e-9, Unit: "mm"})

	// Wheel rate 520/(100−35) = 8 N/mm, spring 8/0.4² = 50 N/mm; the machine's
	// 600 N take 75 mm of it at the wheel, 40 mm before it moves: 16 mm of spring.
	spring, err := SpringForSag(600, 520, 35, 100, 0.4)
	noErr(t, err)
	check(t, PublishedCheck{Function: "SpringForSag", Case: "600 N and 520 N, sag 35 and 100 mm, motion ratio 0.4: rate", Source: "closed form", Where: "wheel rate = rate × motion ratio²", Want: 50, Got: spring.RateNPerMM, Tolerance: 1e-9, Unit: "N/mm"})
	check(t, PublishedCheck{Function: "SpringForSag", Case: "600 N and 520 N, sag 35 and 100 mm, motion ratio 0.4: preload", Source: "closed form", Where: "(600/8 − 35) × 0.4", Want: 16, Got: spring.PreloadMM, Tolerance: 1e-9, Unit: "mm"})
	preload, err := PreloadForSag(1120, 100, 50, 0.4)
	noErr(t, err)
	check(t, PublishedCheck{Function: "PreloadForSag", Case: "1120 N, sag 100 mm, 50 N/mm, motion ratio 0.4", Source: "closed form", Where: "1120/(0.4·50) − 0.4·100", Want: 16, Got: preload, Tolerance: 1e-9, Unit: "mm"})
	static, race, err := SagForSpring(600, 520, 50, 16, 0.4)
	noErr(t, err)
	check(t, PublishedCheck{Function: "SagForSpring", Case: "50 N/mm preloaded 16 mm, motion ratio 0.4: static sag", Source: "closed form", Want: 35, Got: static, Tolerance: 1e-9, Unit: "mm"})
	check(t, PublishedCheck{Function: "SagForSpring", Case: "50 N/mm preloaded 16 mm, motion ratio 0.4: race sag", Source: "closed form", Want: 100, Got: race, Tolerance: 1e-9, Unit: "mm"})

	drop, err := ForkDrop(20, 60)
	noErr(t, err)
	check(t, PublishedCheck{Function: "ForkDrop", Case: "20 mm along tubes at 60°", Source: "closed form", Where: "cos 60° = ½", Want: 10, Got: drop, Tolerance: 1e-9, Unit: "mm"})
	height, err := SeatHeightSettled(950, 8, 16, 5, 750, 1500)
	noErr(t, err)
	check(t, PublishedCheck{Function: "SeatHeightSettled", Case: "950 mm new, seat mid-wheelbase, drops 8 and 16 mm, foam 5 mm", Source: "closed form", Where: "950 − (8 + 16)/2 − 5", Want: 933, Got: height, Tolerance: 1e-9, Unit: "mm"})
}

func TestSuspensionRefuses(t *testing.T) {
	_, err := MeasuredSag(600, 601, 495)
	refused(t, "longer than extended", err)
	_, err = MeasuredSag(600, 495, 505)
	refused(t, "readings exchanged", err)
	_, err = MeasuredSag(600, 0, 495)
	refused(t, "no length", err)
	_, err = SpringForSag(600, 520, 100, 100, 0.4)
	refused(t, "race sag not above static", err)
	_, err = SpringForSag(100, 520, 35, 100, 0.4)
	refused(t, "loose spring", err)
	_, err = SpringForSag(600, 520, 35, 100, 0)
	refused(t, "motion ratio 0", err)
	_, err = PreloadForSag(0, 35, 50, 0.4)
	refused(t, "no load", err)
	_, _, err = SagForSpring(600, 520, -50, 16, 0.4)
	refused(t, "negative rate", err)
	_, err = ForkDrop(20, 90)
	refused(t, "rake 90°", err)
	_, err = SeatHeightSettled(950, 8, 16, 5, 3000, 1500)
	refused(t, "seat off the machine", err)
	_, err = SeatHeightSettled(20, 20, 20, 0, 750, 1500)
	refused(t, "seat on the ground", err)
}

func TestSuspensionProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		machine := rapid.Float64Range(200, 1500).Draw(t, "machine")
		rider := rapid.Float64Range(200, 1200).Draw(t, "rider")
		static := rapid.Float64Range(5, 60).Draw(t, "static")
		race := static + rapid.Float64Range(10, 90).Draw(t, "more")
		ratio := rapid.Float64Range(0.2, 1.2).Draw(t, "ratio")
		spring, err := SpringForSag(machine, rider, static, race, ratio)
		if err != nil {
			t.Skip("loose spring")
		}
		gotStatic, gotRace, err := SagForSpring(machine, rider, spring.RateNPerMM, spring.PreloadMM, ratio)
		noErr(t, err)
		if math.Abs(gotStatic-static) > 1e-7 || math.Abs(gotRace-race) > 1e-7 {
			t.Fatalf("sag %g and %g, wanted %g and %g", gotStatic, gotRace, static, race)
		}
		_, more, err := SagForSpring(machine, rider, spring.RateNPerMM, spring.PreloadMM+1, ratio)
		noErr(t, err)
		if more > gotRace {
			t.Fatalf("more preload, more sag: %g after %g", more, gotRace)
		}
		_, heavier, err := SagForSpring(machine, rider+10, spring.RateNPerMM, spring.PreloadMM, ratio)
		noErr(t, err)
		if heavier <= gotRace {
			t.Fatalf("heavier rider, no more sag: %g after %g", heavier, gotRace)
		}

		place := rapid.Float64Range(0, 1500).Draw(t, "place")
		front := rapid.Float64Range(0, 30).Draw(t, "front")
		rear := rapid.Float64Range(0, 30).Draw(t, "rear")
		settled, err := SeatHeightSettled(900, front, rear, 0, place, 1500)
		noErr(t, err)
		if settled > 900-math.Min(front, rear)+1e-9 || settled < 900-math.Max(front, rear)-1e-9 {
			t.Fatalf("drops %g and %g bring 900 to %g", front, rear, settled)
		}
	})
}
