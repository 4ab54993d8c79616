// Package planner turns a yard, its boats and an outlook into a plan with
// reasons: what is done where, when and by whom, and why not earlier. It is
// pure: one Problem gives one Plan, bit for bit, whenever it is solved.
package planner

import (
	"time"

	"fairwindow/conditions"
	"fairwindow/config"
)

// Problem is all that a plan is made from. It is plain data with a JSON form
// and is kept beside every plan, so that the plan can be made again.
type Problem struct {
	At      time.Time     `json:"at"` // now
	Horizon time.Duration `json:"horizon"`
	// Rounds is how many neighbours of the best plan are tried; 0 leaves it to the
	// size of the yard.
	Rounds int           `json:"rounds,omitempty"`
	Yard   config.Yard   `json:"yard"`
	Boats  []config.Boat `json:"boats"`
	// Presses are what people reported, in the order it happened.
	Presses []Press `json:"presses"`
	// Outdoors is the site's weather, hour by hour from a little before At:
	// measured, then foretold, then the season's.
	Outdoors []conditions.Weather `json:"outdoors"`
	// Around is, for a place without air of its own in which the forecast errs in a
	// way of its own, the forecast as it was learned to be there.
	Around map[string][]conditions.Weather `json:"around,omitempty"`
	// Experience is what the yard has learned of its forecast's errors. Outdoors and
	// Around are corrected by it already.
	Experience conditions.Experience `json:"experience,omitzero"`
	// Issued is when the forecast in Outdoors was issued; zero without one.
	Issued time.Time `json:"issued,omitzero"`
	// Measured is the latest good reading of each place; Hulls of each boat's surface.
	Measured []PlaceNow `json:"measured"`
	Hulls    []HullNow  `json:"hulls"`
	// Coats are the clocks of the last coat on each area.
	Coats []CoatNow `json:"coats"`
	// Told is the plan people were last given; First the start each stage was first given.
	Told []Told `json:"told"`
	// Turns are those in which the told plan was laid; without them its blocks are taken
	// by their starts. Where nothing was told they are tried beside others.
	Turns []Turn `json:"turns,omitempty"`
	First []Told `json:"first"`
}

// PlaceNow is what a place's instruments say at a time.
type PlaceNow struct {
	Place  string            `json:"place"`
	Moment conditions.Moment `json:"moment"`
}

// HullNow is the surface of one part of a boat, or of all of it if none is named:
// as last measured or, where its moment is no more than foretold, as worked out.
type HullNow struct {
	Boat   string            `json:"boat"`
	Part   conditions.Part   `json:"part,omitempty"`
	Moment conditions.Moment `json:"moment"`
}

// CoatNow is the clock of the last coat on an area, run up to Problem.At.
type CoatNow struct {
	Key   Key              `json:"key"`
	Clock conditions.Clock `json:"clock"`
}

// Told is a start that people were given.
type Told struct {
	Key   Key       `json:"key"`
	Start time.Time `json:"start"`
	Place string    `json:"place"`
	// Brought is when the boat was to be fetched for it; zero if it was to be there.
	Brought time.Time `json:"brought,omitzero"`
}

// Turn is one block of an area, as it was laid into a plan: after those before it, in
// a place, or in whichever was best.
type Turn struct {
	Boat  string `json:"boat"`
	Area  string `json:"area"`
	Place string `json:"place,omitempty"`
}

// Key names one stage of one area of one boat. A repair that was put in has
// the stage's name with the repair before it: "reactivate for finish coat".
type Key struct {
	Boat  string `json:"boat"`
	Area  string `json:"area"`
	Stage string `json:"stage"`
}

// String is the key as people say it: Kestrel, topsides, sand 80.
func (k Key) String() string {
	out := k.Boat
	for _, part := range []string{k.Area, k.Stage} {
		if part != "" {
			out += ", " + part
		}
	}
	return out
}

// Less orders keys by boat, area and stage.
func (k Key) Less(other Key) bool {
	if k.Boat != other.Boat {
		return k.Boat < other.Boat
	}
	if k.Area != other.Area {
		return k.Area < other.Area
	}
	return k.Stage < other.Stage
}
