package config

import (
	"errors"
	"fmt"
	"strings"
	"time"

	"github.com/robfig/cron/v3"
)

// Span is a half-open span of time, From included and To not, in UTC.
type Span struct {
	From time.Time `json:"from"`
	To   time.Time `json:"to"`
}

// longest is how long one occurrence may last; it bounds how far back starts are sought.
const longest = 366 * 24 * time.Hour

// occurrences are the spans that start when the expression says, on the zone's
// wall clock, last for length of elapsed time and touch [from, to), in order
// and uncut. A start that the clock jumps over is at the end of the jump, one
// that it shows twice is at the first; two that fall together are one.
//
// The expression has five fields: minute, hour, day, month, weekday (Sunday is
// 0). An expression that is none or never happens is an error.
func occurrences(expr string, length time.Duration, zone *time.Location, from, to time.Time) ([]Span, error) {
	recurs, err := parseCron(expr)
	if err != nil {
		return nil, err
	}
	if length <= 0 || length > longest {
		return nil, fmt.Errorf("length %s is nothing or more than a year; write how long it lasts, like \"8.5 h\"", length)
	}
	const slack = 48 * time.Hour // more than any offset from UTC and any jump of a clock
	var spans []Span
	for naive := recurs.Next(from.UTC().Add(-length - slack)); !naive.IsZero() && naive.Before(to.Add(slack)); naive = recurs.Next(naive) {
		start := atWall(naive, zone)
		if n := len(spans); n > 0 && !spans[n-1].From.Before(start) {
			continue
		}
		spans = append(spans, Span{start, start.Add(length)})
	}
	var touching []Span
	for _, s := range spans {
		if s.From.Before(to) && s.To.After(from) {
			touching = append(touching, s)
		}
	}
	return touching, nil
}

// The library evaluates in the zone of the time it is given, and skips or
// doubles days where a clock changes; so it only ever sees UTC, as naive wall
// time. Descriptors are off: @every has no wall clock.
var fiveFields = cron.NewParser(cron.Minute | cron.Hour | cron.Dom | cron.Month | cron.Dow)

func parseCron(expr string) (recurs cron.Schedule, err error) {
	const way = "write five fields: minute hour day month weekday, like \"0 7 * * 1-5\" for 07:00 from Monday to Friday"
	defer func() {
		if trouble := recover(); trouble != nil { // the library slices some bad input out of bounds
			recurs, err = nil, fmt.Errorf("%q is not a recurring time; %s", expr, way)
		}
	}()
	switch {
	case strings.Contains(expr, "TZ="):
		return nil, fmt.Errorf("%q names a time zone; the yard's own zone always counts; %s", expr, way)
	case strings.Contains(expr, "@"):
		return nil, fmt.Errorf("%q is a shorthand; %s", expr, way)
	}
	recurs, err = fiveFields.Parse(expr)
	if err != nil {
		if fields := strings.Fields(expr); len(fields) == 5 && strings.Contains(fields[4], "7") {
			return nil, fmt.Errorf("%q is not a recurring time: weekdays run from 0 for Sunday to 6 for Saturday", expr)
		}
		return nil, fmt.Errorf("%q is not a recurring time; %s", expr, way)
	}
	// Any date that exists comes round within eight years; the library looks five
	// ahead, which finds every one from here.
	if recurs.Next(time.Date(2024, 1, 1, 0, 0, 0, 0, time.UTC)).IsZero() {
		return nil, fmt.Errorf("%q never happens: no such day is in the calendar", expr)
	}
	return recurs, nil
}

// ShiftsOf are the hours a crew works within [from, to): its shifts, less the
// closures of the crew and of the whole yard. Shifts that meet are one span.
func (y Yard) ShiftsOf(crew string, from, to time.Time) ([]Span, error) {
	c, ok := y.Crew(crew)
	if !ok {
		return nil, fmt.Errorf("no crew is named %q", crew)
	}
	zone, err := y.Location()
	if err != nil {
		return nil, err
	}
	from, to = from.UTC(), to.UTC()
	worked, err := recurring(c.Shifts, zone, from, to)
	if err != nil {
		return nil, err
	}
	closed, err := y.closed(from, to, func(c Closure) bool {
		return c.Place == "" && c.Equipment == "" && (c.Crew == crew || c.Crew == "")
	})
	return subtract(worked, closed), err
}

// recurring are the hours of shifts within [from, to).
func recurring(shifts []Shift, zone *time.Location, from, to time.Time) ([]Span, error) {
	var all []Span
	for _, s := range shifts {
		spans, err := occurrences(s.Starts, s.Length.Std(), zone, from, to)
		if err != nil {
			return nil, err
		}
		all = append(all, spans...)
	}
	return clip(union(all), from, to), nil
}

// EquipmentHours are the hours within [from, to) in which equipment is there: its
// hours, less its closures. A closure of the whole yard sends only the crews home.
func (y Yard) EquipmentHours(name string, from, to time.Time) ([]Span, error) {
	e, ok := y.equipmentNamed(name)
	if !ok {
		return nil, fmt.Errorf("no equipment is named %q", name)
	}
	zone, err := y.Location()
	if err != nil || !from.Before(to) {
		return nil, err
	}
	from, to = from.UTC(), to.UTC()
	there := []Span{{from, to}}
	if len(e.Hours) > 0 {
		if there, err = recurring(e.Hours, zone, from, to); err != nil {
			return nil, err
		}
	}
	closed, err := y.closed(from, to, func(c Closure) bool { return c.Equipment == name })
	return subtract(there, closed), err
}

// WhyOut says why equipment is not there at a time: its closure's reason; empty if
// it is there or out of its hours.
func (y Yard) WhyOut(equipment string, at time.Time) string {
	for _, c := range y.Closures {
		if c.Equipment != equipment {
			continue
		}
		if spans, err := c.spans(y, at, at.Add(1)); err == nil && len(spans) > 0 {
			return c.Why
		}
	}
	return ""
}

// OpenHours are the hours within [from, to) in which a place is not closed. A
// closure of the whole yard sends the crews home but shuts no place: a coat
// may cure through a holiday.
func (y Yard) OpenHours(place string, from, to time.Time) ([]Span, error) {
	if _, ok := y.Place(place); !ok {
		return nil, fmt.Errorf("no place is named %q", place)
	}
	if !from.Before(to) {
		return nil, nil
	}
	closed, err := y.closed(from, to, func(c Closure) bool { return c.Place == place })
	return subtract([]Span{{from.UTC(), to.UTC()}}, closed), err
}

func (y Yard) closed(from, to time.Time, counts func(Closure) bool) ([]Span, error) {
	var all []Span
	for _, c := range y.Closures {
		if !counts(c) {
			continue
		}
		spans, err := c.spans(y, from, to)
		if err != nil {
			return nil, err
		}
		all = append(all, spans...)
	}
	return union(all), nil
}

// spans are when the closure holds, as far as that touches [from, to).
func (c Closure) spans(y Yard, from, to time.Time) ([]Span, error) {
	zone, err := y.Location()
	if err != nil {
		return nil, err
	}
	if c.Starts != "" {
		return occurrences(c.Starts, c.Length.Std(), zone, from, to)
	}
	first, last, err := c.wall()
	if err != nil {
		return nil, err
	}
	once := Span{atWall(first, zone), atWall(last, zone)}
	if once.From.Before(to) && once.To.After(from) {
		return []Span{once}, nil
	}
	return nil, nil
}

// wall is the naive span of a closure that happens once.
func (c Closure) wall() (first, last time.Time, err error) {
	first, bare, err := parseWall(c.From)
	if err != nil {
		return first, last, err
	}
	last = first
	if c.To != "" {
		if last, bare, err = parseWall(c.To); err != nil {
			return first, last, err
		}
	}
	if bare {
		last = last.AddDate(0, 0, 1)
	}
	if !first.Before(last) {
		return first, last, errors.New("it ends before it starts; write to after from, or only from for a single day")
	}
	return first, last, nil
}
