package workshop

import "math"

// ForkDrop returns by how much, in millimetres, the steering head comes down
// when the fork compresses by travelMM along its tubes, which stand rakeDeg
// degrees from the vertical.
//
// Source: closed form (travel × cos rake).
func ForkDrop(travelMM, rakeDeg float64) (float64, error) {
	if err := firstErr(
		finite("travelMM", travelMM),
		inRange("rakeDeg", rakeDeg, 0, 60),
	); err != nil {
		return 0, err
	}
	return travelMM * math.Cos(rakeDeg*math.Pi/180), nil
}

// SeatHeightSettled returns the seat height in millimetres of a run-in machine
// from the height measured new. frontDropMM and rearDropMM are by how much the
// chassis has come down over the axles (sag now less sag when new; [ForkDrop]
// for the fork), negative where it came up; foamLossMM is what the seat itself
// lost. The seat's low point lies seatFromFrontMM behind the front axle and
// shares in both drops by its place on the wheelbase.
//
// Suspension and seat settle over about the first ten running hours (common
// practice, no source): a height measured before is not that of the machine
// that the customer rides.
//
// Source: closed form (straight line between the axles).
func SeatHeightSettled(newMM, frontDropMM, rearDropMM, foamLossMM, seatFromFrontMM, wheelbaseMM float64) (float64, error) {
	if err := firstErr(
		positive("newMM", newMM),
		finite("frontDropMM", frontDropMM),
		finite("rearDropMM", rearDropMM),
		nonNegative("foamLossMM", foamLossMM),
		positive("wheelbaseMM", wheelbaseMM),
		inRange("seatFromFrontMM", seatFromFrontMM, 0, 1.5*wheelbaseMM),
	); err != nil {
		return 0, err
	}
	share := seatFromFrontMM / wheelbaseMM
	height := newMM - frontDropMM*(1-share) - rearDropMM*share - foamLossMM
	if height <= 0 {
		return 0, badInput("newMM", newMM, "a seat height that stays above the ground")
	}
	return height, nil
}
