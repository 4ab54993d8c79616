package main

import (
	"fmt"
	"os"
	"path/filepath"

	"github.com/spf13/cobra"

	"fairwindow/config/file"
)

func initCommand() *cobra.Command {
	return &cobra.Command{
		Use:     "init DIR",
		Short:   "Write a commented starter yard",
		Long:    "Writes yard.yaml and boats.yaml, an invented yard with comments, into DIR. Files that are there stay as they are.",
		Example: "  fairwindow init my-yard && fairwindow check my-yard",
		Args:    exactly("DIR"),
		RunE: func(c *cobra.Command, args []string) error {
			dir := args[0]
			if err := os.MkdirAll(filepath.Join(dir, "forecasts"), 0o755); err != nil {
				return usage("the folder %s can't be made: %w", dir, plain(err))
			}
			yard, boats := file.Starter()
			for _, f := range []struct {
				name string
				text []byte
			}{{yardName, yard}, {boatsName, boats}} {
				path := filepath.Join(dir, f.name)
				// O_EXCL: never over a file that somebody has worked on.
				out, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
				if err != nil {
					return usage("%s was not written: %w; nothing there was changed", path, plain(err))
				}
				_, err = out.Write(f.text)
				if closing := out.Close(); err == nil {
					err = closing
				}
				if err != nil {
					os.Remove(path) // or the next init would take it for somebody's work
					return usage("%s was not written: %w", path, plain(err))
				}
				fmt.Fprintln(c.OutOrStdout(), "wrote", path)
			}
			fmt.Fprintf(c.OutOrStdout(), "next: edit them, then  fairwindow check %s\n", dir)
			return nil
		},
	}
}

// exactly is a cobra argument check that names what is missing.
func exactly(names ...string) cobra.PositionalArgs { return between(len(names), names...) }

// between allows the last names to be left out.
func between(least int, names ...string) cobra.PositionalArgs {
	return func(c *cobra.Command, args []string) error {
		switch {
		case len(args) < least:
			return usage("%s is missing: %s", names[len(args)], c.UseLine())
		case len(args) > len(names):
			return usage("%q is one argument too many: %s", args[len(names)], c.UseLine())
		}
		return nil
	}
}
