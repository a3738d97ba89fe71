package main

import (
	"github.com/spf13/cobra"

	"github.com/snapgauge/snapgauge/clients/snapgauge/internal/render"
)

func (a *app) specLintCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "lint FILE...",
		Short: "Check sheets as if they were to be published",
		Long: `Checks sheets (YAML or JSON; - is standard input) as if each were to be published
now, by itself, and publishes nothing. What is wrong is told as
FILE:LINE:COLUMN, one reason to a line; the exit code is then 2. A derived sheet
is checked against the base that is published.`,
		Args:              files,
		ValidArgsFunction: completeFiles,
		RunE: func(cmd *cobra.Command, args []string) error {
			c, err := a.dial()
			if err != nil {
				return err
			}
			defer c.close()
			return a.eachFile(args, func(file string) error {
				f, err := a.readSpecFile(file)
				if err != nil {
					return err
				}
				answer, err := f.publish(cmd.Context(), c, "", true)
				if err != nil {
					return err
				}
				if a.json() {
					return a.showJSON(answer)
				}
				_, _ = a.write([]byte(render.Sound(f.name, answer, a.look())))
				return nil
			})
		},
	}
}
