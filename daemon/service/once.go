package service

import (
	"time"

	"fairwindow/conditions"
	"fairwindow/config"
	"fairwindow/planner"
	"fairwindow/sensors"
)

// Alone is what a plan without a running daemon is made from: the yard, its boats and
// at most one forecast, with nothing measured and nothing reported.
type Alone struct {
	Yard      config.Yard
	Folder    string // where relative names in the yard file start
	Boats     []config.Boat
	Forecasts []sensors.Forecast
	At        time.Time
}

// Once is the problem of such a plan.
func Once(a Alone) (planner.Problem, error) {
	zone, err := a.Yard.Location()
	if err != nil {
		return planner.Problem{}, err
	}
	f := facts{yard: a.Yard, zone: zone, boats: a.Boats, forecasts: a.Forecasts, work: planner.Replay(a.Yard, a.Boats, nil)}
	records, _, err := Records(a.Yard, a.Folder)
	if err != nil {
		return planner.Problem{}, err
	}
	if season, err := conditions.SeasonOf(records); err == nil { // else the yard file's months are used
		f.records = season
	}
	return f.problem(a.At), nil
}
