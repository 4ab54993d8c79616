package pages

import (
	"context"
	"time"

	"fairwindow/daemon/door"
	"fairwindow/daemon/signed"
)

// Door lets people and machines in. A word is a secret that is shown once; an error is as one
// of the Desk.
type Door interface {
	SignIn(ctx context.Context, name, password string) (word string, err error)
	// Visitor is who is signed in by a word; false: nobody, or no more.
	Visitor(ctx context.Context, word string) (door.Visitor, bool, error)
	SignOut(ctx context.Context, word string, everywhere bool) error
	Stays(ctx context.Context, name, word string) ([]door.Stay, error)
	ChangePassword(ctx context.Context, name, was, password string) (word string, err error)

	Invite(ctx context.Context, name string) (word string, until time.Time, err error)
	Invited(ctx context.Context, word string) (name string, holds bool, err error)
	Accept(ctx context.Context, invitation, password string) (word string, err error)
	Guests(context.Context) ([]door.Guest, error)
	ShutOut(ctx context.Context, name string) error

	// Machine is who shows a token; false: nobody, or no more.
	Machine(ctx context.Context, word string) (door.Machine, bool, error)
	MakeToken(ctx context.Context, m door.Machine) (word string, err error)
	Tokens(ctx context.Context, owner string) ([]door.Token, error)
	RevokeToken(ctx context.Context, id int64, owner string) error

	Signed(ctx context.Context, by string, from, to time.Time, most int) ([]signed.Line, error)
	Signers(context.Context) ([]string, error)
}
