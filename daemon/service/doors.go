package service

import (
	"context"
	"errors"
	"path/filepath"
	"strings"
	"time"

	"github.com/jonboulle/clockwork"

	"fairwindow/config"
	"fairwindow/daemon/door"
	"fairwindow/daemon/signed"
	"fairwindow/daemon/store"
)

// Doors lets people and machines in. Its times are those of a clock of its own: a session
// does not end sooner because a play is fast.
type Doors struct {
	s         *Service
	clock     clockwork.Clock
	passwords *door.Passwords
	own       []ownWord
	wrong     wrongTries
}

// ownWord is a secret that lies in a file and not in the store.
type ownWord struct {
	print []byte
	is    door.Machine
}

// errNotRight is one answer to a wrong name, a wrong password and a person who has none yet:
// which of them it was is nobody's business.
var errNotRight = refuse("the name or the password is not right: try again, or ask a manager for an invitation")

// Doors are the doors of a service; its own words are made at the first start.
func (s *Service) Doors(o ...func(*Doors)) (*Doors, error) {
	d := &Doors{s: s, clock: s.opt.Clock, passwords: door.NewPasswords()}
	for _, set := range o {
		set(d)
	}
	readings, err := s.token()
	if err != nil {
		return nil, err
	}
	key, err := keptWord(filepath.Join(s.opt.State, DoorFile), true)
	if err != nil {
		return nil, err
	}
	d.own = []ownWord{
		{door.Print(readings), door.Machine{Name: "the yard's token", Scopes: []door.Scope{door.Readings, door.Boats}}},
		{door.Print(key), door.Machine{Name: "the command line", Scopes: []door.Scope{door.Doors, door.Boats}}},
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	s.reloaded = d.sweep
	return d, d.sweep(context.Background(), s.facts.yard)
}

// ByClock has the doors go by another clock than the service.
func ByClock(c clockwork.Clock) func(*Doors) { return func(d *Doors) { d.clock = c } }

// person is one of the yard file, by his name however its letters are written.
func person(y config.Yard, name string) (config.Person, config.Role, bool) {
	for _, p := range y.People {
		if strings.EqualFold(p.Name, strings.TrimSpace(name)) {
			role, ok := y.RoleOf(p.Name)
			return p, role, ok
		}
	}
	return config.Person{}, "", false
}

// SignIn begins a session of a person who knows his password; its word is the session's only proof.
func (d *Doors) SignIn(ctx context.Context, name, password string) (string, error) {
	y := d.s.Yard()
	p, role, known := person(y, name)
	stored := ""
	if known {
		var err error
		if stored, err = d.s.store.Password(ctx, p.Name); err != nil {
			return "", err
		}
	}
	is, anew, err := d.passwords.Is(ctx, password, stored)
	switch {
	case errors.Is(err, door.ErrBusy):
		return "", refuse("%s: wait a few seconds and press again", err)
	case err != nil:
		return "", err
	case !is:
		if err := d.failed(ctx, p.Name); err != nil {
			return "", err
		}
		return "", errNotRight
	}
	if anew {
		if dearer, err := d.passwords.Keep(ctx, password); err == nil && d.s.store.KeepDearer(ctx, p.Name, stored, dearer) == nil {
			stored = dearer
		}
	}
	return d.begin(ctx, p.Name, role, stored, atTheDoor(ctx, "signed in", p.Name, role, d.wrong.forget(p.Name)))
}

// begin keeps a new session of a person whose kept password is the one just tried.
func (d *Doors) begin(ctx context.Context, name string, role config.Role, stored string, by ...store.Signature) (string, error) {
	word, h := door.Word(), handOf(ctx)
	begun, err := d.s.store.BeginSession(ctx, store.Session{
		Print: door.Print(word), Person: name, Role: string(role), Address: h.Address, Device: h.Device, Begun: d.clock.Now(),
	}, stored, by...)
	switch {
	case err != nil:
		return "", err
	case !begun:
		return "", errNotRight // the password was changed this moment
	}
	return word, d.sweep(ctx, d.s.Yard())
}

func handOf(ctx context.Context) signed.Hand {
	h, _ := signed.Of(ctx)
	return h
}

// Visitor is who is signed in by a word; false: nobody, or no more.
func (d *Doors) Visitor(ctx context.Context, word string) (door.Visitor, bool, error) {
	if !door.Whole(word) {
		return door.Visitor{}, false, nil
	}
	n, there, err := d.s.store.Session(ctx, door.Print(word))
	if err != nil || !there {
		return door.Visitor{}, false, err
	}
	y, now := d.s.Yard(), d.clock.Now()
	role, holds := holds(y, n, now)
	if !holds {
		return door.Visitor{}, false, d.s.store.EndSession(ctx, n.Print)
	}
	if now.Sub(n.Seen) >= noted(y) {
		if err := d.s.store.SeenSession(ctx, n.ID, now); err != nil {
			d.s.log.WithError(err).Warn("that a session is in use can't be kept; it may end too soon")
		}
	}
	return door.Visitor{Name: n.Person, Role: role}, true, nil
}

// holds reports whether a session goes on, and what its person may do now. A lesser role than
// he signed in with ends it.
func holds(y config.Yard, n store.Session, now time.Time) (config.Role, bool) {
	role, known := y.RoleOf(n.Person)
	return role, known && role.AtLeast(config.Role(n.Role)) &&
		now.Sub(n.Seen) < y.SignIn.Idle.Std() && now.Sub(n.Begun) < y.SignIn.Ends.Std()
}

// noted is how often it is noted that a session is in use: a page costs no write.
func noted(y config.Yard) time.Duration { return min(5*time.Minute, y.SignIn.Idle.Std()/8) }

// sweep ends what holds no more by the yard file and the hour.
func (d *Doors) sweep(ctx context.Context, y config.Yard) error {
	now := d.clock.Now()
	if err := d.s.store.SweepSessions(ctx, now.Add(-y.SignIn.Ends.Std()), now.Add(-y.SignIn.Idle.Std()), now); err != nil {
		return err
	}
	all, err := d.s.store.Sessions(ctx, "")
	if err != nil {
		return err
	}
	for _, n := range all {
		if _, goes := holds(y, n, now); !goes {
			if err := d.s.store.EndSession(ctx, n.Print); err != nil {
				return err
			}
		}
	}
	return nil
}

// SignOut ends the session of a word, or every one of its person.
func (d *Doors) SignOut(ctx context.Context, word string, everywhere bool) error {
	n, there, err := d.s.store.Session(ctx, door.Print(word))
	switch {
	case err != nil || !there:
		return err
	}
	kind := "signed out"
	if everywhere {
		kind = "signed out everywhere"
	}
	return d.s.store.SignOut(ctx, n, everywhere, d.clock.Now(), atTheDoor(ctx, kind, n.Person, config.Role(n.Role), 0))
}

// Stays are the browsers in which a person is signed in; word is the one that asks.
func (d *Doors) Stays(ctx context.Context, name, word string) ([]door.Stay, error) {
	all, err := d.s.store.Sessions(ctx, name)
	var stays []door.Stay
	for _, n := range all {
		if _, goes := holds(d.s.Yard(), n, d.clock.Now()); goes {
			stays = append(stays, door.Stay{Device: n.Device, Address: n.Address, Begun: n.Begun, Seen: n.Seen, This: string(n.Print) == string(door.Print(word))})
		}
	}
	return stays, err
}
