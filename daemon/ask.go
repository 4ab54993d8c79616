package main

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"time"

	"github.com/spf13/cobra"

	"fairwindow/notify/bus"
)

func askCommand() *cobra.Command {
	var from busFlags
	var wait time.Duration
	c := &cobra.Command{
		Use:   "ask plan|why|conditions [JSON]",
		Short: "Ask a running daemon over the bus",
		Long: `Puts one question to a running daemon and prints its answer as JSON. The question
is a JSON object: of plan {"plan": "told" or "draft", "boat": …, "place": …}, of why
{"boat": …, "area": …, "stage": …}, of conditions {"place": …, "hours": …}; what may
be left out is said in fairwindow listen --asyncapi. Exit code 1: the daemon refuses,
and says why.`,
		Example: `  fairwindow ask plan
  fairwindow ask why '{"boat": "Boat Tern", "stage": "topcoat"}'
  fairwindow ask conditions '{"place": "booth 1", "hours": 12}'`,
		Args: between(1, "plan|why|conditions", "JSON"),
		RunE: func(c *cobra.Command, args []string) error {
			question := json.RawMessage("{}")
			if len(args) > 1 {
				question = json.RawMessage(args[1])
			}
			ctx, cancel := context.WithTimeout(c.Context(), wait)
			defer cancel()
			answer, err := bus.Ask(ctx, from.url, from.login, args[0], question)
			var refused bus.Refused
			switch {
			case errors.As(err, &refused):
				fmt.Fprintln(c.ErrOrStderr(), "fairwindow:", refused)
				return errNo
			case err != nil:
				return usageError{err}
			}
			var page bytes.Buffer
			if err := json.Indent(&page, answer, "", "  "); err != nil {
				return fmt.Errorf("the answer is not JSON: %w", err)
			}
			_, err = fmt.Fprintln(c.OutOrStdout(), page.String())
			return err
		},
	}
	from.flags(c)
	c.Flags().DurationVar(&wait, "wait", 30*time.Second, "how long to wait for the answer")
	return c
}

// busFlags say where the bus is, and what it asks for.
type busFlags struct {
	url   string
	login bus.Login
}

func (f *busFlags) flags(c *cobra.Command) {
	c.Flags().StringVar(&f.url, "url", "nats://127.0.0.1:4450", "address of the bus, or several with commas")
	c.Flags().StringVar(&f.login.Credentials, "credentials", "", "credentials file, if your server asks for one")
	c.Flags().StringVar(&f.login.CA, "ca", "", "PEM file of who signed your server's certificate")
	c.Flags().StringVar(&f.login.Certificate, "certificate", "", "PEM file of a certificate, if your server asks for one")
	c.Flags().StringVar(&f.login.Key, "key", "", "PEM file of its key")
}
