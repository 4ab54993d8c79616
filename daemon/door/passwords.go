package door

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"unicode/utf8"
)

// Passwords makes and checks what is kept of passwords, few at once: each takes Cost.Memory.
type Passwords struct {
	cost    Cost
	nobody  kept // tried where there is nothing to try, so that nobody's absence shows
	atOnce  chan struct{}
	waiting chan struct{}
}

// How many passwords are worked on at once, and how many callers may wait for that.
const (
	workedOn  = 2
	mayWait   = 32
	leastLong = 10  // letters; NIST SP 800-63B asks for 8 at least and for no rule of which (from memory)
	mostLong  = 256 // bytes; it asks for 64 letters at least to be taken (from memory)
)

// ErrBusy says that too many passwords are being worked on.
var ErrBusy = errors.New("too many sign in at this moment")

// NewPasswords works at the usual cost, or at another for a test.
func NewPasswords(cost ...Cost) *Passwords {
	p := &Passwords{cost: usualCost(), atOnce: make(chan struct{}, workedOn), waiting: make(chan struct{}, mayWait)}
	if len(cost) > 0 {
		p.cost = cost[0]
	}
	p.nobody = fresh("", p.cost)
	return p
}

// turn waits for one of the few places; the function it gives hands it back.
func (p *Passwords) turn(ctx context.Context) (func(), error) {
	select {
	case p.waiting <- struct{}{}:
		defer func() { <-p.waiting }()
	default:
		return nil, ErrBusy
	}
	select {
	case p.atOnce <- struct{}{}:
		return func() { <-p.atOnce }, nil
	case <-ctx.Done():
		return nil, ctx.Err()
	}
}

// Keep is what is stored of a password.
func (p *Passwords) Keep(ctx context.Context, password string) (string, error) {
	done, err := p.turn(ctx)
	if err != nil {
		return "", err
	}
	defer done()
	return fresh(password, p.cost).String(), nil
}

// Is reports whether a password is the stored one, and whether it should be stored anew, at
// today's cost. An empty stored one is nobody's, and takes as long to refuse.
func (p *Passwords) Is(ctx context.Context, password, stored string) (is, anew bool, err error) {
	k := p.nobody
	if stored != "" {
		if k, err = parse(stored); err != nil {
			return false, false, err
		}
	}
	done, err := p.turn(ctx)
	if err != nil {
		return false, false, err
	}
	defer done()
	if len(password) > mostLong {
		password = password[:mostLong] + "…" // no longer anybody's
	}
	is = k.is(password) && stored != ""
	return is, is && k.cost != p.cost, nil
}

// Weak says why a password is too easily guessed, and what would be right; empty: it is not.
// Words are those that somebody who knows the person would try.
func Weak(password string, words ...string) string {
	switch {
	case !utf8.ValidString(password):
		return "Write it with letters, digits and signs only."
	case utf8.RuneCountInString(password) < leastLong:
		return fmt.Sprintf("Write at least %d letters: four words that have nothing to do with each other do well.", leastLong)
	case len(password) > mostLong:
		return fmt.Sprintf("Write at most %d letters.", mostLong)
	}
	lower := strings.ToLower(password)
	if different(lower) < 5 {
		return "It has the same few letters over and over. Write other words."
	}
	rest := lower
	for _, w := range append(words, "password", "passwort", "1234567890", "0987654321", "qwertyuiop", "qwertzuiop", "azertyuiop", "abcdefghij", "fairwindow", "letmein", "welcome") {
		if w = strings.ToLower(strings.TrimSpace(w)); len(w) > 2 {
			rest = strings.ReplaceAll(rest, w, "")
		}
	}
	if utf8.RuneCountInString(strings.Trim(rest, "0123456789 !?.-_#*")) < 4 {
		return "It is little more than a name or one of the words that are tried first. Write other words."
	}
	return ""
}

func different(s string) int {
	seen := map[rune]bool{}
	for _, r := range s {
		seen[r] = true
	}
	return len(seen)
}
