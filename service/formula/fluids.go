package formula

import "github.com/snapgauge/snapgauge/service/workshop"

const (
	premixCaution     = "Too little oil seizes the engine, and the ratio is the maker's to state. Shake the mixture, and mark the can."
	brakeFluidCaution = "A wrong or mixed fluid swells seals and boils: the brake then fails. The marking on the reservoir governs."
	oilCaution        = "The grade and viscosity that the engine's maker states govern."
)

var (
	ratioInput  = input{name: "ratio", unit: "1", mix: true, param: "ratio", what: "Parts of fuel to one part of oil, 5 at least: 50:1, 1:50, 50 or 2 %"}
	suitsResult = result{name: "suits", what: "Whether it may be used"}
)

// suits hands the required and the offered grade on.
func suits(f func(required, offered string) (bool, error)) func(*arguments) (outputs, error) {
	return func(a *arguments) (outputs, error) {
		return whether(f(value[string](a, "required"), value[string](a, "offered")))
	}
}

var fluids = []Formula{
	{
		name: "premix-dose", topic: "fluids",
		description: "How much oil to add to fuel for a pre-mix ratio.",
		source:      closedForm, caution: premixCaution,
		inputs: []input{
			{name: "fuel", unit: "mL", param: "fuelML", what: "Volume of fuel, without the oil"},
			ratioInput,
		},
		results: []result{{name: "oil", unit: "mL", what: "Volume of oil to add"}},
		work: func(a *arguments) (outputs, error) {
			return one(workshop.PremixDose(a.num("fuel"), a.num("ratio")))
		},
	},
	{
		name: "premix-dose-for-total", topic: "fluids",
		description: "How much oil is in a volume of finished mixture, for filling a can to a mark.",
		source:      closedForm, caution: premixCaution,
		inputs: []input{
			{name: "mixture", unit: "mL", param: "mixtureML", what: "Volume of finished mixture"},
			ratioInput,
		},
		results: []result{
			{name: "oil", unit: "mL", what: "Volume of oil"},
			{name: "fuel", unit: "mL", what: "Volume of fuel"},
		},
		work: func(a *arguments) (outputs, error) {
			oil, err := workshop.PremixDoseForTotal(a.num("mixture"), a.num("ratio"))
			return outputs{number(oil), number(a.num("mixture") - oil)}, err
		},
	},
	{
		name: "premix-ratio", topic: "fluids",
		description: "The ratio of a mixture of fuel and oil.",
		source:      closedForm, caution: premixCaution,
		inputs: []input{
			{name: "fuel", unit: "mL", param: "fuelML", what: "Volume of fuel, without the oil"},
			{name: "oil", unit: "mL", param: "oilML", what: "Volume of oil"},
		},
		results: []result{{name: "ratio", unit: "1", form: ratioToOne, what: "Parts of fuel to one part of oil"}},
		work: func(a *arguments) (outputs, error) {
			return one(workshop.PremixRatio(a.num("fuel"), a.num("oil")))
		},
	},
	{
		name: "effective-ratio", topic: "fluids",
		description: "The ratio that an engine runs on when oil reaches the fuel by several ways at once, as pre-mix in the first tank of an injected two-stroke.",
		source:      "closed form: the oil shares add; pre-mix in the first tank, " + commonPractice,
		caution:     "The engine smokes until that tank is gone, and idle is not set before. There is no warning lamp for an oil pump that fails.",
		inputs: []input{
			{name: "ratios", unit: "1", mix: true, repeated: true, param: "ratios", what: "Ratio of each way, parts of fuel to one of oil, 5 at least: 50:1, 40:1"},
		},
		results: []result{{name: "ratio", unit: "1", form: ratioToOne, what: "Parts of fuel to one part of all the oil"}},
		work: func(a *arguments) (outputs, error) {
			return one(workshop.EffectiveRatio(a.nums("ratios")...))
		},
	},
	{
		name: "two-stroke-oil-suits", topic: "fluids",
		description: "Whether a two-stroke oil of one grade may stand in for the required grade.",
		source:      "JASO M345; ISO 13738 (from memory)",
		caution:     "Whether an oil is fit for injection or for pre-mix only is not in the grade: read the can.",
		inputs: []input{
			{name: "required", read: plainText, param: "required", what: "Grade that is required: JASO FA to FD or ISO-L-EGB to EGD"},
			{name: "offered", read: plainText, param: "offered", what: "Grade at hand, likewise"},
		},
		results: []result{suitsResult},
		work:    suits(workshop.TwoStrokeOilSuits),
	},
	{
		name: "wet-clutch-oil-suits", topic: "fluids",
		description: "Whether a four-stroke oil of one clutch friction class may stand in for the required class.",
		source:      "JASO T 903:2016, clutch friction classes, as quoted by an additive maker",
		caution:     "An MB oil lets a wet clutch slip.",
		inputs: []input{
			{name: "required", read: plainText, param: "required", what: "JASO T 903 class that is required: MA, MA1, MA2 or MB"},
			{name: "offered", read: plainText, param: "offered", what: "Class at hand, likewise"},
		},
		results: []result{suitsResult},
		work:    suits(workshop.WetClutchOilSuits),
	},
	{
		name: "clutch-friction-class", topic: "fluids",
		description: "The clutch friction class of a four-stroke oil from the indices of its test.",
		source:      "JASO T 903:2016, limits as quoted by an additive maker and an oil maker",
		caution:     oilCaution,
		inputs: []input{
			{name: "dynamic", unit: "1", param: "dynamic", what: "Dynamic friction characteristic index"},
			{name: "static", unit: "1", param: "static", what: "Static friction characteristic index"},
			{name: "stop_time", unit: "1", param: "stopTime", what: "Stop time index"},
		},
		results: []result{{name: "class", what: "Clutch friction class: MA1, MA2, MA or MB"}},
		work: func(a *arguments) (outputs, error) {
			class, err := workshop.ClutchFrictionClass(a.num("dynamic"), a.num("static"), a.num("stop_time"))
			return outputs{words(class)}, err
		},
	},
	{
		name: "viscosity-grade", topic: "fluids",
		description: "What an engine oil grade promises: its viscosity when hot, and the outside temperatures it is used in.",
		source:      "SAE J300 (JAN 2015), table 1; 0 °C and the warm end of the temperatures, " + commonPractice,
		caution:     oilCaution,
		inputs: []input{
			{name: "grade", read: readViscosity, param: "grade Hot Winter", what: "SAE J300 grade as on the can: 10W-40, 30 or 5W"},
		},
		results: []result{
			{name: "viscosity_from", unit: "mm2/s", what: "Least kinematic viscosity at 100 °C"},
			{name: "viscosity_below", unit: "mm2/s", what: "Kinematic viscosity at 100 °C that it stays below"},
			{name: "coldest", unit: "Cel", what: "Coldest outside temperature"},
			{name: "warmest", unit: "Cel", what: "Warmest outside temperature"},
		},
		work: viscosityGrade,
	},
	{
		name: "viscosity-suits", topic: "fluids",
		description: "Whether an engine oil grade covers a range of outside temperatures.",
		source:      "SAE J300 (JAN 2015), table 1; 0 °C and the warm end of the temperatures, " + commonPractice,
		caution:     oilCaution,
		inputs: []input{
			{name: "grade", read: readViscosity, param: "grade Hot Winter", what: "SAE J300 grade as on the can: 10W-40, 30 or 5W"},
			{name: "lowest", unit: "Cel", param: "lowestC", what: "Lowest outside temperature"},
			{name: "highest", unit: "Cel", param: "highestC", what: "Highest outside temperature"},
		},
		results: []result{suitsResult},
		work: func(a *arguments) (outputs, error) {
			grade := value[workshop.Viscosity](a, "grade").String()
			return whether(workshop.ViscositySuits(grade, a.num("lowest"), a.num("highest")))
		},
	},
	{
		name: "brake-fluid-grade", topic: "fluids",
		description: "What a grade promises of a brake fluid: its base and its least boiling points.",
		source:      "49 CFR 571.116, S5.1.1 and S5.1.2, as quoted by an encyclopedia",
		caution:     brakeFluidCaution,
		inputs: []input{
			{name: "grade", choices: brakeFluidGrades, what: "Grade on the container"},
		},
		results: []result{
			{name: "base", what: "What it is made of; bases never mix"},
			{name: "dry_boiling_point", unit: "Cel", what: "Least boiling point as filled"},
			{name: "wet_boiling_point", unit: "Cel", what: "Least boiling point with the water of some years' use"},
		},
		work: brakeFluidGrade,
	},
	{
		name: "brake-fluids-mix", topic: "fluids",
		description: "Whether brake fluids of two grades may meet in one system.",
		source:      "bases, 49 CFR 571.116; not mixing them, " + commonPractice,
		caution:     brakeFluidCaution + " A mixture of glycol grades has the boiling point of neither.",
		inputs: []input{
			{name: "grade", choices: brakeFluidGrades, what: "Grade of the one"},
			{name: "other", choices: brakeFluidGrades, what: "Grade of the other"},
		},
		results: []result{{name: "may_meet", what: "Whether they may meet"}},
		work: func(a *arguments) (outputs, error) {
			return whether(workshop.BrakeFluidsMix(a.choice("grade"), a.choice("other")))
		},
	},
	{
		name: "brake-fluid-suits", topic: "fluids",
		description: "Whether a brake fluid of one grade may fill a system that requires another.",
		source:      "49 CFR 571.116, S5.1.1 and S5.1.2, as quoted by an encyclopedia",
		caution:     brakeFluidCaution,
		inputs: []input{
			{name: "required", choices: brakeFluidGrades, what: "Grade that the system requires"},
			{name: "offered", choices: brakeFluidGrades, what: "Grade at hand"},
		},
		results: []result{suitsResult},
		work: func(a *arguments) (outputs, error) {
			return whether(workshop.BrakeFluidSuits(a.choice("required"), a.choice("offered")))
		},
	},
}

var brakeFluidGrades = []string{"DOT 3", "DOT 4", "DOT 5", "DOT 5.1", "mineral"}

func brakeFluidGrade(a *arguments) (outputs, error) {
	f, err := workshop.BrakeFluidGrade(a.choice("grade"))
	if err != nil {
		return nil, err
	}
	switch f.Base {
	case workshop.Silicone:
		return outputs{words("silicone"), number(f.DryBoilingC), number(f.WetBoilingC)}, nil
	case workshop.MineralOil:
		return outputs{words("mineral oil"), absent(), absent()}, nil
	}
	return outputs{words("glycol"), number(f.DryBoilingC), number(f.WetBoilingC)}, nil
}

func viscosityGrade(a *arguments) (outputs, error) {
	v := value[workshop.Viscosity](a, "grade")
	ambient, err := v.Ambient()
	if err != nil {
		return nil, err
	}
	from, below := absent(), absent()
	if v.Hot != 0 { // a winter grade says nothing of the hot oil
		k, err := v.Kinematic()
		if err != nil {
			return nil, err
		}
		from, below = number(k.Lower), number(k.Upper)
	}
	return outputs{from, below, limit(ambient.Lower), limit(ambient.Upper)}, nil
}
