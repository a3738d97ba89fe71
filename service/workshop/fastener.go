package workshop

import "math"

// propertyClass holds what ISO 898-1 prints for one class of bolt.
type propertyClass struct {
	proofMPa      float64 // S_p,nom
	largeProofMPa float64 // S_p,nom for d > 16 mm where it differs
	largestMM     float64 // the largest d of the class; 0 for 39 mm
}

// propertyClasses: nominal stress under proof load.
//
// Source: ISO 898-1:2013, table 3; proof loads recomputed and compared with
// tables 5 and 7.
var propertyClasses = map[string]propertyClass{
	"4.6":  {proofMPa: 225},
	"4.8":  {proofMPa: 310},
	"5.6":  {proofMPa: 280},
	"5.8":  {proofMPa: 380},
	"6.8":  {proofMPa: 440},
	"8.8":  {proofMPa: 580, largeProofMPa: 600},
	"9.8":  {proofMPa: 650, largestMM: 16},
	"10.9": {proofMPa: 830},
	"12.9": {proofMPa: 970},
}

// ProofStress returns the stress in MPa that a steel bolt of the property class
// must bear without lasting stretch. The class is written as on the head: 4.6,
// 4.8, 5.6, 5.8, 6.8, 8.8, 9.8 (to 16 mm), 10.9 or 12.9. Class 8.8 has a higher
// value above 16 mm. The diameter must be 1.6 to 39 mm.
//
// Stainless (A2-70), aluminium and titanium fasteners have no ISO 898-1 class
// and are refused.
//
// Source: ISO 898-1:2013, table 3.
func ProofStress(class string, diameterMM float64) (float64, error) {
	c, ok := propertyClasses[class]
	if !ok {
		return 0, badText("class", class, "an ISO 898-1 property class: 4.6, 4.8, 5.6, 5.8, 6.8, 8.8, 9.8, 10.9 or 12.9")
	}
	largest := 39.0
	if c.largestMM != 0 {
		largest = c.largestMM
	}
	if err := inRange("diameterMM", diameterMM, 1.6, largest); err != nil {
		return 0, err
	}
	if diameterMM > 16 && c.largeProofMPa != 0 {
		return c.largeProofMPa, nil
	}
	return c.proofMPa, nil
}

// ProofLoad returns the force in newtons that a full bolt of this thread and
// property class must bear without lasting stretch: stress area × proof stress.
// The printed tables round the area and the load to three digits; this does not,
// so it differs from them by up to 0.7 %. Errors are those of [ProofStress] and
// [Thread.Geometry].
//
// It holds for full-shank steel bolts at room temperature in a nut or thread at
// least as strong. In an aluminium case the thread in the case gives first.
//
// Source: ISO 898-1:2013, 9.6, tables 5 and 7.
func ProofLoad(thread Thread, class string) (float64, error) {
	g, err := thread.Geometry()
	if err != nil {
		return 0, err
	}
	stress, err := ProofStress(class, thread.DiameterMM)
	if err != nil {
		return 0, err
	}
	return stress * g.StressAreaMM2, nil
}

// ProofUse returns the share of its proof load that a bolt is preloaded to; 1
// is all of it. The preload must be at least 0 and the proof load above 0.
// Tightening twists the bolt too, so it yields under the wrench at a preload
// somewhat below its proof load; 0.75 is common practice for bolts that are
// taken out again (no source).
func ProofUse(preloadN, proofLoadN float64) (float64, error) {
	if err := firstErr(nonNegative("preloadN", preloadN), positive("proofLoadN", proofLoadN)); err != nil {
		return 0, err
	}
	return preloadN / proofLoadN, nil
}

// Joint is what turns torque into preload in one bolted joint.
type Joint struct {
	Thread Thread
	// ThreadFriction and BearingFriction are coefficients, 0.02 to 1: about 0.10
	// to 0.14 oiled, 0.14 to 0.24 dry and plated, 0.08 to 0.12 with paste.
	ThreadFriction, BearingFriction float64
	// BearingDiameterMM is the mean diameter of the ring that turns on the part.
	// 0 stands for 1.3·d, an ordinary hexagon head.
	BearingDiameterMM float64
}

// torquePerNewton returns the tightening torque in N·mm for 1 N of preload.
func (j Joint) torquePerNewton() (float64, error) {
	g, err := j.Thread.Geometry()
	if err != nil {
		return 0, err
	}
	if err := firstErr(
		inRange("ThreadFriction", j.ThreadFriction, 0.02, 1),
		inRange("BearingFriction", j.BearingFriction, 0.02, 1),
	); err != nil {
		return 0, err
	}
	bearing := j.BearingDiameterMM
	if bearing == 0 {
		bearing = 1.3 * j.Thread.DiameterMM
	}
	if err := inRange("BearingDiameterMM", bearing, j.Thread.DiameterMM, 5*j.Thread.DiameterMM); err != nil {
		return 0, err
	}
	const cosHalfFlank = 0.8660254037844386 // cos 30°: half of the 60° profile
	return j.Thread.PitchMM/(2*math.Pi) +
		j.ThreadFriction*g.PitchDiameterMM/(2*cosHalfFlank) +
		j.BearingFriction*bearing/2, nil
}

// Torque returns the tightening torque in newton metres that gives a preload in
// newtons (at least 0):
//
//	T = F·(P/2π + μ_thread·d2/(2·cos 30°) + μ_bearing·D_bearing/2)
//
// Prevailing torque of a self-locking nut comes on top of it. Frictions must be
// 0.02 to 1, the bearing diameter d to 5·d or 0. Friction scatters: expect ±25 %
// of preload at a given torque.
//
// Source: ISO 16047:2005, formula for the torque/clamp-force ratio; the same as
// Machinery's Handbook, 31st edition, p. 1665, equation 22.
func (j Joint) Torque(preloadN float64) (float64, error) {
	if err := nonNegative("preloadN", preloadN); err != nil {
		return 0, err
	}
	per, err := j.torquePerNewton()
	if err != nil {
		return 0, err
	}
	return preloadN * per / 1000, nil
}

// Preload returns the preload in newtons that a tightening torque in newton
// metres (at least 0) gives. It is the inverse of [Joint.Torque].
func (j Joint) Preload(torqueNM float64) (float64, error) {
	if err := nonNegative("torqueNM", torqueNM); err != nil {
		return 0, err
	}
	per, err := j.torquePerNewton()
	if err != nil {
		return 0, err
	}
	return torqueNM * 1000 / per, nil
}

// NutFactor returns K in T = K·d·F for the joint: about 0.2 for friction 0.15.
func (j Joint) NutFactor() (float64, error) {
	per, err := j.torquePerNewton()
	if err != nil {
		return 0, err
	}
	return per / j.Thread.DiameterMM, nil
}

// TorqueAtProofShare returns the tightening torque in newton metres that uses a
// share (above 0, at most 1) of the proof load of a bolt of the property class.
// A stated torque above that for share 1 stretches the bolt for good.
func (j Joint) TorqueAtProofShare(class string, share float64) (float64, error) {
	if !(share > 0 && share <= 1) {
		return 0, badInput("share", share, "a share above 0 and at most 1")
	}
	proof, err := ProofLoad(j.Thread, class)
	if err != nil {
		return 0, err
	}
	return j.Torque(share * proof)
}

// TorqueFromNutFactor returns T = K·d·F in newton metres. The preload must be at
// least 0, the diameter above 0, the nut factor 0.02 to 1.
//
// Source: NASA RP-1228 (1990), fastener torque (from memory).
func TorqueFromNutFactor(preloadN, diameterMM, nutFactor float64) (float64, error) {
	if err := firstErr(nonNegative("preloadN", preloadN), positive("diameterMM", diameterMM), inRange("nutFactor", nutFactor, 0.02, 1)); err != nil {
		return 0, err
	}
	return nutFactor * diameterMM * preloadN / 1000, nil
}

// PreloadFromNutFactor returns F = T/(K·d) in newtons. The torque must be at
// least 0, the diameter above 0, the nut factor 0.02 to 1. It is the inverse of
// [TorqueFromNutFactor].
func PreloadFromNutFactor(torqueNM, diameterMM, nutFactor float64) (float64, error) {
	if err := firstErr(nonNegative("torqueNM", torqueNM), positive("diameterMM", diameterMM), inRange("nutFactor", nutFactor, 0.02, 1)); err != nil {
		return 0, err
	}
	return torqueNM * 1000 / (nutFactor * diameterMM), nil
}
