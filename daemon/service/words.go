package service

import (
	"strings"
	"time"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
	"fairwindow/config"
	"fairwindow/notify"
	"fairwindow/planner"
)

// because turns the margin that binds a verdict into the cause of a notice, in
// the unit the rule was written in.
func because(v conditions.Verdict, m conditions.Moment) notify.Cause {
	if v.Answer == conditions.Undecided {
		first, _, _ := strings.Cut(v.Why, ";") // one reason is enough to shut, and to read aloud
		return notify.Cause{Sure: notify.Unknown, Text: first}
	}
	if v.Binding < 0 || v.Binding >= len(v.Margins) {
		return notify.Cause{}
	}
	worst := v.Margins[v.Binding]
	c := bound(worst.Bound, worst.Value)
	c.Sure, c.Issued = notify.Sure(m.Sure), m.At
	return c
}

// ending is what will end a window.
func ending(w planner.Window) notify.Cause {
	if w.Closes.Of == "" {
		return notify.Cause{}
	}
	c := bound(w.Closes, w.Value)
	c.Sure = notify.Forecast
	return c
}

// bound words a bound and the value that meets it.
func bound(b conditions.Bound, value float64) notify.Cause {
	c := notify.Cause{Limit: string(b.Of), Whose: b.Owner, Side: notify.AtMost}
	if b.Least {
		c.Side = notify.AtLeast
	}
	c.Value, c.Bound, c.Unit = inWritten(b, value)
	return c
}

// inWritten gives a value and its bound in the unit the bound was written in.
func inWritten(b conditions.Bound, value float64) (v, limit float64, sign string) {
	switch b.Of {
	case conditions.OfMargin, conditions.OfAboveAir, conditions.OfBelowAir, conditions.OfPaint, conditions.OfDrip:
		w, err := unit.Parse[unit.TempDiff](b.Written)
		if err == nil {
			return unit.In(unit.TempDiff(value), w.Unit), w.Value, w.Unit
		}
	case conditions.OfAir, conditions.OfSurface:
		w, err := unit.Parse[unit.Temperature](b.Written)
		if err == nil {
			return unit.In(unit.Temperature(value), w.Unit), w.Value, w.Unit
		}
	case conditions.OfWind, conditions.OfMeanWind, conditions.OfGust:
		w, err := unit.Parse[unit.Speed](b.Written)
		if err == nil {
			return unit.In(unit.Speed(value), w.Unit), w.Value, w.Unit
		}
	case conditions.OfFall, conditions.OfRise:
		w, err := unit.Parse[unit.Rate](b.Written)
		if err == nil {
			return unit.In(unit.Rate(value), w.Unit), w.Value, w.Unit
		}
	case conditions.OfRain:
		return 100 * value, 100 * b.At, "%"
	}
	return value, b.At, "%"
}

// spare reports whether every margin leaves room enough to reopen a window.
func spare(v conditions.Verdict) bool {
	for _, m := range v.Margins {
		by, _, sign := inWritten(m.Bound, m.By)
		if m.Of == conditions.OfAir || m.Of == conditions.OfSurface {
			by, sign = m.By, "K" // a span of degrees, not a point on the scale
		}
		if !notify.Spare(by, sign) {
			return false
		}
	}
	return v.Answer == conditions.Yes
}

// moved is why a stage starts at another time: what stands in the way of the start that
// was told, else the cause of its last wait, else that all in all it costs less.
func moved(s planner.Planned, told planner.Wait) notify.Cause {
	last := told
	// What people were told is no reason to tell them something else.
	for i := len(s.Waits) - 1; i >= 0 && (last.Cause == "" || last.Cause == planner.AsTold); i-- {
		last = s.Waits[i]
	}
	switch {
	case last.Cause == "" || last.Cause == planner.AsTold:
		return notify.Cause{Text: "so it fits better with the other work"}
	case last.Cause == planner.OutOfLimits && last.Evidence.Bound.Of != "":
		c := bound(last.Evidence.Bound, last.Evidence.Value)
		c.Sure, c.Issued = notify.Sure(last.Evidence.Sure), last.Evidence.Issued
		return c
	}
	return notify.Cause{Text: aloud(last, s.Key.Boat)}
}

// withoutSurface leaves the rules that need no surface reading.
func withoutSurface(rules conditions.Rules) conditions.Rules {
	var out conditions.Rules
	for _, b := range rules {
		if !b.OfSkin() {
			out = append(out, b)
		}
	}
	return out
}

func known(t unit.Temperature) bool { return unit.Known(t) }

func spanAt(spans []config.Span, t time.Time) (config.Span, bool) {
	for _, s := range spans {
		if !t.Before(s.From) && t.Before(s.To) {
			return s, true
		}
	}
	return config.Span{}, false
}

func windowAt(windows []planner.Window, t time.Time) (planner.Window, bool) {
	for _, w := range windows {
		if !t.Before(w.From) && t.Before(w.To) {
			return w, true
		}
	}
	return planner.Window{}, false
}
