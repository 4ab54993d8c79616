package pages

import (
	"errors"
	"fmt"
	"net/http"
	"time"

	"fairwindow/config"
)

// kept says until when the evidence behind a boat's coats is kept raw, and why; launched
// tells a boat that came back from one that never left.
func (c clock) kept(k config.Kept, boat config.Boat, launched bool, yards config.Lasting) string {
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
		here := ". The boat is not launched yet; once it is, the evidence is kept "
		if launched {
			here = ". The boat was worked on after its launch; once it is launched again, the evidence is kept "
		}
		return lead + here + after + "."
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

// everBoat is the boat that the address names, in the book or as it was when it was taken
// out; gone says who did that: the record outlives it.
func (p *pages) everBoat(r *http.Request) (boat config.Boat, gone string, err error) {
	boat, err = p.boatNamed(r)
	var none missing
	if !errors.As(err, &none) || p.Book == nil {
		return boat, "", err
	}
	all, failed := p.Book.RemovedBoats(r.Context())
	if failed != nil {
		return boat, "", fmt.Errorf("removed boats: %w", failed)
	}
	for _, v := range all {
		if v.Of.Name == r.PathValue("name") {
			return v.Of, fmt.Sprintf("This boat was taken out of the book by %s, %s: %s. Its record stays; to add to it or sign it, bring the boat back.", v.By, p.clock(r).moment(v.At), v.Why), nil
		}
	}
	return boat, "", err
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
