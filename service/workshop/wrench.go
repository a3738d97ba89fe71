package workshop

import "math"

// leverRatio returns what the torque at the fastener is to the torque at the
// wrench's square drive.
func leverRatio(wrenchLengthMM, extensionMM, angleDeg float64) (float64, error) {
	if err := firstErr(
		positive("wrenchLengthMM", wrenchLengthMM),
		nonNegative("extensionMM", extensionMM),
		inRange("angleDeg", angleDeg, -180, 180),
	); err != nil {
		return 0, err
	}
	ratio := 1 + extensionMM*math.Cos(angleDeg*math.Pi/180)/wrenchLengthMM
	// Folded back so far that the hand pulls almost at the fastener, small errors
	// of length become large ones of torque.
	if !(ratio >= 0.1) || math.IsInf(ratio, 1) {
		return 0, badInput("extensionMM", extensionMM, "an extension that leaves at least a tenth of the wrench's length between hand and fastener")
	}
	return ratio, nil
}

// WrenchSetting returns what to set on a torque wrench, in newton metres, so
// that a crowfoot or extension on it gives the torque at the fastener:
//
//	setting = torque · L / (L + E·cos a)
//
// wrenchLengthMM (L) is from the middle of the grip to the square drive,
// extensionMM (E) from the square drive to the fastener, angleDeg (a) the angle
// between extension and wrench: 0 straight ahead, 90 square to the wrench, where
// the setting is the torque, 180 folded back. The hand must pull at the middle
// of the grip, square to the wrench. A plain socket extension along the
// fastener's axis changes nothing.
//
// The torque must be at least 0, L above 0, E at least 0, a between -180 and
// 180; L + E·cos a must be at least a tenth of L.
//
// Source: statics; in the same form in US Army TM 9-254, figure 46.
func WrenchSetting(torqueNM, wrenchLengthMM, extensionMM, angleDeg float64) (float64, error) {
	if err := nonNegative("torqueNM", torqueNM); err != nil {
		return 0, err
	}
	ratio, err := leverRatio(wrenchLengthMM, extensionMM, angleDeg)
	if err != nil {
		return 0, err
	}
	return torqueNM / ratio, nil
}

// TorqueAtFastener returns the torque in newton metres that reaches the fastener
// for a wrench set to settingNM. It is the inverse of [WrenchSetting], with the
// same parameters and limits.
func TorqueAtFastener(settingNM, wrenchLengthMM, extensionMM, angleDeg float64) (float64, error) {
	if err := nonNegative("settingNM", settingNM); err != nil {
		return 0, err
	}
	ratio, err := leverRatio(wrenchLengthMM, extensionMM, angleDeg)
	if err != nil {
		return 0, err
	}
	return settingNM * ratio, nil
}
