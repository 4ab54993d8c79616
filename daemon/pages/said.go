package pages

import (
	"time"

	"fairwindow/conditions"
)

// Length words a duration as the pages do: 40 min, 3 h 20 min, 2 d 4 h.
func Length(d time.Duration) string { return length(d) }

// Reading words one measured value in a yard's units, SI or US, as the pages do.
func Reading(yard string, v conditions.Variable, value float64) (name, worded string) {
	return unitsOf(yard).reading(v, value)
}
