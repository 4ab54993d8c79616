package notify

import "time"

// What a shut gate asks for before it opens again.
const (
	ReopenHold    = 15 * time.Minute // how long the spare must be held
	SpareKelvin   = 0.5              // spare of a temperature or a dew point margin, kelvin
	SpareHumidity = 2.0              // spare of a relative humidity, percent of saturation
)

// Spare reports whether a margin is wide enough to reopen a shut window. The margin is counted
// inwards, in its limit's own unit: C, K, F or %. A limit in any other unit asks only to be kept.
func Spare(margin float64, unit string) bool {
	switch unit {
	case "C", "K":
		return margin >= SpareKelvin
	case "F":
		return margin >= SpareKelvin*9/5
	case "%":
		return margin >= SpareHumidity
	}
	return margin >= 0
}

// Gate keeps an announced window from flapping: it closes at once and reopens only when the spare
// has been held for ReopenHold. The zero Gate has never been open; it opens at the first yes,
// since nobody was told anything before.
type Gate struct {
	Open  bool      `json:"open"`
	Shut  bool      `json:"shut"`           // it has closed at least once: opening is reopening
	Since time.Time `json:"since,omitzero"` // start of the held spell while shut; zero: none
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
	switch {
	case !open:
		change := Same
		if g.Open {
			change = Closed
		}
		return Gate{Shut: g.Shut || g.Open}, change
	case g.Open:
		return Gate{Open: true, Shut: g.Shut}, Same
	case !g.Shut:
		return Gate{Open: true}, Opened
	case !spare:
		return Gate{Shut: true}, Same
	case g.Since.IsZero() || now.Before(g.Since):
		return Gate{Shut: true, Since: now}, Same
	case now.Sub(g.Since) < ReopenHold:
		return g, Same
	}
	return Gate{Open: true, Shut: true}, Opened
}
