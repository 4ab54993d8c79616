package waits

import "time"

// Logged is one line of the daily log: what a crew did on a day. A correction strikes a
// line through and adds another; nothing is changed.
type Logged struct {
	ID   int64  `json:"id,omitempty"` // given by the store
	Crew string `json:"crew"`
	Day  string `json:"day"` // on the yard's calendar: 2026-04-07
	// What was worked on, by its boat, area and stage or in words; Hours of the crew's day.
	// No hours says that the crew had no other work.
	Boat   string    `json:"boat,omitempty"`
	Area   string    `json:"area,omitempty"`
	Stage  string    `json:"stage,omitempty"`
	What   string    `json:"what,omitempty"`
	Hours  float64   `json:"hours"`
	Remark string    `json:"remark,omitempty"`
	By     string    `json:"by"`
	At     time.Time `json:"at"`             // when it was entered
	Once   string    `json:"once,omitempty"` // the form's own id: sent twice, it counts once

	Struck    time.Time `json:"struck,omitzero"`
	StruckBy  string    `json:"struck_by,omitempty"`
	StruckWhy string    `json:"struck_why,omitempty"`
}

// Stands reports whether the line was not struck through.
func (l Logged) Stands() bool { return l.Struck.IsZero() }
