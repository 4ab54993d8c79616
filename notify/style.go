package notify

import (
	"math"
	"strconv"
	"strings"
	"time"
)

// Units says in which units a reader thinks.
type Units string

// The two sets of units.
const (
	SI Units = "SI"
	US Units = "US"
)

// Style is how one reader wants times and amounts put. The zero Style writes UTC, SI and 24
// hours.
type Style struct {
	Zone    *time.Location
	Units   Units
	Clock12 bool
}

func (s Style) zone() *time.Location {
	if s.Zone == nil {
		return time.UTC
	}
	return s.Zone
}

// end words the moment by which something must be done, rounded down to the minute: an end is
// never told too late.
func (s Style) end(t, today time.Time) string { return s.moment(t.Truncate(time.Minute), today) }

// start words the moment from which something may be done, rounded up to the minute.
func (s Style) start(t, today time.Time) string {
	down := t.Truncate(time.Minute)
	if down.Before(t) {
		down = down.Add(time.Minute)
	}
	return s.moment(down, today)
}

// moment words a time: the clock alone when today, with the weekday within six days either way,
// with the date beyond. A time that the clocks show twice, when summer time ends, carries its
// zone.
func (s Style) moment(t, today time.Time) string {
	t, today = t.In(s.zone()), today.In(s.zone())
	layout := "15:04"
	if s.Clock12 {
		layout = "3:04 pm"
	}
	clock := t.Format(layout)
	if s.Clock12 && t.Hour() == 12 && t.Minute() == 0 {
		clock = "noon"
	}
	if twice(t) {
		clock += " " + t.Format("MST")
	}
	switch days := daysBetween(today, t); {
	case days == 0:
		return clock
	case days > -7 && days < 7:
		return t.Format("Mon ") + clock
	case s.Units == US:
		return t.Format("Mon Jan 2 ") + clock
	}
	return t.Format("Mon 2 Jan ") + clock
}

// twice reports whether t's wall clock time comes round again within an hour of it. The overlap
// is a whole hour in all zones but one, where it is half.
func twice(t time.Time) bool {
	for _, gap := range []time.Duration{-time.Hour, -30 * time.Minute, 30 * time.Minute, time.Hour} {
		o := t.Add(gap)
		if o.Hour() == t.Hour() && o.Minute() == t.Minute() {
			return true
		}
	}
	return false
}

// daysBetween counts calendar days from a to b, both in one zone.
func daysBetween(a, b time.Time) int {
	day := func(t time.Time) time.Time { return time.Date(t.Year(), t.Month(), t.Day(), 0, 0, 0, 0, time.UTC) }
	return int(day(b).Sub(day(a)) / (24 * time.Hour))
}

// span words a duration to the minute, in hours and minutes, in days from two days up.
func span(d time.Duration) string {
	minutes := int(d.Round(time.Minute) / time.Minute)
	h, m := minutes/60, minutes%60
	switch {
	case h >= 48:
		return number(float64(minutes)/(24*60), 1) + " days"
	case h == 0:
		return strconv.Itoa(m) + " min"
	case m == 0:
		return strconv.Itoa(h) + " h"
	}
	return strconv.Itoa(h) + " h " + strconv.Itoa(m) + " min"
}

// number writes v with at most the given decimals and no trailing zeros.
func number(v float64, decimals int) string {
	s := strconv.FormatFloat(v, 'f', decimals, 64)
	if strings.Contains(s, ".") {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	if s == "-0" {
		return "0"
	}
	return s
}

// amount is a value in the unit its reader thinks in.
type amount struct {
	value float64
	sign  string // of the unit, as printed
}

// amount turns a value into the reader's units. A temperature difference is not a temperature: it
// has no offset.
func (s Style) amount(v float64, unit string, difference bool) amount {
	offset := 32.0
	if difference {
		offset = 0
	}
	switch unit {
	case "C":
		if s.Units == US {
			return amount{v*9/5 + offset, "°F"}
		}
		return amount{v, "°C"}
	case "F":
		if s.Units == US {
			return amount{v, "°F"}
		}
		return amount{(v - offset) * 5 / 9, "°C"}
	case "K":
		switch {
		case !difference:
			return s.amount(v-273.15, "C", false)
		case s.Units == US:
			return s.amount(v, "C", true)
		}
	case "K/h", "C/h":
		if s.Units == US {
			return amount{v * 9 / 5, "°F/h"}
		}
	case "F/h":
		if s.Units != US {
			return amount{v * 5 / 9, "K/h"}
		}
	case "m/s":
		if s.Units == US {
			return amount{v / 0.44704, "mph"} // 1 mph = 0.44704 m/s, exact
		}
	case "km/h":
		if s.Units == US {
			return amount{v / 1.609344, "mph"} // the same, exact
		}
	case "mph":
		if s.Units != US {
			return amount{v * 0.44704, "m/s"}
		}
	}
	return amount{v, s.sign(unit)}
}

// pair words a value and its bound with as few decimals, from one to three, as keep them apart
// when they differ.
func pair(value, bound amount) (string, string) {
	for decimals := 1; ; decimals++ {
		v, b := number(value.value, decimals), number(bound.value, decimals)
		if v != b || value.value == bound.value || decimals == 3 {
			return v, b
		}
	}
}

// spaced joins a number and its unit.
func spaced(n, sign string) string {
	if sign == "" {
		return n
	}
	return n + " " + sign
}

// volume words litres; a reader of US units gets gallons, below one gallon quarts.
func (s Style) volume(litres float64) string {
	const perGallon = 3.785411784 // litres in a US gallon, exact
	up := func(v float64) string { return number(math.Ceil(v*10-1e-9)/10, 1) }
	switch {
	case s.Units != US:
		return up(litres) + " L"
	case litres < perGallon:
		return up(litres/perGallon*4) + " qt"
	}
	return up(litres/perGallon) + " gal"
}
