package planner

import (
	"time"

	"fairwindow/conditions"
	"fairwindow/config"
)

// Version is the planner's own version: a plan made by another may differ.
const Version = 4

// Plan is a start, an end, a place and a crew for every open stage, with reasons.
type Plan struct {
	At       time.Time `json:"at"`
	Until    time.Time `json:"until"` // the horizon's end
	Version  int       `json:"version"`
	Stages   []Planned `json:"stages"` // open ones, by start, then boat, area, order
	Blocks   []Block   `json:"blocks"`
	Launches []Launch  `json:"launches"`
	Cost     []Term    `json:"cost"`  // the objective, term by term
	Bound    int64     `json:"bound"` // no plan of the problem costs less
	// Turns are those in which it was laid. A later plan that shall keep to it takes them
	// again.
	Turns []Turn `json:"turns"`
	// Retold is what differs from what people were told, Bought what that saves, term by
	// term, against a plan that keeps to it as far as it can.
	Retold []Retold `json:"retold,omitempty"`
	Bought []Term   `json:"bought,omitempty"`
}

// Planned is one open stage.
type Planned struct {
	Key    Key              `json:"key"`
	Kind   config.StageKind `json:"kind"`
	Stage  config.Stage     `json:"stage"` // as planned: of a repair or the rest of a coat no system tells
	Place  string           `json:"place,omitempty"`
	Crew   string           `json:"crew,omitempty"`
	People int              `json:"people,omitempty"`
	// Ready is when all that comes before is done; Start and End are zero when
	// the stage could not be placed within the horizon.
	Ready time.Time `json:"ready,omitzero"`
	Start time.Time `json:"start,omitzero"`
	End   time.Time `json:"end,omitzero"`
	// Brought is when the boat begins to be fetched for it; zero if it is there.
	Brought time.Time `json:"brought,omitzero"`
	Work    []Span    `json:"work,omitempty"`   // the shifts' parts of interruptible work
	Passes  []Span    `json:"passes,omitempty"` // of a coat
	State   State     `json:"state"`
	Risk    string    `json:"risk,omitempty"` // what is at risk
	Chance  float64   `json:"chance"`         // that its limits hold to the end of protection
	// Until is the last start of the window the stage is planned in.
	Until time.Time `json:"until,omitzero"`
	// Fallback is named for a coat whose chance is less than is asked of a start.
	Fallback *Fallback `json:"fallback,omitempty"`
	// Protected is the end of a coat's protected time.
	Protected time.Time `json:"protected,omitzero"`
	Repair    bool      `json:"repair,omitempty"` // put in because a recoat window will have lapsed
	Waits     []Wait    `json:"waits,omitempty"`
	// Impossible are the facts that leave it without a start; only where Explain was asked.
	Impossible []Fact `json:"impossible,omitempty"`
	// Binds names what fixes the start: "ready", or the cause of the last wait; BindsOn is
	// the stage, limit or person in the way then, or what made it ready last.
	Binds   string   `json:"binds,omitempty"`
	BindsOn Evidence `json:"binds_on,omitzero"`
	// Next is the next-best start; none for what runs and where no other is known.
	Next *Other `json:"next,omitempty"`
}

// Other is another start that a stage could have had.
type Other struct {
	Start time.Time `json:"start,omitzero"`
	Place string    `json:"place,omitempty"`
	Crew  string    `json:"crew,omitempty"`
	// Extra is what it would cost more, in cost-minutes. Estimate says that it is the least
	// that follows for the boats' launches, without planning anew.
	Extra    int64 `json:"extra"`
	Estimate bool  `json:"estimate,omitempty"`
}

// Span is a half-open span of time.
type Span struct {
	From time.Time `json:"from"`
	To   time.Time `json:"to"`
}

// State says how sure a planned stage is.
type State string

// States of a planned stage.
const (
	Running     State = "running"
	OpenNow     State = "open"        // measured, and yes
	Firm        State = "firm"        // within the forecast with enough chance
	PencilledIn State = "pencilled"   // beyond the forecast
	AtRisk      State = "at risk"     // planned although a limit may not hold
	Unconfirmed State = "unconfirmed" // its start passed unreported
	Unplaced    State = "unplaced"    // no start within the horizon
)

// Block is a boat's stay in one place.
type Block struct {
	Boat  string    `json:"boat"`
	Place string    `json:"place"`
	From  time.Time `json:"from"`
	To    time.Time `json:"to"`
	// Move is the time at its beginning in which the boat is brought in, Mover by whom.
	Move  time.Duration `json:"move,omitempty"`
	Mover string        `json:"mover,omitempty"`
	// Swap is the boat that this one changes places with, in one joint move of both that
	// begins at From: the one is brought in first, while the other hangs aside. Aside is how
	// much of Move that takes: the crew and the lift are at this boat's own move after it.
	Swap  string        `json:"swap,omitempty"`
	Aside time.Duration `json:"aside,omitempty"`
}

// moving is the part of a block in which its crew and its lift bring the boat in.
func (b Block) moving() Span { return Span{b.From.Add(b.Aside), b.From.Add(b.Move)} }

// Launch is when a boat will be ready: Likely by the plan, Cautious with less luck; zero
// if beyond it.
type Launch struct {
	Boat     string    `json:"boat"`
	Promised time.Time `json:"promised"`
	Likely   time.Time `json:"likely,omitzero"`
	Cautious time.Time `json:"cautious,omitzero"`
}

// Term is one part of the objective, cost-minutes.
type Term struct {
	Name   string `json:"name"`
	Amount int64  `json:"amount"`
}

// Wait is a span of waiting with its one cause.
type Wait struct {
	From     time.Time `json:"from"`
	To       time.Time `json:"to"`
	Cause    Cause     `json:"cause"`
	Evidence Evidence  `json:"evidence"`
}

// Cause is the closed set of causes, in the two ledgers.
type Cause string

// Before ready: from the first promised start to the moment the stage could begin.
const (
	LateBoat     Cause = "late boat"
	SlowCure     Cause = "slow cure"
	Overrun      Cause = "overrun"
	Rework       Cause = "rework"
	AwaitsParty  Cause = "waiting for a named party"
	Absent       Cause = "absent"
	EarlierMoved Cause = "earlier stage moved"
)

// After ready, in the order in which they are asked; the first that holds is the cause.
const (
	HeldBy      Cause = "held or pinned"
	PlaceTaken  Cause = "place taken"
	PlaceClosed Cause = "place closed"
	LiftMove    Cause = "lift or move"
	NoShift     Cause = "no shift"
	CrewBusy    Cause = "crew busy"
	// EquipmentBusy is what a stage uses: taken, out of its hours or out of service.
	// Of a lift that is not free to move a boat the cause is LiftMove.
	EquipmentBusy Cause = "equipment busy"
	Clearance     Cause = "booth clearance"
	Dust          Cause = "dust"
	OutOfLimits   Cause = "conditions"
	GaveWay       Cause = "gave way to a boat"
	KeptClose     Cause = "kept close to the next stage"
	ShorterHold   Cause = "shorter hold"
	LaterCalmer   Cause = "less risk later"
	AsTold        Cause = "as people were told"
)

// Evidence is what was known of a cause. Only what the cause needs is set.
type Evidence struct {
	Other  Key                 `json:"other,omitzero"` // the stage or block in the way
	Person string              `json:"person,omitempty"`
	Note   string              `json:"note,omitempty"`
	Bound  conditions.Bound    `json:"bound,omitzero"`  // the limit that binds
	Value  float64             `json:"value,omitempty"` // the worst value found, in the bound's unit
	When   time.Time           `json:"when,omitzero"`   // where it was found
	Sure   conditions.Sureness `json:"sure,omitempty"`
	Issued time.Time           `json:"issued,omitzero"`  // of the forecast
	Amount int64               `json:"amount,omitempty"` // cost-minutes that starting here would add
}
