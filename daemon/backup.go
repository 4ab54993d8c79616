package main

import (
	"fmt"
	"os"

	"github.com/spf13/cobra"

	"fairwindow/daemon/store"
)

func backupCommand() *cobra.Command {
	var state string
	c := &cobra.Command{
		Use:   "backup YARD FILE",
		Short: "Write all that the daemon keeps into one file, while it runs",
		Long: `Writes the daemon's database, as it stands at one moment, into a new file and
checks it. The daemon goes on meanwhile. A file that is there already is refused.

In it: boats, reports, readings, hours, forecasts, plans, clocks, every notice, and
which of them have not gone out yet. Not in it: the yard file and what lies beside it,
the token of the readings' intake, and the bus's own store, which holds what a sensor
has been told is stored and the daemon has not taken in yet, a fraction of a second's
messages as a rule. Copy the yard's folder too.`,
		Example: `  fairwindow backup my-yard /mnt/disk/yard-2026-04-06.db
  fairwindow backup my-yard yard.db --state /var/lib/fairwindow`,
		Args: exactly("YARD", "FILE"),
		RunE: func(c *cobra.Command, args []string) error {
			y, err := readYard(args[0])
			if err != nil {
				return err
			}
			if state, err = stateFolder(state, y.Name); err != nil {
				return err
			}
			if err := store.Backup(c.Context(), state, args[1]); err != nil {
				return usageError{err}
			}
			info, err := os.Stat(args[1])
			if err != nil {
				return err
			}
			_, err = fmt.Fprintf(c.OutOrStdout(), "%s: %.1f MB, checked. Keep the yard's folder beside it.\n", args[1], float64(info.Size())/1e6)
			return err
		},
	}
	c.Flags().StringVar(&state, "state", "", "the daemon's state folder; default under the user's state directory")
	return c
}

func restoreCommand() *cobra.Command {
	var state string
	c := &cobra.Command{
		Use:   "restore FILE --state DIR",
		Short: "Make a state folder from a backup",
		Long: `Makes a new state folder from a file that fairwindow backup wrote, after checking it.
A folder that a daemon uses, or that holds a store, is refused: move the old one away
first. If the old folder's bus could be saved, put it into the new one: messages of
sensors that wait in it are then taken in. Notices that had not gone out go out.`,
		Example: `  fairwindow restore yard-2026-04-06.db --state /var/lib/fairwindow
  fairwindow run my-yard --state /var/lib/fairwindow`,
		Args: exactly("FILE"),
		RunE: func(c *cobra.Command, args []string) error {
			if state == "" {
				return usage("into which folder? name it with --state")
			}
			if err := store.Restore(c.Context(), args[0], state); err != nil {
				return usageError{err}
			}
			_, err := fmt.Fprintf(c.OutOrStdout(), "%s is restored into %s; start it with fairwindow run YARD --state %s\n", args[0], state, state)
			return err
		},
	}
	c.Flags().StringVar(&state, "state", "", "the folder to make")
	return c
}
