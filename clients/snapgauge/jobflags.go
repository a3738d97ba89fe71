package main

import (
	"strings"

	"github.com/spf13/cobra"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

// jobFlags say what job is to be planned, beside the model.
type jobFlags struct {
	machine                         machineFlags
	vin                             string
	phase                           phaseFlag
	rider                           rider
	temperature, altitude, humidity measure
	use                             choice
	when                            asOf
}

// names are those of all its flags.
func (*jobFlags) names() []string {
	return []string{"year", "market", "option", "vin", "phase", "rider", "temperature", "altitude", "humidity", "use", "as-of"}
}

const defaultHumidity = 50 // percent

// jobFlagsHelp says what the flags mean together.
const jobFlagsHelp = `What needs a rider (springs, sag) is worked out with --rider, what needs the air
(tyre pressures, jetting, oil grade) with --temperature; without them the
targets are those of the sheet. --altitude (default sea level) and --humidity
(default 50 %) go with --temperature. Bulletins that hold for some units only
are heeded with --vin.

Quantities may be in any unit that fits: --temperature "45 F",
--altitude "3000 ft", --rider "180 lb + 20 lb". A number alone is in degrees
Celsius, metres, percent or kilograms, whatever --units says.`

func (f *jobFlags) add(cmd *cobra.Command) {
	f.phase = phaseFlag(pb.Phase_PHASE_PRE_DELIVERY)
	f.temperature = newMeasure("Cel", "TEMPERATURE", `7, "7 C" or "45 F"`)
	f.altitude = newMeasure("m", "HEIGHT", `900, "900 m" or "3000 ft"`)
	f.humidity = newMeasure("%", "PERCENT", `60 or "60 %"`)
	f.use = choice{allowed: []string{"trail", "enduro", "road"}}
	f.machine.add(cmd)
	flags := cmd.Flags()
	addVIN(cmd, &f.vin)
	flags.Var(&f.phase, "phase", "phase of the work: "+strings.Join(phaseNames(), ", "))
	flags.Var(&f.rider, "rider", "who will ride it: mass, and after a plus that of the gear: 82+11")
	flags.Var(&f.temperature, "temperature", "temperature of the air")
	flags.Var(&f.altitude, "altitude", "altitude above the sea; with --temperature")
	flags.Var(&f.humidity, "humidity", "relative humidity; with --temperature")
	flags.Var(&f.use, "use", "what it is for")
	addAsOf(cmd, &f.when, "plan by the sheet of another day than today")
	for name, words := range map[string][]string{"phase": phaseNames(), "use": f.use.allowed} {
		must(cmd.RegisterFlagCompletionFunc(name, cobra.FixedCompletions(words, cobra.ShellCompDirectiveNoFileComp)))
	}
	for _, name := range []string{"rider", "temperature", "altitude", "humidity"} {
		must(cmd.RegisterFlagCompletionFunc(name, cobra.NoFileCompletions))
	}
}

// request asks for the plan of a model. The error is a *failure.
func (f *jobFlags) request(model string, units pb.UnitSystem) (*pb.PlanSetupRequest, error) {
	r := &pb.PlanSetupRequest{
		Model: model, ModelYear: f.machine.year, Market: strings.ToUpper(f.machine.market), Options: f.machine.options,
		Vin: f.vin, Phase: pb.Phase(f.phase), AsOfTime: f.when.time, UnitSystem: units,
	}
	if f.rider.text != "" {
		r.Rider = &pb.Rider{MassKg: f.rider.mass, GearMassKg: f.rider.gear}
	}
	switch {
	case f.temperature.text != "":
		r.Ambient = &pb.Ambient{TemperatureC: f.temperature.value, AltitudeM: f.altitude.value, HumidityPercent: defaultHumidity}
		if f.humidity.text != "" {
			r.Ambient.HumidityPercent = f.humidity.value
		}
	case f.altitude.text != "":
		return nil, usage("--altitude: want --temperature as well; together they are the air")
	case f.humidity.text != "":
		return nil, usage("--humidity: want --temperature as well; together they are the air")
	}
	if f.use.value != "" {
		r.IntendedUse = pb.IntendedUse(pb.IntendedUse_value["INTENDED_USE_"+strings.ToUpper(f.use.value)])
	}
	return r, nil
}
