package main

import (
	"context"
	"strings"

	"github.com/spf13/cobra"

	"github.com/snapgauge/snapgauge/clients/snapgauge/internal/layout"
	"github.com/snapgauge/snapgauge/clients/snapgauge/internal/render"
	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

func (a *app) calcCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "calc [FORMULA [NAME=VALUE...]]",
		Short: "Work out one of the workshop's formulas",
		Long: `Works out one of the workshop's formulas. Without a formula it lists them all,
by topic; with a formula alone it explains what goes in and what comes out; with
values it shows the result, its source and what to beware of.

A value is a number with any unit that fits; without a unit it is in the one
that the explanation names. What is put behind a value without a "=" of its own
belongs to it, so that units need no quotes. Results are in the units of --units.`,
		Example: `  snapgauge calc
  snapgauge calc wrench-setting
  snapgauge calc wrench-setting torque=20 N.m wrench_length=350 mm extension=2 in
  snapgauge calc premix-dose fuel=5 L ratio=2 %
  snapgauge calc premix-dose fuel="1 gal" ratio=50:1 --units us`,
		Args:              cobra.ArbitraryArgs,
		ValidArgsFunction: a.completeFormula,
		RunE: func(cmd *cobra.Command, args []string) error {
			inputs, err := readInputs(args)
			if err != nil {
				return err
			}
			c, err := a.dial()
			if err != nil {
				return err
			}
			defer c.close()
			switch len(args) {
			case 0:
				return a.listFormulas(cmd.Context(), c)
			case 1:
				return a.explainFormula(cmd.Context(), c, args[0])
			}
			answer, err := calculate(cmd.Context(), c, args[0], inputs, a.unitSystem())
			if err != nil {
				return err
			}
			if a.json() {
				return a.showJSON(answer)
			}
			a.show(render.Calculation(answer.GetCalculation(), a.look()))
			return nil
		},
	}
}

// readInputs reads name=value behind the name of a formula. A word without "="
// goes on with the value before it. Hyphens in a name count as underscores.
func readInputs(args []string) (map[string]string, error) {
	inputs := make(map[string]string)
	last := ""
	for i, arg := range args {
		if i == 0 {
			continue
		}
		name, value, ok := strings.Cut(arg, "=")
		switch {
		case !ok && last == "":
			return nil, usage("calc: got %q, want NAME=VALUE\nsee snapgauge calc %s for the names", layout.Clean(arg), layout.Clean(args[0]))
		case !ok:
			inputs[last] += " " + arg
			continue
		}
		last = strings.ToLower(strings.ReplaceAll(strings.TrimSpace(name), "-", "_"))
		if last == "" {
			return nil, usage("calc: got %q, want NAME=VALUE", layout.Clean(arg))
		}
		if _, twice := inputs[last]; twice {
			return nil, usage("calc: %s is given twice", layout.Clean(last))
		}
		inputs[last] = value
	}
	return inputs, nil
}

func calculate(ctx context.Context, c *client, formula string, inputs map[string]string, units pb.UnitSystem) (*pb.CalculateResponse, error) {
	return call(ctx, c, place{}, c.workshop.Calculate, &pb.CalculateRequest{Formula: formula, Inputs: inputs, UnitSystem: units})
}

func (a *app) listFormulas(ctx context.Context, c *client) error {
	answer, err := call(ctx, c, place{}, c.workshop.ListFormulas, &pb.ListFormulasRequest{})
	if err != nil {
		return err
	}
	if a.json() {
		return a.showJSON(answer)
	}
	a.show(render.Formulas(answer.GetFormulas(), a.look()))
	return nil
}

func (a *app) explainFormula(ctx context.Context, c *client, name string) error {
	answer, err := call(ctx, c, place{}, c.workshop.ListFormulas, &pb.ListFormulasRequest{})
	if err != nil {
		return err
	}
	for _, f := range answer.GetFormulas() {
		if f.GetName() != name {
			continue
		}
		if a.json() {
			return a.showJSON(f)
		}
		a.show(render.Formula(f, a.look()))
		return nil
	}
	// Which names are near is the server's to say: it refuses this one.
	if _, err := calculate(ctx, c, name, nil, a.unitSystem()); err != nil {
		return err
	}
	return badInput("the server does not list the formula " + layout.Clean(name))
}
