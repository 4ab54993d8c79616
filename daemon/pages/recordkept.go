package pages

import (
	"fmt"
	"time"

	"fairwindow/config"
)

// kept says until when the evidence behind a boat's coats is kept raw, and why.
func (c clock) kept(k config.Kept, boat config.Boat, yards config.Lasting) string {
	const lead = "The evidence behind each coat is kept just as it was read"
	after := "for " + longer(time.Duration(yards))
	because := longer(time.Duration(yards)) + " after the launch. This boat has no warranty of its own, so the yard's counts"
	if boat.Warranty != "" {
		after = "until its warranty ends, on " + lastDay(boat.Warranty)
	}
	if k.By == config.ByBoat {
		because = "the last day of this boat's warranty"
	}
	switch {
	case k.Until.IsZero() && k.By == config.TillLater:
		return lead + ". The boat is not launched, or is here again; once it is launched, the evidence is kept " + after + "."
	case k.Until.IsZero() && k.By == config.ByBoat:
		return lead + ", for good: this boat's warranty has no end."
	case k.Until.IsZero():
		return lead + ", for good: so the yard does for every boat without a warranty of its own."
	}
	ends := k.Until.Add(-time.Millisecond).In(c.zone).Format("2 January 2006")
	if k.Over(c.now) {
		return "The evidence behind each coat was kept just as it was read until " + ends + ", " + because +
			". Since then it may be gone; where it is, this page says not measured. What was signed is kept as it was signed."
	}
	return lead + " until " + ends + ", " + because + "."
}

// lastDay writes a boat's last day of warranty as people do.
func lastDay(text string) string {
	day, err := time.Parse(time.DateOnly, text)
	if err != nil {
		return text
	}
	return day.Format("2 January 2006")
}

// longer words years where they are whole.
func longer(d time.Duration) string {
	const year = 365 * 24 * time.Hour
	switch {
	case d == year:
		return "a year"
	case d%year == 0:
		return fmt.Sprintf("%d years", d/year)
	}
	return length(d)
}
