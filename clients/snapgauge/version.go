package main

import (
	"fmt"
	"runtime/debug"

	"github.com/spf13/cobra"
)

func (a *app) versionCommand() *cobra.Command {
	return &cobra.Command{
		Use:   "version",
		Short: "Say which version this is",
		Args:  cobra.NoArgs,
		RunE: func(*cobra.Command, []string) error {
			a.show(fmt.Sprintf("snapgauge %s\n", version()))
			return nil
		},
	}
}

// version is that of the module, or the commit it was built from where the
// module has none.
func version() string {
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return "unknown"
	}
	if v := info.Main.Version; v != "" && v != "(devel)" {
		return v
	}
	for _, s := range info.Settings {
		if s.Key == "vcs.revision" && len(s.Value) >= 12 {
			return "devel-" + s.Value[:12]
		}
	}
	return "devel"
}
