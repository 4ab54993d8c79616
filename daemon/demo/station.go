package demo

import (
	"math"
	"strings"
	"time"

	"fairwindow/conditions/unit"
	"fairwindow/config"
)

// Station is where a weather file was recorded.
type Station struct {
	Origin string // as the file calls it
	Site   Site
	Zone   string // IANA
}

// stations are those of the hourly tables; positions as published by the
// airports' authority, rounded to a hundredth of a degree.
var stations = map[string]Station{
	"EWR": {"EWR", Site{40.69, -74.17}, "America/New_York"},
	"JFK": {"JFK", Site{40.64, -73.78}, "America/New_York"},
	"LGA": {"LGA", Site{40.78, -73.87}, "America/New_York"},
	"SEA": {"SEA", Site{47.45, -122.31}, "America/Los_Angeles"},
	"PDX": {"PDX", Site{45.59, -122.60}, "America/Los_Angeles"},
}

// StationOf finds the station that a file's text names: the one asked for, or
// the first of its rows.
func StationOf(text, asked string) (Station, bool) {
	if asked != "" {
		s, ok := stations[asked]
		return s, ok
	}
	_, rows, _ := strings.Cut(text, "\n")
	origin, _, _ := strings.Cut(rows, ",")
	s, ok := stations[strings.Trim(origin, `" `)]
	return s, ok
}

// Season is the usual weather of each month that the hours cover, for a yard
// that stands where they were recorded.
func Season(hours []Hour, zone *time.Location) []config.Month {
	type sums struct {
		n, rain         int
		air, dew, wind  float64
		low, high, mean map[int]float64
		hours           map[int]int
	}
	var by [13]sums
	for _, h := range hours {
		local := h.At.In(zone)
		s := &by[local.Month()]
		if s.low == nil {
			s.low, s.high, s.mean, s.hours = map[int]float64{}, map[int]float64{}, map[int]float64{}, map[int]int{}
		}
		day, air := local.Day(), float64(h.Air)
		if s.hours[day] == 0 {
			s.low[day], s.high[day] = air, air
		}
		s.low[day], s.high[day] = min(s.low[day], air), max(s.high[day], air)
		s.mean[day] += air
		s.hours[day]++
		s.n++
		s.air += air
		s.dew += float64(h.DewPoint)
		s.wind += float64(h.Wind)
		if h.Rain > 0 {
			s.rain++
		}
	}
	var season []config.Month
	for month, s := range by {
		if s.n < 24*7 {
			continue
		}
		n := float64(s.n)
		var swing, scatter float64
		for day, count := range s.hours {
			swing += (s.high[day] - s.low[day]) / float64(len(s.hours))
			off := s.mean[day]/float64(count) - s.air/n
			scatter += off * off / float64(len(s.hours))
		}
		season = append(season, config.Month{
			Month: month, Air: unit.Of(unit.Temperature(tenth(s.air / n))), Swing: unit.Of(unit.TempDiff(tenth(swing))),
			DewPoint: unit.Of(unit.Temperature(tenth(s.dew / n))), Scatter: unit.Of(unit.TempDiff(tenth(math.Sqrt(scatter)))),
			Wind: unit.Of(unit.Speed(tenth(s.wind / n))), RainHours: unit.Of(unit.Share(math.Round(100*float64(s.rain)/n) / 100)),
		})
	}
	return season
}

func tenth(v float64) float64 { return math.Round(10*v) / 10 }
