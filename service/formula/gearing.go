package formula

import (
	"slices"

	"github.com/snapgauge/snapgauge/service/workshop"
)

var (
	primaryInput = input{name: "primary", read: readGearPair, param: "primary", what: "Teeth of the primary drive, driving first: 20:60"}
	finalInput   = input{name: "final", read: readGearPair, param: "final", what: "Teeth of the final drive, gearbox sprocket first: 13:50"}
	engineSpeed  = input{name: "engine_speed", unit: "/min", param: "engineRPM", what: "Speed of the engine"}
	overallRatio = input{name: "overall_ratio", unit: "1", param: "overallRatio", what: "Turns of the engine for one of the rear wheel"}
)

var gearing = []Formula{
	{
		name: "overall-ratio", topic: "gearing",
		description: "How often the engine turns for one turn of the rear wheel.",
		source:      closedForm,
		inputs: []input{primaryInput,
			{name: "gear", read: readGearPair, param: "gear", what: "Teeth of the gear, driving first: 14:28"},
			finalInput,
		},
		results: []result{{name: "ratio", unit: "1", form: ratioToOne, what: "Turns of the engine for one of the rear wheel"}},
		work: func(a *arguments) (outputs, error) {
			pair := func(name string) workshop.GearPair { return value[workshop.GearPair](a, name) }
			return one(workshop.OverallRatio(pair("primary"), pair("gear"), pair("final")))
		},
	},
	{
		name: "road-speed", topic: "gearing",
		description: "The road speed at an engine speed, without wheel slip.",
		source:      closedForm,
		inputs:      slices.Concat([]input{engineSpeed, overallRatio}, circumferenceInputs),
		results:     []result{{name: "speed", unit: "km/h", what: "Road speed"}},
		work: func(a *arguments) (outputs, error) {
			rolls, err := circumferenceOf(a)
			if err != nil {
				return nil, err
			}
			return one(workshop.RoadSpeedKMH(a.num("engine_speed"), a.num("overall_ratio"), rolls))
		},
	},
	{
		name: "engine-speed", topic: "gearing",
		description: "The engine speed at a road speed, without wheel slip.",
		source:      closedForm,
		inputs: slices.Concat([]input{
			{name: "road_speed", unit: "km/h", param: "roadSpeedKMH", what: "Road speed"},
			overallRatio,
		}, circumferenceInputs),
		results: []result{{name: "engine_speed", unit: "/min", what: "Speed of the engine"}},
		work: func(a *arguments) (outputs, error) {
			rolls, err := circumferenceOf(a)
			if err != nil {
				return nil, err
			}
			return one(workshop.EngineRPM(a.num("road_speed"), a.num("overall_ratio"), rolls))
		},
	},
	{
		name: "speeds-by-gear", topic: "gearing",
		description: "The road speed in each gear at one engine speed, without wheel slip.",
		source:      closedForm,
		inputs: slices.Concat([]input{engineSpeed, primaryInput,
			{name: "gears", read: readGearPair, repeated: true, param: "gear gears", what: "Teeth of each gear, first gear first, driving first: 12:34, 14:28"},
			finalInput,
		}, circumferenceInputs),
		results: []result{{name: "speed", unit: "km/h", what: "Road speed in the gear of that number"}},
		work: func(a *arguments) (outputs, error) {
			rolls, err := circumferenceOf(a)
			if err != nil {
				return nil, err
			}
			speeds, err := workshop.SpeedsByGear(a.num("engine_speed"), value[workshop.GearPair](a, "primary"),
				list[workshop.GearPair](a, "gears"), value[workshop.GearPair](a, "final"), rolls)
			return outputs{{series: speeds}}, err
		},
	},
}
