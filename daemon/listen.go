package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"

	"github.com/spf13/cobra"

	"fairwindow/notify/bus"
)

func listenCommand() *cobra.Command {
	var url, boat string
	var all, asJSON bool
	c := &cobra.Command{
		Use:   "listen",
		Short: "Print notices from the bus as they come",
		Long: `Prints each notice once as it is published, until Ctrl-C. With --all it begins
with those the bus still keeps.`,
		Example: `  fairwindow listen
  fairwindow listen --url nats://127.0.0.1:4450 --all --json`,
		Args: exactly(),
		RunE: func(c *cobra.Command, _ []string) error {
			heard := func(m bus.Message) {
				if m.Err != nil {
					fmt.Fprintf(c.ErrOrStderr(), "fairwindow: message %d on the bus can't be read: %v\n", m.Sequence, m.Err)
					return
				}
				if !asJSON {
					fmt.Fprintln(c.OutOrStdout(), m.Sentence)
					return
				}
				// One line each: a program reads them as they come.
				if err := json.NewEncoder(c.OutOrStdout()).Encode(m); err != nil {
					fmt.Fprintln(c.ErrOrStderr(), "fairwindow:", err)
				}
			}
			err := bus.Listen(c.Context(), url, bus.Filter{Boat: boat, FromStart: all}, heard)
			if err != nil && !errors.Is(err, context.Canceled) {
				return usageError{err}
			}
			return nil
		},
	}
	c.Flags().StringVar(&url, "url", "nats://127.0.0.1:4450", "address of the bus")
	c.Flags().StringVar(&boat, "boat", "", "only notices about this boat")
	c.Flags().BoolVar(&all, "all", false, "begin with those the bus still keeps")
	c.Flags().BoolVar(&asJSON, "json", false, "print JSON, one notice a line")
	return c
}
