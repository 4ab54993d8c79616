package config

import (
	"fmt"
	"time"
)

// Location is the yard's time zone. "Local" is refused: a yard file means the
// same on every machine.
func (y Yard) Location() (*time.Location, error) {
	if y.Zone == "" || y.Zone == "Local" {
		return nil, fmt.Errorf("zone %q is not a time zone; write its IANA name, like Europe/Lisbon", y.Zone)
	}
	if y.located != nil && y.located.String() == y.Zone {
		return y.located, nil
	}
	zone, err := time.LoadLocation(y.Zone)
	if err != nil {
		return nil, fmt.Errorf("zone %q is not a time zone; write its IANA name, like Europe/Lisbon", y.Zone)
	}
	return zone, nil
}

const (
	dayLayout    = "2006-01-02"
	minuteLayout = "2006-01-02 15:04"
)

// Time reads a day or a time on the yard's wall clock, "2026-04-03" (its
// midnight) or "2026-04-03 08:00", as an instant in UTC.
func (y Yard) Time(text string) (time.Time, error) {
	zone, err := y.Location()
	if err != nil {
		return time.Time{}, err
	}
	naive, _, err := parseWall(text)
	if err != nil {
		return time.Time{}, err
	}
	return atWall(naive, zone), nil
}

// parseWall reads a wall time as if it were UTC, and reports whether it was a bare day.
func parseWall(text string) (naive time.Time, day bool, err error) {
	if naive, err = time.Parse(dayLayout, text); err == nil {
		return naive, true, nil
	}
	if naive, err = time.Parse(minuteLayout, text); err == nil {
		return naive, false, nil
	}
	return time.Time{}, false, fmt.Errorf("%q is not a day or a time; write it like 2026-04-03 or \"2026-04-03 08:00\"", text)
}

// atWall is the instant at which the zone's wall clock shows what naive shows
// in UTC. A time that the clock jumps over is the end of the jump; one that it
// shows twice is the first. time.Date promises neither.
func atWall(naive time.Time, zone *time.Location) time.Time {
	// No zone has ever been more than 16 h from UTC, so this lies before every candidate.
	at := naive.Add(-17 * time.Hour)
	for {
		local := at.In(zone)
		_, offset := local.Zone()
		_, ends := local.ZoneBounds()
		if !ends.IsZero() && !ends.After(at) {
			// Go 1.26 lets a zone's rule end its year after 365 days: on 31 December of
			// leap years from 2040 on the bound lies before the day. No clock changes then.
			ends = at.Add(24 * time.Hour)
		}
		candidate := naive.Add(-time.Duration(offset) * time.Second)
		switch {
		case candidate.Before(at): // only from the second round on: the clock jumped over it
			return at
		case ends.IsZero() || candidate.Before(ends):
			return candidate
		}
		at = ends.UTC()
	}
}
