package workshop

// GearPair is two toothed wheels that drive one another, by tooth count.
type GearPair struct {
	// Driving is the wheel nearer the engine: for the final drive, the gearbox
	// sprocket.
	Driving int
	Driven  int
}

func (p GearPair) check(name string) error {
	// Nothing on a motorcycle has fewer teeth than a worm's one or more than a
	// few hundred.
	return firstErr(
		inRange(name+".Driving", float64(p.Driving), 1, 500),
		inRange(name+".Driven", float64(p.Driven), 1, 500),
	)
}

func (p GearPair) ratio() float64 {
	return float64(p.Driven) / float64(p.Driving)
}

// OverallRatio returns turns of the engine for one turn of the rear wheel: the
// product of driven over driving teeth of primary drive, gear and final drive.
//
// Source: closed form.
func OverallRatio(primary, gear, final GearPair) (float64, error) {
	if err := firstErr(primary.check("primary"), gear.check("gear"), final.check("final")); err != nil {
		return 0, err
	}
	return primary.ratio() * gear.ratio() * final.ratio(), nil
}

const (
	minutesPerHour = 60
	mmPerKM        = 1e6
)

// RoadSpeedKMH returns the road speed in km/h at an engine speed, without wheel
// slip. circumferenceMM is what the tyre rolls in one turn; see
// [Tyre.CircumferenceMM].
//
// Source: closed form.
func RoadSpeedKMH(engineRPM, overallRatio, circumferenceMM float64) (float64, error) {
	if err := firstErr(
		nonNegative("engineRPM", engineRPM),
		positive("overallRatio", overallRatio),
		positive("circumferenceMM", circumferenceMM),
	); err != nil {
		return 0, err
	}
	return engineRPM / overallRatio * circumferenceMM * minutesPerHour / mmPerKM, nil
}

// EngineRPM returns the engine speed at a road speed, the inverse of
// [RoadSpeedKMH].
//
// Source: closed form.
func EngineRPM(roadSpeedKMH, overallRatio, circumferenceMM float64) (float64, error) {
	if err := firstErr(
		nonNegative("roadSpeedKMH", roadSpeedKMH),
		positive("overallRatio", overallRatio),
		positive("circumferenceMM", circumferenceMM),
	); err != nil {
		return 0, err
	}
	return roadSpeedKMH * overallRatio / circumferenceMM / minutesPerHour * mmPerKM, nil
}

// SpeedsByGear returns [RoadSpeedKMH] for each gear in turn, first gear first,
// at one engine speed.
//
// Source: closed form.
func SpeedsByGear(engineRPM float64, primary GearPair, gears []GearPair, final GearPair, circumferenceMM float64) ([]float64, error) {
	if len(gears) == 0 {
		return nil, badInput("gears", 0, "at least one gear")
	}
	speeds := make([]float64, 0, len(gears))
	for _, gear := range gears {
		ratio, err := OverallRatio(primary, gear, final)
		if err != nil {
			return nil, err
		}
		speed, err := RoadSpeedKMH(engineRPM, ratio, circumferenceMM)
		if err != nil {
			return nil, err
		}
		speeds = append(speeds, speed)
	}
	return speeds, nil
}
