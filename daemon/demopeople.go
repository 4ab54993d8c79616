package main

import (
	"context"
	"fmt"
	"io"
	"net/url"

	"fairwindow/config"
	"fairwindow/daemon/signed"
)

// demoPeople are the invented people of a demo in which one signs in, one of each role.
func demoPeople() []config.Person {
	return []config.Person{
		{Name: "Marta", Role: config.Manager}, {Name: "Rui", Role: config.Scheduler},
		{Name: "Ines", Role: config.Painter, Crews: []string{"paint"}}, {Name: "Tomas", Role: config.Viewer},
	}
}

// invite prints the invitations of the demo's people, if they sign in.
func (p *play) invite(ctx context.Context, out io.Writer, st *stage) error {
	if !p.signIn {
		return nil
	}
	ctx = signed.With(ctx, signed.Hand{By: "the demo", Role: signed.Command, Device: "program"})
	for _, who := range demoPeople() {
		word, _, err := st.web.doors.Invite(ctx, who.Name)
		if err != nil {
			return err
		}
		fmt.Fprintf(out, "%-10s %-6s %swelcome?%s\n", who.Role, who.Name, st.web.url, url.Values{"word": {word}}.Encode())
	}
	_, err := fmt.Fprintln(out)
	return err
}
