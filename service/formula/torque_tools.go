package formula

import "github.com/snapgauge/snapgauge/service/workshop"

const (
	leverSource  = "statics; in the same form in US Army TM 9-254, figure 46"
	leverCaution = "The hand must pull at the middle of the grip, square to the wrench. A plain socket extension along the fastener's axis changes nothing."
	iso6789      = "ISO 6789:2003"
)

// leverInputs are the lengths and the angle of a torque wrench with something on
// it.
var leverInputs = []input{
	{name: "wrench_length", unit: "mm", param: "wrenchLengthMM", what: "From the middle of the grip to the square drive"},
	{name: "extension", unit: "mm", param: "extensionMM", what: "From the square drive to the fastener: crowfoot or extension"},
	{name: "angle", unit: "deg", fallback: "0 deg", param: "angleDeg", what: "Angle between extension and wrench: 0 straight ahead, 90 square to the wrench, 180 folded back"},
}

var torqueTools = []Formula{
	{
		name: "wrench-setting", topic: "torque tools",
		description: "What to set on a torque wrench so that a crowfoot or extension on it gives the torque at the fastener.",
		source:      leverSource, caution: leverCaution,
		inputs: append([]input{
			{name: "torque", unit: "N.m", param: "torqueNM", what: "Torque wanted at the fastener"},
		}, leverInputs...),
		results: []result{{name: "setting", unit: "N.m", what: "What to set on the wrench"}},
		work: func(a *arguments) (outputs, error) {
			return one(workshop.WrenchSetting(a.num("torque"), a.num("wrench_length"), a.num("extension"), a.num("angle")))
		},
	},
	{
		name: "torque-at-fastener", topic: "torque tools",
		description: "What torque reaches the fastener from a torque wrench with a crowfoot or extension on it.",
		source:      leverSource, caution: leverCaution,
		inputs: append([]input{
			{name: "setting", unit: "N.m", param: "settingNM", what: "What the wrench is set to"},
		}, leverInputs...),
		results: []result{{name: "torque", unit: "N.m", what: "Torque at the fastener"}},
		work: func(a *arguments) (outputs, error) {
			return one(workshop.TorqueAtFastener(a.num("setting"), a.num("wrench_length"), a.num("extension"), a.num("angle")))
		},
	},
	{
		name: "torque-tool-deviation", topic: "torque tools",
		description: "By how much a hand torque tool may deviate from the torque it shows or is set to.",
		source:      iso6789 + ", 5.1.5 (type II class A as quoted in a torque wrench's instructions; the other classes from memory)",
		caution:     "It holds for a calibrated tool between 20 % and 100 % of its largest torque.",
		inputs: []input{
			{name: "type", choices: []string{"indicating", "setting"}, param: "tool", what: "Type I, whose torque is read off, or type II, which signals the set torque"},
			{name: "class", choices: []string{"A", "B", "C", "D", "E", "F", "G"}, param: "class", what: "Class letter of the type; an indicating tool has A to E"},
			{name: "max_torque", unit: "N.m", param: "maxTorqueNM", what: "Largest torque of the tool"},
		},
		results: []result{
			{name: "deviation", unit: "1", form: share, what: "Permissible deviation either way, as a share of the torque"},
			{name: "at_max", unit: "N.m", what: "The same at the tool's largest torque"},
		},
		work: torqueToolDeviation,
	},
	{
		name: "torque-tool-calibration", topic: "torque tools",
		description: "Whether a hand torque tool is due for calibration.",
		source:      iso6789 + ", 6.3; ISO 6789-1:2017, 5.3 (from memory)",
		caution:     "An overload, a fall or a repair makes it due at once.",
		inputs: []input{
			{name: "months", unit: "1", param: "months", what: "Months since it was first used or last calibrated"},
			{name: "cycles", unit: "1", param: "cycles", what: "Operations since then"},
		},
		results: []result{
			{name: "due", what: "Whether it is due"},
			{name: "months_limit", unit: "1", what: "Months after which it is due"},
			{name: "cycles_limit", unit: "1", what: "Operations after which it is due"},
		},
		work: func(a *arguments) (outputs, error) {
			due, err := workshop.TorqueToolCalibrationDue(a.num("months"), a.num("cycles"))
			return outputs{
				yes(due), number(workshop.TorqueToolCalibrationMonths), number(workshop.TorqueToolCalibrationCycles),
			}, err
		},
	},
}

func torqueToolDeviation(a *arguments) (outputs, error) {
	tool := workshop.Indicating
	if a.choice("type") == "setting" {
		tool = workshop.Setting
	}
	largest := a.num("max_torque")
	deviation, err := workshop.TorqueToolDeviation(tool, a.choice("class"), largest)
	return outputs{number(deviation), number(deviation * largest)}, err
}
