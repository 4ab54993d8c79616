// Package surface answers one question: what did a coat stand in? It reads a table
// of measured surface temperatures (table.go) and makes of it the spells that a
// coat's clock runs over (spells.go), facet by facet.
//
// It is pure: no clock, no I/O, no state.
package surface

import (
	"time"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
)

// Table is what was measured, in the order of time.
type Table struct {
	Facets []Facet
	// Humidity is that of the air over the coat; empty where the table has none.
	Humidity []Reading[unit.Humidity]
	// Rows are the times of all rows, whether or not their values are known.
	Rows []time.Time
	// Notes say what was doubtful and left out, or assumed: one line for each kind.
	Notes []string
}

// Facet is one column of surface temperatures.
type Facet struct {
	Name     string
	Readings []Reading[unit.Temperature] // known ones only
}

// Reading is one known value.
type Reading[T ~float64] struct {
	At    time.Time
	Value T
}

// Until is the table as it was at a time.
func (t Table) Until(at time.Time) Table {
	t.Facets = append([]Facet(nil), t.Facets...)
	for i := range t.Facets {
		t.Facets[i].Readings = until(t.Facets[i].Readings, at)
	}
	t.Humidity = until(t.Humidity, at)
	n := 0
	for n < len(t.Rows) && !t.Rows[n].After(at) {
		n++
	}
	t.Rows = t.Rows[:n]
	return t
}

func until[T ~float64](of []Reading[T], at time.Time) []Reading[T] {
	n := 0
	for n < len(of) && !of[n].At.After(at) {
		n++
	}
	return of[:n]
}

// Last is what a facet was last measured at; NaN where it never was.
func (t Table) Last(facet int) conditions.Exposure {
	surface := last(t.Facets[facet].Readings)
	return conditions.Exposure{Coldest: surface, Warmest: surface, Humidity: last(t.Humidity)}
}

func last[T ~float64](of []Reading[T]) T {
	if len(of) == 0 {
		return unit.NaN[T]()
	}
	return of[len(of)-1].Value
}
