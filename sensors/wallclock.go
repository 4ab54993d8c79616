package sensors

import "time"

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
