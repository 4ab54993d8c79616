package pages

import (
	"fmt"
	"time"

	"fairwindow/conditions"
	"fairwindow/sensors"
)

// Length words a duration as the pages do: 40 min, 3 h 20 min, 2 d 4 h.
func Length(d time.Duration) string { return length(d) }

// Reading words one measured value in a yard's units, SI or US, as the pages do.
func Reading(yard string, v conditions.Variable, value float64) (name, worded string) {
	return unitsOf(yard).reading(v, value)
}

// Exposed words a humidity sensor's time in solvent vapour; nothing of one that has
// hung in none and need not be checked.
func Exposed(a sensors.Account) string {
	if a.Exposed == nil || a.Exposed.Hours == 0 && a.CheckAfter == 0 {
		return ""
	}
	words := fmt.Sprintf("%.0f h", a.Exposed.Hours)
	if a.CheckAfter > 0 {
		words += " of " + a.CheckAfter.String()
	}
	if a.Exposed.Since.IsZero() {
		return words + ", never checked by hand"
	}
	return words + " since it was checked by hand"
}

// Against sets a value beside its bound, in the unit the bound was written in.
func Against(b conditions.Bound, value float64) string { return against(b, value) }
