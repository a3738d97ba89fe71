package main

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"github.com/snapgauge/snapgauge/clients/snapgauge/internal/form"
	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
	"github.com/snapgauge/snapgauge/service/phrase"
)

func (a *app) recordCommand() *cobra.Command {
	cmd := &cobra.Command{
		Use:   "record",
		Short: "Make set-up records",
		RunE: func(_ *cobra.Command, args []string) error {
			if len(args) > 0 {
				return usage("record: unknown command %q; want new", args[0])
			}
			return usage("record: want a command: new")
		},
	}
	cmd.AddCommand(a.recordNewCommand())
	return cmd
}

func (a *app) recordNewCommand() *cobra.Command {
	var (
		machine machineFlags
		vin     string
	)
	phase := phaseFlag(pb.Phase_PHASE_PRE_DELIVERY)
	cmd := &cobra.Command{
		Use:   "new MODEL",
		Short: "Write a record to fill in",
		Long: `Writes a set-up record to fill in to standard output: one reading for each
characteristic that the phase requires, in the order of the job, each with a
comment that says what it should be and how it is read. With --vin it is a
record of that unit: the bulletins that hold for it are heeded.

Units are those of --units; a reading may be written in any unit that fits. With
-o json the answer is the spec sheet that the record is made from.`,
		Example:           `  snapgauge record new "causeway 400" --phase first-service >record.yaml`,
		Args:              exactly(1, "want MODEL"),
		ValidArgsFunction: a.completeModel,
		RunE: func(cmd *cobra.Command, args []string) error {
			c, err := a.dial()
			if err != nil {
				return err
			}
			defer c.close()
			answer, err := machine.sheet(cmd.Context(), c, args[0], vin)
			if err != nil {
				return err
			}
			if a.json() {
				return a.showJSON(answer)
			}
			a.show(form.Form{
				Sheet: answer.GetSheet(), Phase: pb.Phase(phase), Options: machine.options, VIN: vin, Units: a.system(), Now: a.now(),
			}.YAML())
			return nil
		},
	}
	machine.add(cmd)
	addVIN(cmd, &vin)
	cmd.Flags().Var(&phase, "phase", "phase of the work: "+strings.Join(phaseNames(), ", "))
	must(cmd.RegisterFlagCompletionFunc("phase", cobra.FixedCompletions(phaseNames(), cobra.ShellCompDirectiveNoFileComp)))
	return cmd
}

// phaseFlag is a flag for a phase, in any of the spellings that records take.
type phaseFlag pb.Phase

func (p *phaseFlag) Type() string   { return "PHASE" }
func (p *phaseFlag) String() string { return phaseName(pb.Phase(*p)) }

func (p *phaseFlag) Set(s string) error {
	name := strings.ToUpper(strings.NewReplacer("-", "_", " ", "_").Replace(s))
	v, ok := pb.Phase_value["PHASE_"+strings.TrimPrefix(name, "PHASE_")]
	if !ok || v == 0 {
		return fmt.Errorf("got %q, want one of %s", s, strings.Join(phaseNames(), ", "))
	}
	*p = phaseFlag(v)
	return nil
}

// phaseNames are the phases in the order of a machine's life.
func phaseNames() []string {
	var names []string
	values := pb.Phase(0).Descriptor().Values()
	for i := range values.Len() {
		if v := pb.Phase(values.Get(i).Number()); v != pb.Phase_PHASE_UNSPECIFIED {
			names = append(names, phaseName(v))
		}
	}
	return names
}

func phaseName(p pb.Phase) string { return strings.ToLower(phrase.Name(p)) }
