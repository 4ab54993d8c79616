// Package signed answers one question: whose hand is it? Whoever lets a request in writes
// into its context who makes it, what he may do and from where; whoever keeps a change
// reads it there and writes it beside the change. What lies between passes the context on.
package signed

import (
	"context"
	"time"
)

// Hand is who makes a change and from where. The zero Hand is the program's own.
type Hand struct {
	By      string // a person's name as signed in or, where nobody signs in, as typed; a token's name
	Role    string // what he may do: a role of the yard file, Typed, or Machine
	Address string // of the network, as the pages saw it
	Device  string // phone, tablet, computer or program
	Through string // the path of the page that took it
}

// Roles that no yard file gives.
const (
	Typed    = "typed"    // a name that nobody has proven
	Machine  = "machine"  // a token's
	Stranger = "stranger" // who was not let in
	Command  = "command"  // the command line on the machine with the state folder
)

type key struct{}

// With puts a hand into a context.
func With(ctx context.Context, h Hand) context.Context { return context.WithValue(ctx, key{}, h) }

// Of is the hand of a context; false if the program acts by itself.
func Of(ctx context.Context) (Hand, bool) {
	h, ok := ctx.Value(key{}).(Hand)
	return h, ok
}

// Line is one signed change.
type Line struct {
	At    time.Time
	Kind  string // what was done
	About string // to what
	Hand
}
