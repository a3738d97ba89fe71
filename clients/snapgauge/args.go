package main

import "github.com/spf13/cobra"

// files wants at least one file.
func files(cmd *cobra.Command, args []string) error {
	return atLeast(1, "want at least one FILE, or - for standard input")(cmd, args)
}

func atLeast(n int, want string) cobra.PositionalArgs {
	return func(cmd *cobra.Command, args []string) error {
		if len(args) < n {
			return usage("%s: %s\nsee %s --help", cmd.Name(), want, cmd.CommandPath())
		}
		return nil
	}
}

func exactly(n int, want string) cobra.PositionalArgs { return between(n, n, want) }

func between(least, most int, want string) cobra.PositionalArgs {
	return func(cmd *cobra.Command, args []string) error {
		if len(args) > most {
			return usage("%s: got %d arguments, %s (a name of several words is put in quotes)\nsee %s --help",
				cmd.Name(), len(args), want, cmd.CommandPath())
		}
		return atLeast(least, want)(cmd, args)
	}
}
