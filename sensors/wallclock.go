package sensors

import (
	"fmt"
	"time"
)

// OnClock gives the times at which a zone's clocks show a wall time (given as
// if in UTC), earliest first: one as a rule, two in the hour that a clock
// change doubles, none in the hour that it leaves out.
func OnClock(wall time.Time, zone *time.Location) []time.Time {
	var fits []time.Time
	// No zone changes twice within two days, so the offsets of a day before and a
	// day after are all there are.
	for _, near := range []time.Duration{-24 * time.Hour, 24 * time.Hour} {
		_, offset := wall.Add(near).In(zone).Zone()
		t := wall.Add(-time.Duration(offset) * time.Second).UTC()
		if _, real := t.In(zone).Zone(); real == offset && (len(fits) == 0 || !fits[0].Equal(t)) {
			fits = append(fits, t)
		}
	}
	if len(fits) == 2 && fits[1].Before(fits[0]) {
		fits[0], fits[1] = fits[1], fits[0]
	}
	return fits
}

// ParseTime reads a time as RFC 3339 or on a zone's clock, with or without
// seconds. In the hour that the clock shows twice it is the first time after the
// one of the line before. The error says what would be right.
func ParseTime(text string, zone *time.Location, before time.Time) (time.Time, error) {
	if at, err := time.Parse(time.RFC3339, text); err == nil {
		return at.UTC(), nil
	}
	for _, layout := range []string{"2006-01-02 15:04", "2006-01-02 15:04:05", "2006-01-02T15:04", "2006-01-02T15:04:05"} {
		wall, err := time.Parse(layout, text)
		if err != nil {
			continue
		}
		fits := OnClock(wall, zone)
		if len(fits) == 0 {
			return wall, fmt.Errorf("%q does not exist on the clock of %s: it is put forward then", text, zone)
		}
		for _, at := range fits {
			if at.After(before) {
				return at, nil
			}
		}
		return fits[0], nil
	}
	return time.Time{}, fmt.Errorf("%q is not a time; write it like 2026-04-06T09:00:00Z, or \"2026-04-06 09:00\" on the yard's clock", text)
}
