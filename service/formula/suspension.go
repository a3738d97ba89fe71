package formula

import "github.com/snapgauge/snapgauge/service/workshop"

const sagCaution = "Suspension and seat settle over about the first ten running hours: measure again then."

var (
	machineLoad = input{name: "machine_load", unit: "N", param: "machineLoadN", what: "Sprung load of the machine on this wheel, without the wheel and what turns with it; a mass of 60 kg weighs 60 kgf"}
	riderLoad   = input{name: "rider_load", unit: "N", param: "riderLoadN", what: "What the rider in riding position with gear adds on this wheel"}
	motionRatio = input{name: "motion_ratio", unit: "1", param: "motionRatio", what: "Spring travel over wheel travel: about 1 for a fork, 0.3 to 0.5 for a rear linkage"}
	springRate  = input{name: "rate", unit: "N/mm", param: "rateNPerMM", what: "Rate of the spring; of both together where two carry the wheel"}
)

var suspension = []Formula{
	{
		name: "sag", topic: "suspension",
		description: "The sag of a wheel's suspension from three measurements, free of friction.",
		source:      "the three-measurement method of the suspension workshops, published by several; common practice",
		caution:     "Much friction (over some 10 mm at the rear or 25 mm at the fork) means that something binds. " + sagCaution,
		inputs: []input{
			{name: "extended", unit: "mm", param: "extendedMM", what: "Axle to chassis with the wheel off the ground"},
			{name: "lifted", unit: "mm", param: "liftedMM", what: "The same after lifting the machine on its wheels and letting it settle"},
			{name: "pushed", unit: "mm", param: "pushedMM", what: "The same after pushing it down and letting it settle"},
		},
		results: []result{
			{name: "sag", unit: "mm", what: "Sag: static for the machine alone, race sag with the rider on"},
			{name: "friction", unit: "mm", what: "Distance between the two settled readings"},
		},
		work: func(a *arguments) (outputs, error) {
			s, err := workshop.MeasuredSag(a.num("extended"), a.num("lifted"), a.num("pushed"))
			return outputs{number(s.SagMM), number(s.FrictionMM)}, err
		},
	},
	{
		name: "spring-for-sag", topic: "suspension",
		description: "The spring rate and preload that give a wanted static and race sag.",
		source:      closedForm + "; wheel rate as in any text on vehicle dynamics, from memory", caution: sagCaution,
		inputs: []input{machineLoad, riderLoad,
			{name: "static_sag", unit: "mm", param: "staticSagMM", what: "Sag wanted at the wheel with the machine alone"},
			{name: "race_sag", unit: "mm", param: "raceSagMM", what: "Sag wanted at the wheel with the rider on"},
			motionRatio,
		},
		results: []result{
			{name: "rate", unit: "N/mm", what: "Rate of the spring"},
			{name: "wheel_rate", unit: "N/mm", what: "Rate felt at the wheel"},
			{name: "preload", unit: "mm", what: "How much the spring is compressed with the wheel fully extended"},
		},
		work: func(a *arguments) (outputs, error) {
			s, err := workshop.SpringForSag(a.num("machine_load"), a.num("rider_load"), a.num("static_sag"), a.num("race_sag"), a.num("motion_ratio"))
			return outputs{number(s.RateNPerMM), number(s.WheelRateNPerMM), number(s.PreloadMM)}, err
		},
	},
	{
		name: "preload-for-sag", topic: "suspension",
		description: "The preload of a fitted spring that gives a wanted sag.",
		source:      closedForm, caution: sagCaution,
		inputs: []input{
			{name: "load", unit: "N", param: "loadN", what: "Sprung load on this wheel, with the rider for race sag"},
			{name: "sag", unit: "mm", param: "sagMM", what: "Sag wanted at the wheel"},
			springRate, motionRatio,
		},
		results: []result{{name: "preload", unit: "mm", what: "How much the spring is compressed with the wheel fully extended"}},
		work: func(a *arguments) (outputs, error) {
			return one(workshop.PreloadForSag(a.num("load"), a.num("sag"), a.num("rate"), a.num("motion_ratio")))
		},
	},
	{
		name: "sag-for-spring", topic: "suspension",
		description: "The static and race sag that a spring and its preload give.",
		source:      closedForm, caution: sagCaution,
		inputs: []input{machineLoad, riderLoad, springRate,
			{name: "preload", unit: "mm", param: "preloadMM", what: "How much the spring is compressed with the wheel fully extended"},
			motionRatio,
		},
		results: []result{
			{name: "static_sag", unit: "mm", what: "Sag at the wheel with the machine alone"},
			{name: "race_sag", unit: "mm", what: "Sag at the wheel with the rider on"},
		},
		work: func(a *arguments) (outputs, error) {
			static, race, err := workshop.SagForSpring(a.num("machine_load"), a.num("rider_load"), a.num("rate"), a.num("preload"), a.num("motion_ratio"))
			return outputs{number(static), number(race)}, err
		},
	},
	{
		name: "fork-drop", topic: "suspension",
		description: "How far the steering head comes down when the fork compresses.",
		source:      closedForm + " (travel × cos rake)",
		inputs: []input{
			{name: "travel", unit: "mm", param: "travelMM", what: "Compression along the fork tubes"},
			{name: "rake", unit: "deg", param: "rakeDeg", what: "Angle of the tubes from the vertical"},
		},
		results: []result{{name: "drop", unit: "mm", what: "How far the steering head comes down"}},
		work: func(a *arguments) (outputs, error) {
			return one(workshop.ForkDrop(a.num("travel"), a.num("rake")))
		},
	},
	{
		name: "seat-height-settled", topic: "suspension",
		description: "The seat height of a run-in machine from the height measured new.",
		source:      closedForm + " (straight line between the axles); settling, " + commonPractice, caution: sagCaution,
		inputs: []input{
			{name: "new_height", unit: "mm", param: "newMM", what: "Seat height measured new"},
			{name: "front_drop", unit: "mm", param: "frontDropMM", what: "How far the chassis has come down over the front axle; negative where it came up"},
			{name: "rear_drop", unit: "mm", param: "rearDropMM", what: "The same over the rear axle"},
			{name: "foam_loss", unit: "mm", fallback: "0 mm", param: "foamLossMM", what: "What the seat itself lost"},
			{name: "seat_from_front", unit: "mm", param: "seatFromFrontMM", what: "The seat's low point behind the front axle"},
			{name: "wheelbase", unit: "mm", param: "wheelbaseMM", what: "Wheelbase"},
		},
		results: []result{{name: "height", unit: "mm", what: "Seat height when run in"}},
		work: func(a *arguments) (outputs, error) {
			return one(workshop.SeatHeightSettled(a.num("new_height"), a.num("front_drop"), a.num("rear_drop"),
				a.num("foam_loss"), a.num("seat_from_front"), a.num("wheelbase")))
		},
	},
}
