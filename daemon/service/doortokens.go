package service

import (
	"context"
	"crypto/subtle"
	"fmt"
	"strings"
	"time"
	"unicode/utf8"

	"fairwindow/daemon/door"
	"fairwindow/daemon/signed"
	"fairwindow/daemon/store"
)

// usedEach is how often it is noted that a token is in use.
const usedEach = 10 * time.Minute

// mostKeys is how many calendars' keys one person may have.
const mostKeys = 12

// Machine is who shows a token or a key; false: nobody, or no more.
func (d *Doors) Machine(ctx context.Context, word string) (door.Machine, bool, error) {
	print := door.Print(strings.TrimSpace(word))
	for _, own := range d.own {
		if subtle.ConstantTimeCompare(own.print, print) == 1 {
			return own.is, true, nil
		}
	}
	if !door.Whole(word) {
		return door.Machine{}, false, nil
	}
	t, there, err := d.s.store.Token(ctx, print)
	if err != nil || !there || !t.Revoked.IsZero() {
		return door.Machine{}, false, err
	}
	if t.Owner != "" {
		if _, known := d.s.Yard().RoleOf(t.Owner); !known {
			return door.Machine{}, false, nil // who left takes his keys with him
		}
	}
	if now := d.clock.Now(); now.Sub(t.Used) >= usedEach {
		if err := d.s.store.UsedToken(ctx, t.ID, now); err != nil {
			d.s.log.WithError(err).Warn("that a token is in use can't be kept; it is let in all the same")
		}
	}
	return machine(t), true, nil
}

func machine(t store.Token) door.Machine {
	m := door.Machine{Name: t.Name, Owner: t.Owner}
	for _, s := range strings.Fields(t.Scopes) {
		m.Scopes = append(m.Scopes, door.Scope(s))
	}
	return m
}

// MakeToken makes a token of some scopes; its word is shown once. A key that a person has for
// his own calendars has him as its owner.
func (d *Doors) MakeToken(ctx context.Context, m door.Machine) (string, error) {
	m.Name = strings.TrimSpace(m.Name)
	switch {
	case m.Name == "" || utf8.RuneCountInString(m.Name) > 80:
		return "", refuse("give the token a name of up to 80 letters, such as what will use it: it is how you know it again")
	case len(m.Scopes) == 0:
		return "", refuse("say what the token may do: %s", scopeWords())
	}
	var scopes []string
	for _, s := range m.Scopes {
		if !s.Known() {
			return "", refuse("%q is nothing that a token may do: %s", s, scopeWords())
		}
		scopes = append(scopes, string(s))
	}
	all, err := d.s.store.Tokens(ctx)
	if err != nil {
		return "", err
	}
	his := 0
	for _, t := range all {
		if !t.Revoked.IsZero() {
			continue
		}
		if t.Name == m.Name && t.Owner == m.Owner {
			return "", refuse("there is a token called %q already: give this one another name, or revoke that one first", m.Name)
		}
		if t.Owner == m.Owner {
			his++
		}
	}
	if m.Owner != "" && his >= mostKeys {
		return "", refuse("%s has %d calendars' addresses already: take one back first", m.Owner, his)
	}
	word := door.Word()
	g, _ := signature(ctx, "token made", fmt.Sprintf("%s (%s)", m.Name, strings.Join(scopes, ", ")))
	return word, d.s.store.MakeToken(ctx, store.Token{
		Print: door.Print(word), Name: m.Name, Scopes: strings.Join(scopes, " "), Owner: m.Owner, By: g.By, At: d.clock.Now(),
	}, g)
}

func scopeWords() string {
	var words []string
	for _, s := range door.Scopes() {
		words = append(words, string(s))
	}
	return strings.Join(words, ", ")
}

// Tokens are those of an owner, or all for none, those that hold first.
func (d *Doors) Tokens(ctx context.Context, owner string) ([]door.Token, error) {
	all, err := d.s.store.Tokens(ctx)
	var out []door.Token
	for _, t := range all {
		if owner == "" || t.Owner == owner {
			out = append(out, door.Token{ID: t.ID, Machine: machine(t), By: t.By, Made: t.At, Used: t.Used, Revoked: t.Revoked})
		}
	}
	return out, err
}

// RevokeToken ends a token at once; of an owner's, unless that is empty.
func (d *Doors) RevokeToken(ctx context.Context, id int64, owner string) error {
	all, err := d.Tokens(ctx, owner)
	if err != nil {
		return err
	}
	for _, t := range all {
		if t.ID == id && t.Revoked.IsZero() {
			g, _ := signature(ctx, "token revoked", t.Machine.Name)
			_, err := d.s.store.RevokeToken(ctx, id, owner, d.clock.Now(), g)
			return err
		}
	}
	return refuse("there is no such token that still holds: look at the list again")
}

// Signed are the changes that bear a hand, the latest first: of one person, or of all for no
// name, within [from, to).
func (d *Doors) Signed(ctx context.Context, by string, from, to time.Time, most int) ([]signed.Line, error) {
	all, err := d.s.store.Signatures(ctx, store.SignatureQuery{By: by, From: from, To: to, Limit: most})
	var out []signed.Line
	for _, g := range all {
		out = append(out, signed.Line{At: g.At, Kind: g.Kind, About: g.About, Hand: signed.Hand{
			By: g.By, Role: g.Role, Address: g.Address, Device: g.Device, Through: g.Through,
		}})
	}
	return out, err
}

// Signers are all who ever changed something by hand.
func (d *Doors) Signers(ctx context.Context) ([]string, error) { return d.s.store.Signers(ctx) }
