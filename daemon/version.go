package main

import (
	"fmt"
	"runtime/debug"

	"github.com/spf13/cobra"

	"fairwindow/planner"
)

func versionCommand() *cobra.Command {
	return &cobra.Command{
		Use:     "version",
		Short:   "Print the version",
		Example: "  fairwindow version",
		Args:    exactly(),
		RunE: func(c *cobra.Command, _ []string) error {
			revision := "unknown revision"
			if info, ok := debug.ReadBuildInfo(); ok {
				for _, s := range info.Settings {
					if s.Key == "vcs.revision" {
						revision = s.Value
					}
				}
			}
			fmt.Fprintf(c.OutOrStdout(), "fairwindow %s, planner %d\n", revision, planner.Version)
			return nil
		},
	}
}
