package pages

import (
	"context"
	"time"

	"fairwindow/planner"
)

// Trials is what the week asks before anything is pressed, and of plans that were.
type Trials interface {
	// Try is what a press would make of the newest draft, and that draft's number; nothing
	// is kept. An error is as one of the Desk.
	Try(ctx context.Context, press planner.Press) (planner.Tried, int64, error)
	// PlanAsOf is the draft that stood at a time, or what people had been told then; 0: none.
	PlanAsOf(ctx context.Context, at time.Time, told bool) (planner.Plan, int64, error)
	// ReleasedSince is how often a plan was told since a time, and how often by the yard's rule.
	ReleasedSince(ctx context.Context, since time.Time) (all, byRule int, err error)
}
