package workshop

// TyrePressureAt returns the gauge pressure in kPa that a tyre set to
// setGaugeKPa at setTempC and ambient pressure setAmbientKPa shows at tempC and
// ambientKPa, no air let in or out: (pg + pa)/T is constant, then less the new
// ambient pressure. With the two states exchanged it gives the pressure to set
// here and now so that the tyre has the wanted one there and then. Ambient
// pressures come from a barometer or from [StandardAtmosphere]. The tyre's
// volume is taken as constant; a tyre gives a little, so the real change is
// somewhat smaller. Temperatures −40 to 120 °C, ambient pressures 20 to 110 kPa.
//
// A result below 0 would be a tyre that has collapsed; it is refused.
//
// Source: Gay-Lussac's law (closed form).
func TyrePressureAt(setGaugeKPa, setTempC, setAmbientKPa, tempC, ambientKPa float64) (float64, error) {
	const lowC, highC, lowKPa, highKPa = -40, 120, 20, 110
	if err := firstErr(
		nonNegative("setGaugeKPa", setGaugeKPa),
		inRange("setTempC", setTempC, lowC, highC),
		inRange("setAmbientKPa", setAmbientKPa, lowKPa, highKPa),
		inRange("tempC", tempC, lowC, highC),
		inRange("ambientKPa", ambientKPa, lowKPa, highKPa),
	); err != nil {
		return 0, err
	}
	absolute := (setGaugeKPa + setAmbientKPa) * (tempC + zeroCelsiusK) / (setTempC + zeroCelsiusK)
	gauge := absolute - ambientKPa
	if gauge < 0 {
		return 0, badInput("setGaugeKPa", setGaugeKPa, "a pressure that stays above the new ambient pressure")
	}
	return gauge, nil
}
