package notify

import "time"

// What a shut gate asks for before it opens again.
const (
	reopenHold    = 15 * time.Minute // how long the spare must be held
	spareKelvin   = 0.5              // spare of a temperature or a dew point margin, kelvin
	spareHumidity = 2.0              // spare of a relative humidity, percent of saturation

	// Of a window that reopened twice within flapsWithin people hear the next opening only
	// when it has held flapsHold longer. Common practice, no source.
	flapsWithin = 2 * time.Hour
	flapsHold   = 15 * time.Minute
)

// Spare reports whether a margin is wide enough to reopen a shut window. The margin is counted
// inwards, in its limit's own unit: C, K, F or %. A limit in any other unit asks only to be kept.
func Spare(margin float64, unit string) bool {
	switch unit {
	case "C", "K":
		return margin >= spareKelvin
	case "F":
		return margin >= spareKelvin*9/5
	case "%":
		return margin >= spareHumidity
	}
	return margin >= 0
}

// Gate keeps an announced window from flapping: it closes at once and reopens only when the spare
// has been held for reopenHold, and longer once it flaps. The zero Gate has never been open; it
// opens at the first yes, since nobody was told anything before.
type Gate struct {
	Open  bool      `json:"open"`
	Shut  bool      `json:"shut"`           // it has closed at least once: opening is reopening
	Since time.Time `json:"since,omitzero"` // start of the held spell while shut; zero: none
	// Left is when it was taken back with nothing bad; zero: what closed it was, or it never opened.
	Left time.Time `json:"left,omitzero"`
	// Last and Before are the last two reopenings; zero: none.
	Last   time.Time `json:"last,omitzero"`
	Before time.Time `json:"before,omitzero"`
}

// hold is how long a shut gate's spare must hold before it reopens.
func (g Gate) hold(now time.Time) time.Duration {
	if !g.Before.IsZero() && now.Sub(g.Before) <= flapsWithin {
		return reopenHold + flapsHold
	}
	return reopenHold
}

// TakeBack is the gate of a window that people were told is open no more though every limit was
// kept: its turn is past, or the shift too short. It asks for no spare to open again, but for the
// time that any gate does, so that plans that turn to and fro ring nobody each time.
func (g Gate) TakeBack(now time.Time) Gate {
	return Gate{Left: now, Last: g.Last, Before: g.Before}
}

// quiet reports whether it was taken back too short a while ago to open again. Of a clock set
// back nobody knows how long ago that was.
func (g Gate) quiet(now time.Time) bool {
	return !g.Left.IsZero() && !now.Before(g.Left) && now.Sub(g.Left) < g.hold(now)
}

// Change is what a step did to a gate.
type Change string

// The changes a step can make.
const (
	Same   Change = "same"
	Opened Change = "opened"
	Closed Change = "closed"
)

// Step moves the gate on to now. Open says that every limit is kept, which unknown never is;
// spare says that each also passes Spare. It must be called for every reading and every tick, in
// order: between two calls the gate takes the earlier one's word. A clock set back starts the
// spell anew.
func (g Gate) Step(now time.Time, open, spare bool) (Gate, Change) {
	next := Gate{Shut: g.Shut, Left: g.Left, Last: g.Last, Before: g.Before}
	switch {
	case !open:
		next.Shut = g.Shut || g.Open
		if g.Open {
			return next, Closed
		}
		return next, Same
	case g.Open:
		next.Open = true
		return next, Same
	case !g.Shut && (g.Left.IsZero() || now.Sub(g.Left) > flapsWithin):
		return Gate{Open: true}, Opened
	case !g.Shut && g.quiet(now):
		return next, Same
	case !g.Shut:
		return Gate{Open: true, Last: now, Before: g.Last}, Opened
	case !spare:
		return next, Same
	case g.Since.IsZero() || now.Before(g.Since):
		next.Since = now
		return next, Same
	case now.Sub(g.Since) < g.hold(now):
		return g, Same
	}
	return Gate{Open: true, Shut: true, Last: now, Before: g.Last}, Opened
}
