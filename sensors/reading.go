package sensors

import (
	"time"

	"fairwindow/conditions"
)

// Reading is what one instrument reported at one time.
type Reading struct {
	ID     int64  `json:"id,omitempty"` // given by the store
	Source string `json:"source"`       // the sensor's name in the yard file, or who typed it
	Place  string `json:"place,omitempty"`
	Boat   string `json:"boat,omitempty"`
	// At is when it was measured, Received when it reached us. FromDevice tells
	// whose clock At is; without one At is Received.
	At         time.Time `json:"at"`
	Received   time.Time `json:"received"`
	FromDevice bool      `json:"from_device,omitempty"`
	// Key makes a resend recognisable: source with device time or sequence,
	// or with the payload's hash. The store keeps each key once.
	Key    string                          `json:"key"`
	Values map[conditions.Variable]float64 `json:"values"` // in the unit of each Variable
	Flags  []Flag                          `json:"flags,omitempty"`
	Raw    string                          `json:"raw,omitempty"` // as it came, kept when flagged
}

// Flag marks a doubt about one value, or about the whole reading when Of is empty.
type Flag struct {
	Of    conditions.Variable `json:"of,omitempty"`
	Fault Fault               `json:"fault"`
	Note  string              `json:"note,omitempty"`
}

// Fault is the closed set of doubts.
type Fault string

// Doubts about readings and forecasts. Any that is not mild keeps the value from opening a window.
const (
	NotANumber    Fault = "not a number"
	Missing       Fault = "missing"
	Unreadable    Fault = "unreadable"
	OutOfRange    Fault = "out of range"
	Contradiction Fault = "contradiction"
	Spike         Fault = "spike"
	Stuck         Fault = "stuck"
	PowerOn       Fault = "power-on value"
	FromFuture    Fault = "clock ahead"
	Old           Fault = "old"
	OutOfOrder    Fault = "out of order"
	Repeated      Fault = "possible repeat"
	Uncalibrated  Fault = "calibration expired"
	NoZone        Fault = "time without a zone"
	Saturated     Fault = "saturated"
	Behind        Fault = "clock behind"
	Apart         Fault = "apart from the instrument beside it"

	// Of a source, not of a reading.
	Silent    Fault = "silent"
	Unchecked Fault = "to be checked"
	Drifting  Fault = "drifting from the instrument beside it"
	Stray     Fault = "of a boat that is not here"
)

// mild reports whether a doubt is only said. Of two instruments apart the worse
// rules, and a clock behind makes a reading older than it is: neither can open a
// window that a good one would have kept shut.
func (f Fault) mild() bool { return f == Apart || f == Behind }

// Doubtful reports whether the value of a variable carries any flag that is not mild.
func (r Reading) Doubtful(v conditions.Variable) bool {
	_, doubted := r.doubt(v)
	return doubted
}

// doubt is the first flag that keeps the value of a variable from being believed.
func (r Reading) doubt(v conditions.Variable) (Flag, bool) {
	for _, f := range r.Flags {
		if (f.Of == v || f.Of == "") && !f.Fault.mild() {
			return f, true
		}
	}
	return Flag{}, false
}

// Doubted reports whether anything of the reading is kept from being believed.
func (r Reading) Doubted() bool {
	for _, f := range r.Flags {
		if !f.Fault.mild() {
			return true
		}
	}
	return false
}

// Good is the value of a variable, if it is there and undoubted.
func (r Reading) Good(v conditions.Variable) (float64, bool) {
	x, ok := r.Values[v]
	return x, ok && !r.Doubtful(v)
}

// Forecast is one issue of one source: hourly or coarser points, in order.
type Forecast struct {
	Source   string               `json:"source"`
	Issued   time.Time            `json:"issued"`
	Received time.Time            `json:"received"`
	Points   []conditions.Weather `json:"points"`
	Flags    []Flag               `json:"flags,omitempty"`
}
