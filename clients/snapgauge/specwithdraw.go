package main

import (
	"strings"

	"github.com/spf13/cobra"

	"github.com/snapgauge/snapgauge/clients/snapgauge/internal/render"
	pb "github.com/snapgauge/snapgauge/proto/snapgauge/v1"
)

func (a *app) specWithdrawCommand() *cobra.Command {
	var reason string
	cmd := &cobra.Command{
		Use:   "withdraw SPEC@N --reason WHY",
		Short: "Take a revision out of force, for good",
		Long: `Takes a revision out of force: it judges nothing from then on, and stays
readable with the reason beside it. There is no way back but to publish another
revision. Withdrawing it again changes nothing.`,
		Example:           `  snapgauge specs withdraw varnholt-scree-200i-2026-eu@2 --reason "Torque of the clutch bracket misprinted."`,
		Args:              exactly(1, "want a revision, SPEC@N"),
		ValidArgsFunction: a.completeRevision,
		RunE: func(cmd *cobra.Command, args []string) error {
			ref, err := parseRevision(args[0])
			if err != nil {
				return err
			}
			if strings.TrimSpace(reason) == "" {
				return usage("--reason: want the reason; it is shown to whoever asks for the revision")
			}
			c, err := a.dial()
			if err != nil {
				return err
			}
			defer c.close()
			answer, err := call(cmd.Context(), c, place{}, c.specs.WithdrawSpecRevision, &pb.WithdrawSpecRevisionRequest{Name: ref.name(), Reason: reason})
			if err != nil {
				return err
			}
			if a.json() {
				return a.showJSON(answer)
			}
			rev := answer.GetSpecRevision()
			a.show(render.Withdrawn(rev, rev.GetWithdrawReason() != reason, a.look()))
			return nil
		},
	}
	cmd.Flags().StringVar(&reason, "reason", "", "why; it is shown to whoever asks for the revision")
	must(cmd.RegisterFlagCompletionFunc("reason", cobra.NoFileCompletions))
	return cmd
}
