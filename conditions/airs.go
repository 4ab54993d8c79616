package conditions

import "fairwindow/conditions/unit"

// Airs are the extremes of what several instruments say of one air, where there is
// more than one: a moment's Air and DewPoint are those of the dampest, and of two that
// disagree each limit is judged by the worse. The zero value adds nothing.
type Airs struct {
	Coldest unit.Maybe[unit.Temperature] `json:"coldest,omitzero"`
	Warmest unit.Maybe[unit.Temperature] `json:"warmest,omitzero"`
	Driest  unit.Maybe[unit.Humidity]    `json:"driest,omitzero"`
	Dampest unit.Maybe[unit.Humidity]    `json:"dampest,omitzero"`
}

// worse is the value that a bound is judged by: the moment's own, or one further out.
func worse[T ~float64](b *Bound, value float64, least, most unit.Maybe[T]) float64 {
	switch {
	case b.Least && !least.IsZero():
		return min(value, float64(least.OrNaN()))
	case !b.Least && !most.IsZero():
		return max(value, float64(most.OrNaN()))
	}
	return value
}
