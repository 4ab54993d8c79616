package door

import (
	"time"

	"fairwindow/config"
)

// Visitor is somebody who is signed in.
type Visitor struct {
	Name string
	Role config.Role
}

// Stay is a browser in which somebody is signed in.
type Stay struct {
	Device  string
	Address string
	Begun   time.Time
	Seen    time.Time // lately, not to the minute
	This    bool      // the one that asks
}

// Guest is a person of the yard file as the door knows him.
type Guest struct {
	Name    string
	Role    config.Role
	Knows   bool      // he has set a password
	Invited time.Time // until when an invitation holds; zero: there is none
	Stays   int
	Seen    time.Time // zero: he is signed in nowhere
}

// Token is a machine's, without what it opens with.
type Token struct {
	ID      int64
	Machine Machine
	By      string
	Made    time.Time
	Used    time.Time // lately; zero: never
	Revoked time.Time // zero: it holds
}
