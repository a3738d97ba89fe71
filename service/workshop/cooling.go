package workshop

// glycolWaterFraction returns the mole fraction of water in a mixture of
// ethylene glycol and water, by volume at 20 °C before mixing.
func glycolWaterFraction(glycolPercent float64) float64 {
	const (
		glycolMolesPerML = 1.113 / 62.07   // density g/ml over molar mass g/mol
		waterMolesPerML  = 0.9982 / 18.015 // likewise
	)
	glycol := glycolPercent * glycolMolesPerML
	water := (100 - glycolPercent) * waterMolesPerML
	return water / (water + glycol)
}

// CoolantBoilingPoint returns the temperature in °C at which the coolant boils
// under a radiator cap that opens at capKPa above an ambient pressure of
// ambientKPa (from a barometer or [StandardAtmosphere]). glycolPercent is the
// volume share of pure ethylene glycol, 0 to 70; a concentrate is about 95 % of
// it. An open or leaking system is capKPa 0.
//
// The mixture is taken as ideal (Raoult's law) and glycol's own vapour is left
// out: water boils out of it at the temperature at which pure water would have
// the pressure divided by its mole fraction. Up to 70 % that agrees with the
// handbook table at atmospheric pressure within 1.5 K. Propylene glycol raises
// the boiling point less and is not covered.
//
// Sources: IAPWS-IF97 for water; Raoult's law.
func CoolantBoilingPoint(capKPa, ambientKPa, glycolPercent float64) (float64, error) {
	if err := firstErr(
		inRange("capKPa", capKPa, 0, 300),
		inRange("ambientKPa", ambientKPa, 20, 110),
		inRange("glycolPercent", glycolPercent, 0, 70),
	); err != nil {
		return 0, err
	}
	return WaterBoilingPoint((capKPa + ambientKPa) / glycolWaterFraction(glycolPercent))
}

// FanSwitch is how a fan switch stands to the rest of the cooling system, in
// kelvins. A negative figure is a fault.
type FanSwitch struct {
	// AboveThermostatK is from the thermostat's opening to the fan's switching
	// off. Below 0 the fan cools what the thermostat holds back and never stops.
	AboveThermostatK float64
	// HysteresisK is from the fan's switching on down to its switching off. At 0
	// the fan chatters.
	HysteresisK float64
	// BelowBoilingK is from the fan's switching on to the boiling point, less the
	// margin asked for.
	BelowBoilingK float64
	// Sane is set when the fan switches off above the thermostat, on above off,
	// and on with the margin left.
	Sane bool
}

// CheckFanSwitch compares the temperatures of a fan switch, in °C, with the
// thermostat's opening and the coolant's boiling point (see
// [CoolantBoilingPoint]). marginK is how far below boiling the fan must be on;
// 10 K is usual.
//
// Source: common practice, no source.
func CheckFanSwitch(thermostatC, fanOffC, fanOnC, boilingC, marginK float64) (FanSwitch, error) {
	if err := firstErr(
		inRange("thermostatC", thermostatC, 0, 200),
		inRange("fanOffC", fanOffC, 0, 200),
		inRange("fanOnC", fanOnC, 0, 200),
		inRange("boilingC", boilingC, 0, 250),
		nonNegative("marginK", marginK),
	); err != nil {
		return FanSwitch{}, err
	}
	f := FanSwitch{
		AboveThermostatK: fanOffC - thermostatC,
		HysteresisK:      fanOnC - fanOffC,
		BelowBoilingK:    boilingC - marginK - fanOnC,
	}
	f.Sane = f.AboveThermostatK >= 0 && f.HysteresisK > 0 && f.BelowBoilingK >= 0
	return f, nil
}
