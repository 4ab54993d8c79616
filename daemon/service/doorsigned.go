package service

import (
	"context"
	"fmt"
	"sync"

	"fairwindow/config"
	"fairwindow/daemon/signed"
	"fairwindow/daemon/store"
)

// manyTries is how many wrong passwords in a row are worth a line among the signatures; each
// doubling is the next. A slip of the finger is nobody's business.
const manyTries = 5

// wrongTries counts wrong passwords since a person last came in. Names that nobody here has
// are one: else a stranger would choose what is kept.
type wrongTries struct {
	mu sync.Mutex
	n  map[string]int
}

func (t *wrongTries) add(name string) int {
	t.mu.Lock()
	defer t.mu.Unlock()
	if t.n == nil {
		t.n = map[string]int{}
	}
	t.n[name]++
	return t.n[name]
}

// forget gives how many there were, and begins anew.
func (t *wrongTries) forget(name string) int {
	t.mu.Lock()
	defer t.mu.Unlock()
	n := t.n[name]
	delete(t.n, name)
	return n
}

// failed notes a wrong password for a person, or for a name of nobody.
func (d *Doors) failed(ctx context.Context, name string) error {
	n := d.wrong.add(name)
	many := manyTries
	for many < n {
		many *= 2
	}
	if n != many {
		return nil
	}
	about := name
	if about == "" {
		about = "names that nobody here has"
	}
	g, ok := signature(ctx, fmt.Sprintf("sign-in failed %d times", n), about)
	if !ok {
		return nil
	}
	g.By, g.Role = "", signed.Stranger
	return d.s.store.Sign(ctx, d.clock.Now(), g)
}

// atTheDoor is the signature of who comes or goes: his own, whoever the request was of before.
func atTheDoor(ctx context.Context, kind, name string, role config.Role, failed int) store.Signature {
	about := name
	if failed >= manyTries {
		about = fmt.Sprintf("%s, after %d wrong passwords", name, failed)
	}
	g, _ := signature(ctx, kind, about)
	g.By, g.Role = name, string(role)
	return g
}
