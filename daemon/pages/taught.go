package pages

import (
	"context"
	"fmt"
	"math"
	"time"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
	"fairwindow/config"
)

// taught says how the forecast has lately erred in a place, or outdoors where nothing
// was learned in the place itself, and what is done about it; nothing without a forecast.
func (p *pages) taught(ctx context.Context, place string, c clock, u units) (string, error) {
	const ahead = 24 * time.Hour
	where := "here"
	came, taken, pairs, err := p.Air.Taught(ctx, place, c.now)
	if err == nil && pairs == 0 {
		place, where = config.Outdoors, "outdoors"
		came, taken, pairs, err = p.Air.Taught(ctx, place, c.now)
	}
	if err != nil {
		return "", fmt.Errorf("forecast of %s: %w", place, err)
	}
	_, later, _, err := p.Air.Taught(ctx, place, c.now.Add(ahead))
	if err != nil {
		return "", fmt.Errorf("forecast of %s: %w", place, err)
	}
	if came.Sure != conditions.Foretold || later.Sure != conditions.Foretold {
		return "", nil
	}
	doubt := "±" + number(u.difference(later.AirError), 1) + " " + u.diffSign() + " a day ahead"
	if pairs == 0 {
		return "Forecast: nothing learned of its errors yet; its published error counts, air " + doubt + ".", nil
	}
	return fmt.Sprintf("Forecast %s, at this hour: air %s, dew point %s. Taken out; what is left is air %s, from %d pairs of forecast and reading.",
		where, u.off(came.Air.Over(taken.Air), "too warm", "too cold"),
		u.off(came.DewPoint.Over(taken.DewPoint), "too high", "too low"), doubt, pairs), nil
}

// off words how far a forecast is usually off.
func (u units) off(by unit.TempDiff, more, less string) string {
	words := number(math.Abs(u.difference(by)), 1)
	switch {
	case words == "0.0":
		return "about right"
	case by < 0:
		more = less
	}
	return words + " " + u.diffSign() + " " + more
}
