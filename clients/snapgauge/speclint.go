package main

import (
	"slices"

	"github.com/spf13/cobra"

	"github.com/snapgauge/snapgauge/clients/snapgauge/internal/render"
)

func (a *app) specLintCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "lint FILE...",
		Short: "Check sheets as if they were to be published",
		Long: `Checks sheets (YAML or JSON; - is standard input) as if each were to be published
now, and publishes nothing. What is wrong is told as FILE:LINE:COLUMN, one reason
to a line; the exit code is then 2.

Files that are given together may build on each other, in whatever order: a
derived sheet whose base is among them is checked against that, else against the
base that is published, and a revision may follow on one that is among them. What
is wrong with a base is told once, of the base, and what builds on it is not
called sound until that is mended.`,
		Example: `  snapgauge specs lint 2026-eu-r3.yaml
  snapgauge specs lint 2027-us-r1.yaml 2027-eu-r1.yaml`,
		Args:              files,
		ValidArgsFunction: completeFiles,
		RunE: func(cmd *cobra.Command, args []string) error {
			c, err := a.dial()
			if err != nil {
				return err
			}
			defer c.close()
			if err := stdinOnce(args); err != nil {
				return err
			}
			var set specSet
			read := make(map[string]*specFile)
			unread := make(map[string]error)
			for _, file := range args {
				if read[file] != nil || unread[file] != nil {
					continue
				}
				f, err := a.readSpecFile(file)
				if err != nil {
					unread[file] = err
					continue
				}
				read[file], set = f, append(set, f)
			}
			told := make(map[string]bool)
			return a.eachFile(args, func(file string) error {
				if err := unread[file]; err != nil {
					return err
				}
				f := read[file]
				answer, err := f.lint(cmd.Context(), c, set)
				if err != nil {
					return untold(asFailure(err), told)
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

// untold leaves out what was told before: what is wrong with a base comes up again
// in whatever builds on it. The exit code stays.
func untold(f *failure, told map[string]bool) *failure {
	f.lines = slices.DeleteFunc(f.lines, func(line string) bool {
		before := told[line]
		told[line] = true
		return before
	})
	return f
}
