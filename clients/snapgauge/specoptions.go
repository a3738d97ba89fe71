package main

import (
	"github.com/spf13/cobra"

	"github.com/snapgauge/snapgauge/clients/snapgauge/internal/render"
	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

func (a *app) specOptionsCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "options SPEC[@N] OPTION...",
		Short: "Say whether options go together, and if not how to mend it",
		Long: `Says whether options go together on one machine. Where they do not, each reason
is told by the options that by themselves make it, with what to take off or to
fit, the smallest change first. The exit code is 0 when they go together and 1
when they do not. The sheet lists its options: snapgauge specs show SPEC.`,
		Example:           `  snapgauge specs options varnholt-scree-200i-2026-eu kick_starter battery_delete`,
		Args:              atLeast(2, "want SPEC and at least one OPTION"),
		ValidArgsFunction: a.completeOptions,
		RunE: func(cmd *cobra.Command, args []string) error {
			ref, err := parseSpec(args[0])
			if err != nil {
				return err
			}
			c, err := a.dial()
			if err != nil {
				return err
			}
			defer c.close()
			answer, err := call(cmd.Context(), c, place{words: map[string]string{"options": "OPTION"}}, c.specs.CheckOptions,
				&pb.CheckOptionsRequest{Name: ref.name(), Options: args[1:]})
			if err != nil {
				return err
			}
			if len(answer.GetTroubles()) > 0 {
				a.worsen(exitVerdict)
			}
			if a.json() {
				return a.showJSON(answer)
			}
			a.show(render.OptionCheck(ref.String(), args[1:], answer, a.look()))
			return nil
		},
	}
}
