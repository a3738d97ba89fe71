package main

import "github.com/spf13/cobra"

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

// addVIN adds the flag that names one unit.
func addVIN(cmd *cobra.Command, vin *string) {
	cmd.Flags().StringVar(vin, "vin", "", "the unit's VIN: the bulletins that hold for it are applied")
	must(cmd.RegisterFlagCompletionFunc("vin", cobra.NoFileCompletions))
}
