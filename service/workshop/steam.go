package workshop

import "math"

// steamCoefficients are n₁ to n₁₀ of the saturation equation, at their own
// index.
var steamCoefficients = [11]float64{
	1:  0.11670521452767e4,
	2:  -0.72421316703206e6,
	3:  -0.17073846940092e2,
	4:  0.12020824702470e5,
	5:  -0.32325550322333e7,
	6:  0.14915108613530e2,
	7:  -0.48232657361591e4,
	8:  0.40511340542057e6,
	9:  -0.23855557567849,
	10: 0.65017534844798e3,
}

const (
	steamLowKPa  = 0.611213
	steamHighKPa = 22064.0
	steamHighC   = 373.946
	kPaPerMPa    = 1000
)

// WaterBoilingPoint returns the temperature in °C at which water boils under an
// absolute pressure of 0.611213 to 22 064 kPa.
//
// Source: IAPWS R7-97 (IAPWS-IF97), region 4, equation 31.
func WaterBoilingPoint(pressureKPa float64) (float64, error) {
	if err := inRange("pressureKPa", pressureKPa, steamLowKPa, steamHighKPa); err != nil {
		return 0, err
	}
	n := &steamCoefficients
	b := math.Sqrt(math.Sqrt(pressureKPa / kPaPerMPa))
	e := b*b + n[3]*b + n[6]
	f := n[1]*b*b + n[4]*b + n[7]
	g := n[2]*b*b + n[5]*b + n[8]
	d := 2 * g / (-f - math.Sqrt(f*f-4*e*g))
	sum := n[10] + d
	tempK := (sum - math.Sqrt(sum*sum-4*(n[9]+n[10]*d))) / 2
	return tempK - zeroCelsiusK, nil
}

// WaterVapourPressure returns the absolute pressure in kPa under which water
// boils at a temperature of 0 to 373.946 °C: the inverse of
// [WaterBoilingPoint].
//
// Source: IAPWS R7-97 (IAPWS-IF97), region 4, equation 30.
func WaterVapourPressure(tempC float64) (float64, error) {
	if err := inRange("tempC", tempC, 0, steamHighC); err != nil {
		return 0, err
	}
	n := &steamCoefficients
	tempK := tempC + zeroCelsiusK
	t := tempK + n[9]/(tempK-n[10])
	a := t*t + n[1]*t + n[2]
	b := n[3]*t*t + n[4]*t + n[5]
	c := n[6]*t*t + n[7]*t + n[8]
	root := 2 * c / (-b + math.Sqrt(b*b-4*a*c))
	return root * root * root * root * kPaPerMPa, nil
}
