package formula

import (
	"math"
	"slices"

	"github.com/snapgauge/snapgauge/service/workshop"
)

const (
	iso898          = "ISO 898-1:2013"
	fastenerCaution = "A check of a stated torque, not a substitute for one: the manual governs. In an aluminium case the thread in the case gives first."
	frictionCaution = "Friction scatters: expect ±25 % of preload at a given torque. " + fastenerCaution
)

var (
	threadInput = input{name: "thread", read: readThread, param: "designation DiameterMM PitchMM diameterMM",
		what: "ISO metric thread, M8 for the coarse pitch or M10x1.25"}
	classInput = input{name: "class", choices: propertyClasses, param: "class", what: "Property class as on the bolt's head"}
	// propertyClasses are those of [workshop.ProofStress].
	propertyClasses = []string{"4.6", "4.8", "5.6", "5.8", "6.8", "8.8", "9.8", "10.9", "12.9"}

	preloadInput = input{name: "preload", unit: "N", param: "preloadN", what: "Preload of the bolt"}
	torqueInput  = input{name: "torque", unit: "N.m", param: "torqueNM", what: "Tightening torque"}
	nutFactor    = input{name: "nut_factor", unit: "1", param: "nutFactor", what: "K in T = K·d·F, about 0.2 for dry plated steel"}
	diameter     = input{name: "diameter", unit: "mm", param: "diameterMM", what: "Nominal diameter of the thread"}
)

// jointInputs describe a bolted joint; [jointOf] reads them.
var jointInputs = []input{
	threadInput,
	{name: "thread_friction", unit: "1", param: "ThreadFriction", what: "Friction in the thread: about 0.10 to 0.14 oiled, 0.14 to 0.24 dry and plated, 0.08 to 0.12 with paste"},
	{name: "bearing_friction", unit: "1", param: "BearingFriction", what: "Friction under the head or nut, likewise"},
	{name: "bearing_diameter", unit: "mm", optional: true, param: "BearingDiameterMM", what: "Mean diameter of the ring that turns on the part; left out, 1.3 times the thread's, an ordinary hexagon head"},
}

const jointSource = "ISO 16047:2005, formula for the torque/clamp-force ratio; the same as Machinery's Handbook, 31st edition, p. 1665, equation 22"

func jointOf(a *arguments) workshop.Joint {
	return workshop.Joint{
		Thread:            value[workshop.Thread](a, "thread"),
		ThreadFriction:    a.num("thread_friction"),
		BearingFriction:   a.num("bearing_friction"),
		BearingDiameterMM: a.numOr("bearing_diameter", 0),
	}
}

// standardSize takes the rounding of a conversion off a diameter, so that 8 mm
// written in inches is found in the table.
func standardSize(mm float64) float64 { return math.Round(mm*1e6) / 1e6 }

var fasteners = []Formula{
	{
		name: "thread", topic: "fasteners",
		description: "The basic dimensions of an ISO metric thread.",
		source:      "ISO 68-1 and ISO 724:1993; ISO 898-1:2013, 9.1.6.1; the drill, " + commonPractice,
		inputs:      []input{threadInput},
		results: []result{
			{name: "pitch", unit: "mm", form: asStands, what: "Distance from one thread to the next"},
			{name: "pitch_diameter", unit: "mm", form: asStands, what: "Pitch diameter d2"},
			{name: "minor_diameter", unit: "mm", form: asStands, what: "Minor diameter d1 of the internal thread"},
			{name: "core_diameter", unit: "mm", form: asStands, what: "Core diameter d3 of the external thread"},
			{name: "height", unit: "mm", form: asStands, what: "Height H of the fundamental triangle"},
			{name: "stress_area", unit: "mm2", what: "Stress area"},
			{name: "lead_angle", unit: "deg", what: "Lead angle at the pitch diameter"},
			{name: "tapping_drill", unit: "mm", form: asStands, what: "Drill that leaves about three quarters of the thread"},
		},
		work: func(a *arguments) (outputs, error) {
			t := value[workshop.Thread](a, "thread")
			g, err := t.Geometry()
			return outputs{
				number(t.PitchMM), number(g.PitchDiameterMM), number(g.MinorDiameterMM), number(g.CoreDiameterMM),
				number(g.HeightMM), number(g.StressAreaMM2), number(g.LeadAngleDeg), number(g.TappingDrillApproxMM),
			}, err
		},
	},
	{
		name: "coarse-pitch", topic: "fasteners",
		description: "The pitch that a thread designation without one means.",
		source:      "ISO 261:1998, table 2",
		inputs:      []input{diameter},
		results:     []result{{name: "pitch", unit: "mm", form: asStands, what: "Pitch of the coarse series"}},
		work: func(a *arguments) (outputs, error) {
			pitch, err := workshop.CoarsePitch(standardSize(a.num("diameter")))
			return outputs{number(pitch)}, blame("diameter", err)
		},
	},
	{
		name: "proof-stress", topic: "fasteners",
		description: "The stress that a steel bolt of a property class bears without lasting stretch.",
		source:      iso898 + ", table 3", caution: fastenerCaution,
		inputs:  []input{classInput, diameter},
		results: []result{{name: "stress", unit: "MPa", what: "Stress under proof load"}},
		work: func(a *arguments) (outputs, error) {
			return one(workshop.ProofStress(a.choice("class"), a.num("diameter")))
		},
	},
	{
		name: "proof-load", topic: "fasteners",
		description: "The force that a steel bolt bears without lasting stretch.",
		source:      iso898 + ", 9.6, tables 5 and 7", caution: fastenerCaution,
		inputs:  []input{threadInput, classInput},
		results: []result{{name: "load", unit: "N", what: "Proof load"}},
		work: func(a *arguments) (outputs, error) {
			return one(workshop.ProofLoad(value[workshop.Thread](a, "thread"), a.choice("class")))
		},
	},
	{
		name: "proof-use", topic: "fasteners",
		description: "What share of its proof load a bolt is preloaded to.",
		source:      closedForm + "; three quarters for bolts that are taken out again, " + commonPractice,
		caution:     "A bolt yields under the wrench somewhat below its proof load. " + fastenerCaution,
		inputs: []input{preloadInput,
			{name: "proof_load", unit: "N", param: "proofLoadN", what: "Proof load of the bolt"},
		},
		results: []result{{name: "use", unit: "1", form: share, what: "Share of the proof load; 1 is all of it"}},
		work: func(a *arguments) (outputs, error) {
			return one(workshop.ProofUse(a.num("preload"), a.num("proof_load")))
		},
	},
	{
		name: "torque-for-preload", topic: "fasteners",
		description: "The tightening torque that gives a preload in a bolted joint.",
		source:      jointSource, caution: "The prevailing torque of a self-locking nut comes on top. " + frictionCaution,
		inputs:  slices.Concat(jointInputs, []input{preloadInput}),
		results: []result{{name: "torque", unit: "N.m", what: "Tightening torque"}},
		work: func(a *arguments) (outputs, error) {
			return one(jointOf(a).Torque(a.num("preload")))
		},
	},
	{
		name: "preload-for-torque", topic: "fasteners",
		description: "The preload that a tightening torque gives in a bolted joint.",
		source:      jointSource, caution: frictionCaution,
		inputs:  slices.Concat(jointInputs, []input{torqueInput}),
		results: []result{{name: "preload", unit: "N", what: "Preload of the bolt"}},
		work: func(a *arguments) (outputs, error) {
			return one(jointOf(a).Preload(a.num("torque")))
		},
	},
	{
		name: "nut-factor", topic: "fasteners",
		description: "The nut factor K in T = K·d·F of a bolted joint.",
		source:      jointSource, caution: frictionCaution,
		inputs:  jointInputs,
		results: []result{{name: "nut_factor", unit: "1", what: "Nut factor"}},
		work: func(a *arguments) (outputs, error) {
			return one(jointOf(a).NutFactor())
		},
	},
	{
		name: "torque-at-proof-share", topic: "fasteners",
		description: "The tightening torque that uses a share of a bolt's proof load.",
		source:      jointSource + "; " + iso898,
		caution:     "A torque above that for the whole proof load stretches the bolt for good. " + frictionCaution,
		inputs: slices.Concat(jointInputs, []input{classInput,
			{name: "share", unit: "1", fallback: "0.75", param: "share", what: "Share of the proof load; three quarters is usual for bolts that are taken out again"},
		}),
		results: []result{{name: "torque", unit: "N.m", what: "Tightening torque"}},
		work: func(a *arguments) (outputs, error) {
			return one(jointOf(a).TorqueAtProofShare(a.choice("class"), a.num("share")))
		},
	},
	{
		name: "nut-factor-torque", topic: "fasteners",
		description: "The tightening torque for a preload from a nut factor.",
		source:      "NASA RP-1228 (1990), fastener torque (from memory)", caution: frictionCaution,
		inputs:  []input{preloadInput, diameter, nutFactor},
		results: []result{{name: "torque", unit: "N.m", what: "Tightening torque"}},
		work: func(a *arguments) (outputs, error) {
			return one(workshop.TorqueFromNutFactor(a.num("preload"), a.num("diameter"), a.num("nut_factor")))
		},
	},
	{
		name: "nut-factor-preload", topic: "fasteners",
		description: "The preload from a tightening torque and a nut factor.",
		source:      "NASA RP-1228 (1990), fastener torque (from memory)", caution: frictionCaution,
		inputs:  []input{torqueInput, diameter, nutFactor},
		results: []result{{name: "preload", unit: "N", what: "Preload of the bolt"}},
		work: func(a *arguments) (outputs, error) {
			return one(workshop.PreloadFromNutFactor(a.num("torque"), a.num("diameter"), a.num("nut_factor")))
		},
	},
	{
		name: "spanner-size", topic: "fasteners",
		description: "The spanner size of an ordinary hexagon head or nut for a thread.",
		source:      "ISO 272:1982; ISO 4014:2011; ISO 4017:2014",
		caution:     "Flange bolts and heads to older national standards have other sizes: measure before using force.",
		inputs:      []input{threadInput},
		results:     []result{{name: "across_flats", unit: "mm", form: asStands, what: "Width across flats"}},
		work: func(a *arguments) (outputs, error) {
			return one(workshop.HexAcrossFlats(value[workshop.Thread](a, "thread").DiameterMM))
		},
	},
	{
		name: "key-size", topic: "fasteners",
		description: "The hexagon key size of a socket head cap screw for a thread.",
		source:      "ISO 4762:2004, table 1",
		caution:     "Button, countersunk and low heads take a smaller key.",
		inputs:      []input{threadInput},
		results:     []result{{name: "key", unit: "mm", form: asStands, what: "Size of the hexagon key"}},
		work: func(a *arguments) (outputs, error) {
			return one(workshop.SocketKey(value[workshop.Thread](a, "thread").DiameterMM))
		},
	},
}
