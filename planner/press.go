package planner

import "time"

// Press is what a person reported of the work: when it happened and when it was entered.
type Press struct {
	ID       int64     `json:"id,omitempty"` // given by the store
	Kind     PressKind `json:"kind"`
	Key      Key       `json:"key"`            // Area and Stage empty for a fact about the boat
	Pass     int       `json:"pass,omitempty"` // from 1
	Place    string    `json:"place,omitempty"`
	Happened time.Time `json:"happened"`
	Entered  time.Time `json:"entered"`
	By       string    `json:"by"`
	For      string    `json:"for,omitempty"`  // whose work it is, where somebody else pressed for him
	Note     string    `json:"note,omitempty"` // why not, why rejected, why held, why against the plan; required with Cant, Rejected, Held, Override, Struck
	// Until is the start a stage is pinned to; Place, of Pinned, where. One of them may be
	// missing.
	Until time.Time `json:"until,omitzero"`
	// Strikes is the ID of the press that a correction strikes through.
	Strikes int64 `json:"strikes,omitempty"`
	// Terms is the digest of the card and the limits that were in force for a coat
	// when it was reported; whoever keeps the press fills it in.
	Terms string `json:"terms,omitempty"`
	// Other is the stage of another boat that this one comes after, of ComesAfter.
	Other Key `json:"other,omitzero"`
	// Once is the sender's own id of the press: pressed twice, it counts once.
	Once string `json:"once,omitempty"`
	// Checks are the answers to the yard's go / no-go list that came with it.
	Checks []Point `json:"checks,omitempty"`
}

// Point is one point of a go / no-go list, answered.
type Point struct {
	Words string `json:"words"`
	Go    bool   `json:"go"`
	Why   string `json:"why,omitempty"` // what was not as it should be
}

// PressKind is the closed set of what people report.
type PressKind string

// What people report.
const (
	Started   PressKind = "started"
	PassDone  PressKind = "pass_done"
	Paused    PressKind = "paused"
	Resumed   PressKind = "resumed"
	StoppedAt PressKind = "stopped_here" // after so many passes; the rest becomes a new stage
	Finished  PressKind = "finished"
	Cant      PressKind = "cant"
	Rejected  PressKind = "rejected"
	Held      PressKind = "held"
	Freed     PressKind = "freed"
	Pinned    PressKind = "pinned"
	Unpinned  PressKind = "unpinned"
	// ComesAfter keeps a stage from starting before Other has ended, AnyOrder no longer.
	ComesAfter PressKind = "comes_after"
	AnyOrder   PressKind = "any_order"
	Arrived    PressKind = "arrived"
	Moved      PressKind = "moved" // to Place
	Launched   PressKind = "launched"
	// Mixed says that a pot was mixed for Pass: its clock runs, the plan stays.
	Mixed PressKind = "mixed"
	// Override starts a stage outside its limits, by a person who gave a reason.
	Override PressKind = "override"
	// Struck strikes a press through, for a reason: it counts no more, and stays to be read.
	Struck PressKind = "struck"
)
