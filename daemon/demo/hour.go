package demo

import (
	"math"
	"sort"
	"time"
)

// Hour is the true weather outdoors at one time. Rain and Shortwave are of the
// hour before At.
type Hour struct {
	At        time.Time
	Air       float64 // °C
	DewPoint  float64 // °C
	Wind      float64 // m/s
	Gust      float64 // m/s
	Rain      float64 // mm/h
	Cloud     float64 // part of one
	Shortwave float64 // W/m² on the level
	// Said is what the instruments of a recorded hour said, when that cannot
	// be the truth. Nil: they said the truth.
	Said *Said
}

// Said is an hour as an instrument recorded it; NaN is a value it did not give.
type Said struct {
	Silent   bool // nothing came at all
	Air      float64
	DewPoint float64
	Humidity float64
	Wind     float64
	Gust     float64
	Rain     float64
}

// outdoors is the weather at any time within the hours: linear between them,
// rain and sun as the mean of the hour they fall in, Said of the hour begun last.
func outdoors(hours []Hour, at time.Time) Hour {
	next := sort.Search(len(hours), func(i int) bool { return hours[i].At.After(at) })
	if next == 0 {
		return hours[0]
	}
	before := hours[next-1]
	if next == len(hours) {
		before.At = at
		return before
	}
	after := hours[next]
	part := at.Sub(before.At).Hours() / after.At.Sub(before.At).Hours()
	mix := func(a, b float64) float64 { return a + (b-a)*part }
	now := Hour{
		At: at, Air: mix(before.Air, after.Air), DewPoint: mix(before.DewPoint, after.DewPoint),
		Wind: mix(before.Wind, after.Wind), Gust: mix(before.Gust, after.Gust), Cloud: mix(before.Cloud, after.Cloud),
		Rain: after.Rain, Shortwave: after.Shortwave, Said: before.Said,
	}
	if part == 0 {
		now.Rain, now.Shortwave = before.Rain, before.Shortwave
	}
	now.DewPoint = math.Min(now.DewPoint, now.Air)
	return now
}
