package sensors

import (
	"fmt"
	"time"

	"fairwindow/conditions"
	"fairwindow/config"
)

// Exposed is how long a humidity sensor has hung in solvent vapour since it was last
// held against an instrument: vapour drifts polymer elements, mostly for good.
type Exposed struct {
	Hours float64   `json:"hours"`
	Since time.Time `json:"since,omitzero"` // zero: since the first coat that is known
}

// Exposes reports whether vapour harms a sensor: one of humidity, in a place.
func Exposes(s config.Sensor) bool {
	_, humidity := s.Values[conditions.RelHumidity]
	return humidity && s.Place != "" && s.Place != config.Outdoors
}

// Checks reports whether a reading is a check of the humidity sensors of its place: a
// good one of humidity by an instrument that is no sensor of the yard file.
func Checks(y config.Yard, r Reading) bool {
	for _, s := range y.Sensors {
		if s.Name == r.Source {
			return false
		}
	}
	is, ok := tells(r, 0)
	return ok && r.Place != "" && is.humidity > 0
}

// exposure takes in the hours of vapour, and asks for a check after as many as the
// yard file says.
func (a *Account) exposure(s config.Sensor, of map[string]Exposed) {
	is, ok := of[s.Name]
	if !ok {
		return
	}
	a.Exposed, a.CheckAfter = &is, s.CheckAfter
	if after := s.CheckAfter; after > 0 && is.Hours >= after.Std().Hours() {
		a.Asks = append(a.Asks, Flag{Of: conditions.RelHumidity, Fault: Unchecked, Note: fmt.Sprintf(
			"%.0f h in solvent vapour, to be checked every %s; hold a hand instrument beside it and type in what it reads", is.Hours, after)})
	}
}
