package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"strings"

	"github.com/spf13/cobra"

	"fairwindow/daemon/door"
)

// handedOut is a secret that the daemon gives out once.
type handedOut struct {
	Word  string `json:"word"`
	Until string `json:"until"`
	Error string `json:"error"`
}

func inviteCommand() *cobra.Command {
	var state string
	c := &cobra.Command{
		Use:   "invite YARD NAME",
		Short: "Let a person set the password for the pages",
		Long: `Prints an address, once, at which a person of the yard file sets a password of his
own in the browser. It holds for a day and for one use; a later invitation of the same
person takes its place. A forgotten password is another invitation: the old one holds
until another is set.

The daemon must be running, and this command must be able to read its state folder. A
manager does the same on the page People.`,
		Example: `  fairwindow invite my-yard Ines`,
		Args:    exactly("YARD", "NAME"),
		RunE: func(c *cobra.Command, args []string) error {
			y, err := readYard(args[0])
			if err != nil {
				return err
			}
			is, err := askForSecret(c, args[0], state, "/v1/invitations", url.Values{"person": {args[1]}})
			if err != nil {
				return err
			}
			name, here := args[1], reached(y.Listen)
			for _, p := range y.People {
				if strings.EqualFold(p.Name, name) {
					name = p.Name
				}
			}
			_, err = fmt.Fprintf(c.OutOrStdout(), "For %s alone, until %s:\n\n  http://%s/welcome?word=%s\n\nWhere the pages have another address, put it in place of http://%s.\n",
				name, is.Until, here, url.QueryEscape(is.Word), here)
			return err
		},
	}
	c.Flags().StringVar(&state, "state", "", "the daemon's state folder; default under the user's state directory")
	return c
}

func tokenCommand() *cobra.Command {
	var state string
	var scopes []string
	c := &cobra.Command{
		Use:   "token YARD NAME --scope SCOPE",
		Short: "Make a token by which a machine reaches the daemon",
		Long: `Prints a token, once. It goes along as "Authorization: Bearer …" and opens what its
scopes name, and nothing else:

  readings  POST /v1/readings
  boats     GET and POST /v1/boats
  plan      GET /v1/plan and /v1/draft
  metrics   GET /metrics
  calendar  GET /calendar/…, where it may stand in the address as ?key=…
  board     GET /board/PLACE for a screen on the wall, with ?key=… too

A manager sees when it was last used, and revokes it, on the page Tokens. The daemon must
be running, and this command must be able to read its state folder.`,
		Example: `  fairwindow token my-yard "booth gateway" --scope readings
  fairwindow token my-yard "office board" --scope plan --scope metrics`,
		Args: exactly("YARD", "NAME"),
		RunE: func(c *cobra.Command, args []string) error {
			for _, s := range scopes {
				if !door.Scope(s).Known() {
					return usage("--scope: %q is none of readings, boats, plan, metrics, calendar and board", s)
				}
			}
			if len(scopes) == 0 {
				return usage("what may it do? name it with --scope: readings, boats, plan, metrics, calendar or board")
			}
			is, err := askForSecret(c, args[0], state, "/v1/tokens", url.Values{"name": {args[1]}, "scope": scopes})
			if err != nil {
				return err
			}
			_, err = fmt.Fprintln(c.OutOrStdout(), is.Word)
			return err
		},
	}
	c.Flags().StringVar(&state, "state", "", "the daemon's state folder; default under the user's state directory")
	c.Flags().StringArrayVar(&scopes, "scope", nil, "what it may do; more than one may be named")
	return c
}

// askForSecret asks the running daemon for an invitation or a token.
func askForSecret(c *cobra.Command, arg, state, path string, form url.Values) (handedOut, error) {
	var is handedOut
	y, err := readYard(arg)
	if err != nil {
		return is, err
	}
	status, said, err := askDaemon(y, state, path, "application/x-www-form-urlencoded", []byte(form.Encode()))
	switch {
	case errors.Is(err, errNoDaemon):
		return is, usage("no daemon answers on %s: start it with fairwindow run %s", y.Listen, arg)
	case err != nil:
		return is, err
	case status == http.StatusUnauthorized || status == http.StatusForbidden:
		return is, usage("the daemon on %s does not know this state folder's key: name its folder with --state, or run this as the daemon's user", y.Listen)
	}
	if err := json.Unmarshal(said, &is); err != nil {
		return is, usage("the daemon on %s answered %d: %s", y.Listen, status, strings.TrimSpace(string(said)))
	}
	if is.Error != "" {
		fmt.Fprintln(c.ErrOrStderr(), "not done:", is.Error)
		return is, errNo
	}
	return is, nil
}
