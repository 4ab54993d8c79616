package engine

// Version is the search's own version: the result of another may differ.
const Version = 2

// Effort is how much is tried. The same effort on the same problem gives the same
// result on any machine, however many cores it has.
type Effort struct {
	Rounds    int    `json:"rounds"`              // after each of which the search may be stopped
	Schedules int    `json:"schedules,omitempty"` // one pass over all tasks is one; 0 leaves it to Rounds
	Workers   int    `json:"workers,omitempty"`   // logical ones; 0 is 1
	Seed      uint64 `json:"seed,omitempty"`
}

// Result is the best schedule found, or why there is none.
type Result struct {
	Version   int       `json:"version"`
	Effort    Effort    `json:"effort"`
	Rounds    int       `json:"rounds"`    // that were run
	Schedules int       `json:"schedules"` // that were made
	Starts    []Start   `json:"starts"`    // by task
	Stays     []Stay    `json:"stays,omitempty"`
	Objective int64     `json:"objective"`
	Terms     []Term    `json:"terms"`
	Bound     int64     `json:"bound"`              // no schedule costs less
	Conflict  *Conflict `json:"conflict,omitempty"` // no schedule exists, because
}

// Start is one task's.
type Start struct {
	Mode   int    `json:"mode"` // -1: it has no start
	Start  Slot   `json:"start"`
	Finish Slot   `json:"finish"`
	Parts  []Span `json:"parts,omitempty"`  // of work that pauses
	Repair bool   `json:"repair,omitempty"` // put in before it
}

// Stay is an owner in one place.
type Stay struct {
	Owner int  `json:"owner"`
	Place int  `json:"place"`
	From  Slot `json:"from"`
	To    Slot `json:"to"`
	Mover int  `json:"mover"` // the crew that brings it in, over the place's Move from From on; -1 nobody
}

// Term is one part of the objective.
type Term struct {
	Name   string `json:"name"`
	Amount int64  `json:"amount"`
}

// Conflict is the facts that contradict each other: a chain of lags that comes back
// to where it began, too late, or tasks that would have to go on together and want
// more of a crew than there is.
type Conflict struct {
	Chain []Link `json:"chain,omitempty"`
	Tasks []int  `json:"tasks,omitempty"`
	Crew  int    `json:"crew"`            // -1 of a chain
	Lacks Slot   `json:"lacks,omitempty"` // slots of a chain, or how many of the crew
}

// Link is a lag of a chain: Lag's index and whether it is its greatest that binds.
type Link struct {
	Lag      int  `json:"lag"`
	Greatest bool `json:"greatest,omitempty"`
}
