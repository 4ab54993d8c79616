package pages

import (
	"context"
	"time"

	"fairwindow/planner/waits"
	"fairwindow/planner/whatif"
)

// Waits is what the pages ask about what was put off. An error of a method that keeps
// something is as one of the Desk.
type Waits interface {
	PutOff(ctx context.Context) ([]waits.Entry, error)
	// LostDays is the statement of the days from one midnight to another.
	LostDays(ctx context.Context, from, to time.Time) ([]waits.LostDay, error)
	// CrewLog are the lines of the daily log from one day to another, both included.
	CrewLog(ctx context.Context, first, last time.Time) ([]waits.Logged, error)
	// Reported is what people pressed of a crew's work on a day, to fill its log in with.
	Reported(ctx context.Context, crew string, day time.Time) ([]waits.Logged, error)
	LogDay(ctx context.Context, lines []waits.Logged) error
	StrikeLog(ctx context.Context, id int64, by, why string) error
	KeptPlan(ctx context.Context, id int64) (waits.Kept, bool, error)
}

// Studies are what people may ask of the planner beside its own work; each takes seconds.
type Studies interface {
	TryChange(ctx context.Context, text, by string) (id string, err error)
	MakeAgain(ctx context.Context, plan int64) (id string, err error)
	Study(id string) (whatif.Study, bool)
	// Remade is the last time that a plan was made again, or is being.
	Remade(plan int64) (whatif.Study, bool)
}
