package waits

import (
	"time"

	"fairwindow/planner"
)

// Kept is a plan as it was kept, with what it was made from.
type Kept struct {
	ID      int64
	Plan    planner.Plan
	Problem string    // hash of the problem that it answers: the SHA-256 of its canonical JSON
	Made    time.Time // when it was kept
	Told    time.Time // when people were last given it; zero: never
	By      string    // who let it out
}
