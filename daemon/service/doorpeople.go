package service

import (
	"context"
	"errors"
	"time"

	"fairwindow/daemon/door"
	"fairwindow/daemon/store"
)

// invitedFor is how long an invitation holds.
const invitedFor = 24 * time.Hour

// Invite makes a word with which a person sets his password, once, within a day. An earlier
// one is void; his password, if he has one, holds until he sets another.
func (d *Doors) Invite(ctx context.Context, name string) (word string, until time.Time, err error) {
	y := d.s.Yard()
	p, _, known := person(y, name)
	switch {
	case !known:
		return "", until, refuse("%q is nobody of the yard file: write him there under people:, then send the daemon HUP", name)
	case !y.SignsIn():
		return "", until, refuse("nobody has a role in the yard file, so nobody signs in: write one such as role: painter beside %s, then send the daemon HUP", p.Name)
	}
	now := d.clock.Now()
	word, until = door.Word(), now.Add(invitedFor)
	g, _ := signature(ctx, "invited", p.Name)
	return word, until, d.s.store.Invite(ctx, store.Invitation{Person: p.Name, Print: door.Print(word), By: g.By, At: now, Until: until}, g)
}

// Invited is the person whose invitation a word is; false: it holds no more.
func (d *Doors) Invited(ctx context.Context, word string) (string, bool, error) {
	if !door.Whole(word) {
		return "", false, nil
	}
	all, err := d.s.store.Invitations(ctx, d.clock.Now())
	for _, i := range all {
		if string(i.Print) == string(door.Print(word)) {
			_, _, known := person(d.s.Yard(), i.Person)
			return i.Person, known, err
		}
	}
	return "", false, err
}

// errOver answers a word that was used, overtaken, or is too old.
var errOver = refuse("this invitation holds no more: it was used, a later one took its place, or its day is over. Ask for another")

// Accept sets the password of the person whose invitation a word is and signs him in.
func (d *Doors) Accept(ctx context.Context, invitation, password string) (string, error) {
	name, there, err := d.Invited(ctx, invitation)
	if err != nil || !there {
		return "", errors.Join(err, errOver)
	}
	stored, err := d.keep(ctx, name, password)
	if err != nil {
		return "", err
	}
	_, role, _ := person(d.s.Yard(), name)
	g, _ := signature(ctx, "password set", name)
	g.By, g.Role = name, string(role)
	set, err := d.s.store.AcceptInvitation(ctx, door.Print(invitation), name, stored, d.clock.Now(), g)
	switch {
	case err != nil:
		return "", err
	case !set:
		return "", errOver
	}
	return d.begin(ctx, name, role, stored)
}

// keep is what is stored of a password that is good enough.
func (d *Doors) keep(ctx context.Context, name, password string) (string, error) {
	if why := door.Weak(password, name, d.s.Yard().Name); why != "" {
		return "", refuse("%s", why)
	}
	stored, err := d.passwords.Keep(ctx, password)
	if errors.Is(err, door.ErrBusy) {
		return "", refuse("%s: wait a few seconds and press again", err)
	}
	return stored, err
}

// ChangePassword puts a new one in the place of a person's own, ends his sessions and begins one.
func (d *Doors) ChangePassword(ctx context.Context, name, was, password string) (string, error) {
	_, role, known := person(d.s.Yard(), name)
	stored, err := d.s.store.Password(ctx, name)
	if err != nil || !known {
		return "", errors.Join(err, errNotRight)
	}
	is, _, err := d.passwords.Is(ctx, was, stored)
	switch {
	case errors.Is(err, door.ErrBusy):
		return "", refuse("%s: wait a few seconds and press again", err)
	case err != nil:
		return "", err
	case !is:
		return "", refuse("the old password is not right: nothing was changed")
	}
	fresh, err := d.keep(ctx, name, password)
	if err != nil {
		return "", err
	}
	g, _ := signature(ctx, "password changed", name)
	set, err := d.s.store.ChangePassword(ctx, name, stored, fresh, d.clock.Now(), g)
	switch {
	case err != nil:
		return "", err
	case !set:
		return "", refuse("the password was changed elsewhere at this moment: sign in with that one")
	}
	return d.begin(ctx, name, role, fresh)
}

// Guests are the people of the yard file, in its order.
func (d *Doors) Guests(ctx context.Context) ([]door.Guest, error) {
	y, now := d.s.Yard(), d.clock.Now()
	knows, err := d.s.store.HavePasswords(ctx)
	if err != nil {
		return nil, err
	}
	invited, err := d.s.store.Invitations(ctx, now)
	if err != nil {
		return nil, err
	}
	stays, err := d.s.store.Sessions(ctx, "")
	var all []door.Guest
	for _, p := range y.People {
		role, _ := y.RoleOf(p.Name)
		g := door.Guest{Name: p.Name, Role: role, Knows: knows[p.Name]}
		for _, i := range invited {
			if i.Person == p.Name {
				g.Invited = i.Until
			}
		}
		for _, n := range stays {
			if _, goes := holds(y, n, now); goes && n.Person == p.Name {
				g.Stays++
				if n.Seen.After(g.Seen) {
					g.Seen = n.Seen
				}
			}
		}
		all = append(all, g)
	}
	return all, err
}

// ShutOut takes a person's password, invitation, sessions and calendars' keys from him; a new
// invitation lets him in again.
func (d *Doors) ShutOut(ctx context.Context, name string) error {
	p, _, known := person(d.s.Yard(), name)
	if !known {
		return refuse("%q is nobody of the yard file: who is not in it is out already", name)
	}
	g, _ := signature(ctx, "shut out", p.Name)
	return d.s.store.ShutOut(ctx, p.Name, d.clock.Now(), g)
}
