package workshop

import "strings"

// loadCapacities is the load-capacity index table, kilograms by index.
// Source: UN Regulation 75, Annex 4 (the same list is in UN Regulations 30 and
// 54 and ISO 4000-1).
var loadCapacities = [...]float64{
	45, 46.2, 47.5, 48.7, 50, 51.5, 53, 54.5, 56, 58, // 0
	60, 61.5, 63, 65, 67, 69, 71, 73, 75, 77.5, // 10
	80, 82.5, 85, 87.5, 90, 92.5, 95, 97.5, 100, 103, // 20
	106, 109, 112, 115, 118, 121, 125, 128, 132, 136, // 30
	140, 145, 150, 155, 160, 165, 170, 175, 180, 185, // 40
	190, 195, 200, 206, 212, 218, 224, 230, 236, 243, // 50
	250, 257, 265, 272, 280, 290, 300, 307, 315, 325, // 60
	335, 345, 355, 365, 375, 387, 400, 412, 425, 437, // 70
	450, 462, 475, 487, 500, 515, 530, 545, 560, 580, // 80
	600, 615, 630, 650, 670, 690, 710, 730, 750, 775, // 90
	800, 825, 850, 875, 900, 925, 950, 975, 1000, 1030, // 100
	1060, 1090, 1120, 1150, 1180, 1215, 1250, 1285, 1320, 1360, // 110
	1400, // 120
}

// LoadCapacityKg returns the mass in kilograms that one tyre may carry at the
// speed of its category symbol, for load-capacity indices 0 to 120.
//
// Source: UN Regulation 75, Annex 4.
func LoadCapacityKg(loadIndex int) (float64, error) {
	if err := inRange("loadIndex", float64(loadIndex), 0, float64(len(loadCapacities)-1)); err != nil {
		return 0, err
	}
	return loadCapacities[loadIndex], nil
}

var speedCategories = map[string]float64{
	"A1": 5, "A2": 10, "A3": 15, "A4": 20, "A5": 25, "A6": 30, "A7": 35, "A8": 40,
	"B": 50, "C": 60, "D": 65, "E": 70, "F": 80, "G": 90,
	"J": 100, "K": 110, "L": 120, "M": 130, "N": 140, "P": 150, "Q": 160, "R": 170,
	"S": 180, "T": 190, "U": 200, "H": 210, "V": 240, "W": 270, "Y": 300,
}

// SpeedCategoryKMH returns the speed in km/h of a speed category symbol, A1 to
// Y. Case does not matter. Note that H stands between U and V.
//
// Source: UN Regulation 75, 2, for B, C and F to W; the rest, from memory, from
// ISO 4000-1.
func SpeedCategoryKMH(symbol string) (float64, error) {
	v, ok := speedCategories[strings.ToUpper(symbol)]
	if !ok {
		return 0, badText("symbol", symbol, "A1 to A8 or a letter B to Y without I, O and X")
	}
	return v, nil
}

// maxTyreServiceKMH is the speed up to which the load capacity of the index
// holds for every symbol.
const maxTyreServiceKMH = 210

// TyreService is how far a tyre's service description reaches beyond what is
// asked of it. A negative margin falls short.
type TyreService struct {
	LoadMarginKg   float64
	SpeedMarginKMH float64
	// Adequate is set when neither margin is negative.
	Adequate bool
}

// CheckTyreService compares a service description with the load on the one tyre
// of an axle, in kilograms with rider, passenger and luggage, and with the
// machine's top speed in km/h. Above 210 km/h UN Regulation 75 reduces the load
// capacity by symbol and maker; such speeds are refused.
//
// Source: UN Regulation 75, 2 (load-capacity index, speed category symbol).
func CheckTyreService(loadIndex int, speedSymbol string, axleLoadKg, topSpeedKMH float64) (TyreService, error) {
	capacity, err := LoadCapacityKg(loadIndex)
	if err != nil {
		return TyreService{}, err
	}
	speed, ok := speedCategories[strings.ToUpper(speedSymbol)]
	if !ok {
		return TyreService{}, badText("speedSymbol", speedSymbol, "A1 to A8 or a letter B to Y without I, O and X")
	}
	if err := firstErr(
		positive("axleLoadKg", axleLoadKg),
		positive("topSpeedKMH", topSpeedKMH),
		inRange("topSpeedKMH", topSpeedKMH, 0, maxTyreServiceKMH),
	); err != nil {
		return TyreService{}, err
	}
	s := TyreService{LoadMarginKg: capacity - axleLoadKg, SpeedMarginKMH: speed - topSpeedKMH}
	s.Adequate = s.LoadMarginKg >= 0 && s.SpeedMarginKMH >= 0
	return s, nil
}
