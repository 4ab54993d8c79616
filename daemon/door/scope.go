package door

import "slices"

// Scope is one thing that a machine's token opens, and nothing else.
type Scope string

// The scopes. Doors is the command line's own key: it invites people and makes tokens.
const (
	Readings Scope = "readings" // POST /v1/readings
	Boats    Scope = "boats"    // GET and POST /v1/boats
	Plan     Scope = "plan"     // GET /v1/plan and /v1/draft
	Metrics  Scope = "metrics"  // GET /metrics
	Calendar Scope = "calendar" // GET /calendar/…, with the token as ?key= in the address
	Board    Scope = "board"    // GET /board/PLACE and /events, with the token as ?key= in the address
	Doors    Scope = "doors"    // POST /v1/invitations and /v1/tokens
)

// Scopes are those that a token may be given.
func Scopes() []Scope { return []Scope{Readings, Boats, Plan, Metrics, Calendar, Board} }

// Known reports whether a token may be given a scope.
func (s Scope) Known() bool { return slices.Contains(Scopes(), s) }

// Machine is a token's holder: its name and what it opens.
type Machine struct {
	Name   string
	Scopes []Scope
	Owner  string // the person whose calendar's key it is; empty: the yard's
}

// Opens reports whether a machine may do what a scope names.
func (m Machine) Opens(s Scope) bool { return slices.Contains(m.Scopes, s) }
