package payload

import (
	"encoding/json"
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"fairwindow/sensors"
)

// unset is before any device of ours was made: a clock that says so was never set.
var unset = time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC)

// time reads the device's own time: RFC 3339, Unix seconds or milliseconds, or
// a wall clock without a zone. One that cannot be read, and one that was never
// set, leave the reading stamped at intake.
func (b *builder) time(raw any) {
	at, ambiguous, err := when(raw, b.d.zone, b.r.Received)
	switch {
	case err != nil:
		b.flag("", sensors.Unreadable, "%v", err)
	case at.Before(unset):
	default:
		b.r.At, b.r.FromDevice = at, true
		if ambiguous {
			b.flag("", sensors.NoZone, "%v stands twice, or not at all, on the clock of %s", raw, b.d.zone)
		}
	}
}

func when(raw any, zone *time.Location, received time.Time) (at time.Time, ambiguous bool, err error) {
	text := ""
	switch raw := raw.(type) {
	case json.Number:
		text = raw.String()
	case string:
		text = strings.TrimSpace(raw)
	}
	if at, err := time.Parse(time.RFC3339Nano, text); err == nil {
		return at.UTC(), false, nil
	}
	if n, err := strconv.ParseFloat(text, 64); err == nil {
		if at, ok := unix(n); ok {
			return at, false, nil
		}
	}
	for _, layout := range []string{"2006-01-02T15:04:05", "2006-01-02 15:04:05", "2006-01-02T15:04", "2006-01-02 15:04"} {
		if wall, err := time.Parse(layout, text); err == nil {
			at, ambiguous = onClock(wall, zone, received)
			return at, ambiguous, nil
		}
	}
	return time.Time{}, false, fmt.Errorf("%v is not a time; write RFC 3339 like 2026-04-06T06:00:00Z, Unix seconds or milliseconds, or 2026-04-06T06:00:00 on the yard's clock", raw)
}

// unix takes seconds, or milliseconds from 1e11 on: seconds reach that in the
// year 5138, milliseconds did in 1973.
func unix(n float64) (time.Time, bool) {
	if math.IsNaN(n) || math.Abs(n) > 1e14 {
		return time.Time{}, false
	}
	if math.Abs(n) >= 1e11 {
		return time.UnixMilli(int64(math.Round(n))).UTC(), true
	}
	return time.UnixMilli(int64(math.Round(n * 1000))).UTC(), true
}

// onClock is the time at which a zone's clocks show wall. In the hour that
// stands twice it is the later that is not after receipt.
func onClock(wall time.Time, zone *time.Location, received time.Time) (at time.Time, ambiguous bool) {
	fits := sensors.OnClock(wall, zone)
	switch len(fits) {
	case 0:
		return time.Date(wall.Year(), wall.Month(), wall.Day(), wall.Hour(), wall.Minute(), wall.Second(), wall.Nanosecond(), zone).UTC(), true
	case 1:
		return fits[0], false
	}
	if fits[1].After(received.Add(sensors.ClockSlack)) {
		return fits[0], true
	}
	return fits[1], true
}
