package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"

	"fairwindow/notify"
	"fairwindow/notify/bus"
)

func listenCommand() *cobra.Command {
	var from busFlags
	var boat, schema string
	var all, asJSON, document bool
	c := &cobra.Command{
		Use:   "listen",
		Short: "Print notices from the bus as they come",
		Long: `Prints each notice once as it is published, until Ctrl-C. With --all it begins
with those the bus still keeps. --schema KIND prints the JSON Schema of a kind's
data, --asyncapi what is said on the bus and where, and neither needs a bus.`,
		Example: `  fairwindow listen
  fairwindow listen --url nats://127.0.0.1:4450 --all --json
  fairwindow listen --schema window_opens`,
		Args: exactly(),
		RunE: func(c *cobra.Command, _ []string) error {
			switch {
			case document:
				_, err := c.OutOrStdout().Write(bus.AsyncAPI)
				return err
			case schema != "":
				return printSchema(c.OutOrStdout(), schema)
			}
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
			err := bus.Listen(c.Context(), from.url, bus.Filter{Boat: boat, FromStart: all, Login: from.login}, heard)
			if err != nil && !errors.Is(err, context.Canceled) {
				return usageError{err}
			}
			return nil
		},
	}
	from.flags(c)
	c.Flags().StringVar(&boat, "boat", "", "only notices about this boat")
	c.Flags().BoolVar(&all, "all", false, "begin with those the bus still keeps")
	c.Flags().BoolVar(&asJSON, "json", false, "print JSON, one notice a line")
	c.Flags().StringVar(&schema, "schema", "", "print the JSON Schema of a kind of notice, such as window_opens")
	c.Flags().BoolVar(&document, "asyncapi", false, "print the AsyncAPI document of the bus")
	return c
}

func printSchema(w io.Writer, kind string) error {
	text, err := bus.Schema(notify.Kind(kind))
	if err != nil {
		var kinds []string
		for _, k := range notify.Kinds() {
			kinds = append(kinds, string(k))
		}
		return usage("--schema: %q is no kind of notice: give one of %s", kind, strings.Join(kinds, ", "))
	}
	_, err = w.Write(text)
	return err
}
