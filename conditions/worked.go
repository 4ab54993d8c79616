package conditions

import (
	"time"

	"fairwindow/conditions/unit"
)

// Worked is a hull's surface as worked out where nobody reads it, beside what was
// last read of it.
type Worked struct {
	// Parts are those that are to be coated; none where the air around is not measured.
	Parts []WorkedPart
	// Read is when its surface was last read, zero where no reading is at hand;
	// Coldest and Warmest are what was read then, °C.
	Read             time.Time
	Coldest, Warmest unit.Temperature
	// Model is what was worked out for the coldest facet of the first of Parts at
	// Read, NaN where nothing was.
	Model unit.Temperature
}

// WorkedPart is one part with its coldest and its warmest facet.
type WorkedPart struct {
	Part             Part
	Coldest, Warmest unit.Temperature
}
