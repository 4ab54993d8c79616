package main

import (
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"path/filepath"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"fairwindow/config"
	"fairwindow/config/file"
	"fairwindow/daemon/service"
	"fairwindow/daemon/signed"
	"fairwindow/daemon/store"
)

func boatsCommand() *cobra.Command {
	c := &cobra.Command{
		Use:     "boats",
		Short:   "Bring boats into the store and out again",
		Example: "  fairwindow boats import my-yard boats.csv --by Ines\n  fairwindow boats export my-yard --format csv > boats.csv",
		RunE: func(c *cobra.Command, args []string) error {
			if len(args) > 0 {
				return usage("there is no boats %s: use boats import or boats export", args[0])
			}
			return c.Help()
		},
	}
	c.AddCommand(importCommand(), exportCommand())
	return c
}

func importCommand() *cobra.Command {
	var state, by string
	c := &cobra.Command{
		Use:   "import YARD FILE",
		Short: "Take boats in from YAML or CSV",
		Long: `Takes in the boats of a file: new ones are added, known ones get the new facts.
All or none: with a mistake in the file nothing changes. Works beside a running
daemon, which plans anew at once.`,
		Example: "  fairwindow boats import my-yard boats.csv --by Ines",
		Args:    exactly("YARD", "FILE"),
		RunE: func(c *cobra.Command, args []string) error {
			y, err := readYard(args[0])
			if err != nil {
				return err
			}
			if y, _, err = withSystems(c.Context(), y, state); err != nil {
				return err
			}
			boats, err := readBoats(y, args[1])
			if err != nil {
				return err
			}
			if by == "" {
				by = "the file " + filepath.Base(args[1])
			}
			sent, err := sendBoats(y, boats, state, by)
			if err == nil && !sent {
				err = storeBoats(c, y, boats, state, by)
			}
			if err != nil {
				return err
			}
			fmt.Fprintf(c.OutOrStdout(), "took in %d boats\n", len(boats))
			return nil
		},
	}
	c.Flags().StringVar(&state, "state", "", "the daemon's state folder; default under the user's state directory")
	c.Flags().StringVar(&by, "by", "", "who brings them in")
	return c
}

func exportCommand() *cobra.Command {
	var state, format string
	c := &cobra.Command{
		Use:     "export YARD",
		Short:   "Print the store's boats as YAML or CSV",
		Example: "  fairwindow boats export my-yard --format csv > boats.csv",
		Args:    exactly("YARD"),
		RunE: func(c *cobra.Command, args []string) error {
			_, kept, err := openKept(args[0], state)
			if err != nil {
				return err
			}
			defer kept.Close()
			rows, err := kept.Boats(c.Context())
			if err != nil {
				return err
			}
			var boats []config.Boat
			for _, r := range rows {
				boats = append(boats, r.Boat)
			}
			text, err := file.WriteBoats(format, boats)
			if err != nil {
				return usageError{err}
			}
			_, err = c.OutOrStdout().Write(text)
			return err
		},
	}
	c.Flags().StringVar(&state, "state", "", "the daemon's state folder; default under the user's state directory")
	c.Flags().StringVar(&format, "format", "yaml", "yaml or csv")
	return c
}

// sendBoats hands boats to the yard's running daemon; false if none answers.
func sendBoats(y config.Yard, boats []config.Boat, state, by string) (bool, error) {
	text, err := file.WriteBoats("yaml", boats)
	if err != nil {
		return false, err
	}
	status, said, err := askDaemon(y, state, "/v1/boats?by="+url.QueryEscape(by), "application/yaml", text)
	if errors.Is(err, errNoDaemon) {
		return false, nil
	}
	if err == nil && status != http.StatusOK {
		err = usage("the daemon did not take the boats: %s", strings.TrimSpace(string(said)))
	}
	return true, err
}

// storeBoats writes boats straight into the store of a daemon that is not running.
func storeBoats(c *cobra.Command, y config.Yard, boats []config.Boat, state, by string) (err error) {
	if state, err = stateFolder(state, y.Name); err != nil {
		return err
	}
	kept, err := store.Open(state)
	if err != nil {
		return usageError{err}
	}
	defer func() { err = errors.Join(err, kept.Close()) }()
	edits, err := service.PuttingBoats(c.Context(), kept, y, boats, by)
	if err != nil {
		return usageError{err}
	}
	change := store.Change{At: time.Now(), Boats: edits}
	for _, b := range boats {
		change.Signatures = append(change.Signatures, store.Signature{Kind: "boat entered", About: b.Name, By: by, Role: signed.Command, Device: "program"})
	}
	_, err = kept.Commit(c.Context(), change)
	return err
}
