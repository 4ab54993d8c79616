package service

import (
	"encoding/json"
	"fmt"
	"strings"
	"time"

	"fairwindow/config"
	"fairwindow/planner"
	"fairwindow/sensors"
)

// memoryOfExposed begins the name of a sensor's exposure in the store's memory.
const memoryOfExposed = "exposed/"

// settles is after how long hours of vapour are counted for good: until then a press
// that comes late still changes them, and after it a boat that leaves takes none away.
const settles = 48 * time.Hour

// exposed is what is remembered of a sensor's hours in solvent vapour.
type exposed struct {
	Since   time.Time `json:"since,omitzero"`   // the last check
	Settled time.Time `json:"settled,omitzero"` // up to which Hours counts
	Hours   float64   `json:"hours"`
}

// at is all of it up to a time.
func (e exposed) at(y config.Yard, work planner.Work, place string, now time.Time) sensors.Exposed {
	return sensors.Exposed{Since: e.Since, Hours: e.Hours + hoursOf(work.Wet(y, place, e.Settled, now))}
}

func hoursOf(spans []planner.Span) float64 {
	var sum time.Duration
	for _, s := range spans {
		sum += s.To.Sub(s.From)
	}
	return sum.Hours()
}

// exposures reads back what the store remembers.
func exposures(memory map[string]json.RawMessage) (map[string]exposed, error) {
	all := map[string]exposed{}
	for key, text := range memory {
		name, ours := strings.CutPrefix(key, memoryOfExposed)
		if !ours {
			continue
		}
		var one exposed
		if err := json.Unmarshal(text, &one); err != nil {
			return nil, fmt.Errorf("the exposure of sensor %s can't be read: %w", name, err)
		}
		all[name] = one
	}
	return all, nil
}

// Exposed is how long each humidity sensor of a yard has hung in solvent vapour, by
// the store's memory and the work done; for who reads the store without a service.
func Exposed(y config.Yard, memory map[string]json.RawMessage, work planner.Work, now time.Time) (map[string]sensors.Exposed, error) {
	kept, err := exposures(memory)
	if err != nil {
		return nil, err
	}
	return exposedNow(y, kept, work, now), nil
}

func exposedNow(y config.Yard, kept map[string]exposed, work planner.Work, now time.Time) map[string]sensors.Exposed {
	all := map[string]sensors.Exposed{}
	for _, s := range y.Sensors {
		if sensors.Exposes(s) {
			all[s.Name] = kept[s.Name].at(y, work, s.Place, now)
		}
	}
	return all
}

// settle counts for good what lies far enough back; its answer is what the store must
// remember anew.
func (f *facts) settle(now time.Time) (map[string]json.RawMessage, error) {
	upTo := now.Add(-settles)
	changes := map[string]json.RawMessage{}
	for _, s := range f.yard.Sensors {
		if !sensors.Exposes(s) {
			continue
		}
		is := f.exposed[s.Name]
		if more := hoursOf(f.work.Wet(f.yard, s.Place, is.Settled, upTo)); more > 0 {
			is.Hours, is.Settled = is.Hours+more, upTo
			if err := f.expose(s.Name, is, changes); err != nil {
				return nil, err
			}
		}
	}
	return changes, nil
}

// checked begins the hours anew of the sensors in whose place somebody has read a
// humidity by hand.
func (f *facts) checked(readings []sensors.Reading) (map[string]json.RawMessage, error) {
	changes := map[string]json.RawMessage{}
	for _, r := range readings {
		if !sensors.Checks(f.yard, r) {
			continue
		}
		for _, s := range f.yard.Sensors {
			if sensors.Exposes(s) && s.Place == r.Place && r.At.After(f.exposed[s.Name].Since) {
				if err := f.expose(s.Name, exposed{Since: r.At, Settled: r.At}, changes); err != nil {
					return nil, err
				}
			}
		}
	}
	return changes, nil
}

func (f *facts) expose(sensor string, is exposed, changes map[string]json.RawMessage) error {
	text, err := json.Marshal(is)
	if err != nil {
		return err
	}
	f.exposed[sensor], changes[memoryOfExposed+sensor] = is, text
	return nil
}
