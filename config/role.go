package config

import (
	"fmt"
	"net/netip"
	"net/url"
	"slices"
	"strings"

	"fairwindow/conditions/unit"
)

// Role is what a person may do on the pages. Each may all that the one before may.
type Role string

// The roles, from the least.
const (
	Viewer    Role = "viewer"    // reads
	Painter   Role = "painter"   // reports the work and takes readings
	Scheduler Role = "scheduler" // releases plans, takes boats in
	Manager   Role = "manager"   // invites people, makes tokens, sees who changed what
)

// Roles are all of them, from the least.
func Roles() []Role { return []Role{Viewer, Painter, Scheduler, Manager} }

// AtLeast reports whether r may all that the other may; a role that nobody knows may nothing.
func (r Role) AtLeast(other Role) bool {
	at := slices.Index(Roles(), r)
	return at >= 0 && at >= slices.Index(Roles(), other)
}

// SignIn is how long somebody stays signed in.
type SignIn struct {
	Idle unit.Duration `yaml:"idle,omitempty" json:"idle,omitempty"` // since he last had a page open
	Ends unit.Duration `yaml:"ends,omitempty" json:"ends,omitempty"` // since he signed in, whatever he does
}

// SignsIn reports whether people sign in here: as soon as one of them has a role. Where
// nobody has, names are typed and not proven.
func (y Yard) SignsIn() bool {
	return slices.ContainsFunc(y.People, func(p Person) bool { return p.Role != "" })
}

// RoleOf is what a person may do; false if he is none of the yard's. Where others have
// roles, who has none reads only: he was named to be told, not to change anything.
func (y Yard) RoleOf(name string) (Role, bool) {
	p, ok := y.Person(name)
	if ok && p.Role == "" {
		return Viewer, true
	}
	return p.Role, ok
}

// Exposed reports whether an address to listen on is reached from other machines too.
func Exposed(address string) bool {
	u, err := url.Parse("//" + address)
	if err != nil || u.Port() == "" || u.Host != address {
		return false // it is none; the check of addresses says so
	}
	return !here(u.Hostname())
}

// here reports whether a host is this machine.
func here(host string) bool {
	ip, err := netip.ParseAddr(host)
	return strings.EqualFold(host, "localhost") || err == nil && ip.Unmap().IsLoopback()
}

// door checks who may come in, and that no stranger may.
func (c *checker) door() {
	managers := 0
	for i, p := range c.y.People {
		if p.Role != "" {
			c.oneOf(fmt.Sprintf("people[%d].role", i), string(p.Role), texts(Roles())...)
		}
		if p.Role == Manager {
			managers++
		}
	}
	if !c.y.SignsIn() && Exposed(c.y.Listen) {
		c.fault("listen", fmt.Sprintf("on %s the pages are open to whoever reaches this machine, and nobody would have to sign in", c.y.Listen),
			"give people a role:, such as people: [{name: Ines, role: manager}], then fairwindow invite YARD Ines; or listen on 127.0.0.1")
	}
	if c.y.SignsIn() && managers == 0 {
		c.warn("people", "nobody is a manager: people can be invited from the command line only", "give one of them role: manager")
	}
	c.atLeastZero("sign_in.idle", c.y.SignIn.Idle)
	c.atLeastZero("sign_in.ends", c.y.SignIn.Ends)
	if idle, ends := c.y.SignIn.Idle, c.y.SignIn.Ends; ends > 0 && idle > ends {
		c.fault("sign_in.idle", fmt.Sprintf("%s is longer than ends:, %s, so it would never count", idle, ends), "write a shorter idle: or a longer ends:")
	}
}
