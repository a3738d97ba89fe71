package main

import (
	"context"
	"strings"

	"github.com/spf13/cobra"

	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

// machineFlags narrow a model down to one sheet.
type machineFlags struct {
	year    int32
	market  string
	options []string
}

func (m *machineFlags) add(cmd *cobra.Command) {
	flags := cmd.Flags()
	flags.Int32Var(&m.year, "year", 0, "model year (default: the newest)")
	flags.StringVar(&m.market, "market", "", "market, such as US or EU (default: the first that has the model)")
	flags.StringArrayVar(&m.options, "option", nil, "an option fitted; repeat for more")
	for _, name := range []string{"year", "market", "option"} {
		must(cmd.RegisterFlagCompletionFunc(name, cobra.NoFileCompletions))
	}
}

// sheet asks for the sheet of a model, with the options fitted; vin may be empty.
// Which sheet a model's name means is the server's to say.
func (m *machineFlags) sheet(ctx context.Context, c *client, model, vin string) (*pb.GetSpecResponse, error) {
	found, err := call(ctx, c, place{}, c.specs.LookUpCharacteristics, &pb.LookUpCharacteristicsRequest{
		Model: model, ModelYear: m.year, Market: strings.ToUpper(m.market), Words: model, MaxResults: 1, Vin: vin,
	})
	if err != nil {
		return nil, err
	}
	return call(ctx, c, place{}, c.specs.GetSpec, &pb.GetSpecRequest{
		Name: found.GetSpec().GetName(), Options: m.options, Vin: vin,
	})
}

// addVIN adds the flag that names one unit.
func addVIN(cmd *cobra.Command, vin *string) {
	cmd.Flags().StringVar(vin, "vin", "", "the unit's VIN: the bulletins that hold for it are applied")
	must(cmd.RegisterFlagCompletionFunc("vin", cobra.NoFileCompletions))
}
