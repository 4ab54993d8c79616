package service

import (
	"time"

	"fairwindow/config"
	"fairwindow/planner"
	"fairwindow/sensors"
)

// Once is the problem of a plan made without a running daemon: from the yard,
// its boats and at most one forecast, with nothing measured and nothing reported.
func Once(y config.Yard, boats []config.Boat, forecasts []sensors.Forecast, at time.Time) (planner.Problem, error) {
	zone, err := y.Location()
	if err != nil {
		return planner.Problem{}, err
	}
	f := facts{yard: y, zone: zone, boats: boats, forecasts: forecasts, work: planner.Replay(y, boats, nil)}
	return f.problem(at), nil
}
