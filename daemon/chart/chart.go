// Package chart answers one question: how does it run over the hours? It draws
// lines of one unit over time as plain text for a terminal (text.go) and as an
// SVG file (svg.go). Neither needs colour to be read: each line has a letter.
//
// It is pure: no clock, no I/O, no state.
package chart

import (
	"fmt"
	"math"
	"time"
)

// Chart is lines on one scale and strips beneath them on the same hours.
type Chart struct {
	Title    string
	Unit     string // of the scale, such as °C
	From, To time.Time
	Zone     *time.Location
	Lines    []Line
	Strips   []Strip
	// Least is the least height of the scale, so that noise is not made a mountain.
	Least float64
	// Rows is how many the text has at most; 0 is 22.
	Rows int
	// Now parts what was from what is expected; zero for no such line.
	Now time.Time
}

// Line is one value over time, in the order of time. Points that are farther
// apart than 90 minutes are not joined; an unknown value (NaN) breaks the line.
type Line struct {
	Letter rune
	Name   string
	// Behind is drawn where no other line is: what the others are compared with.
	Behind bool
	// Twin is the other side of the line before it, in the same letter, and not
	// named again.
	Twin   bool
	Points []Point
}

// Point is one value.
type Point struct {
	At    time.Time
	Value float64
}

// Strip is when something was so.
type Strip struct {
	Letter rune
	Name   string
	Spans  [][2]time.Time // half open
}

// joined is how far apart two points may lie and still have a line between them.
const joined = 90 * time.Minute

// at is the line's value at a time, straight between two points; NaN where there
// is none.
func (l Line) at(t time.Time) float64 {
	for i, p := range l.Points {
		switch {
		case p.At.Equal(t):
			return p.Value
		case p.At.After(t):
			if i == 0 || p.At.Sub(l.Points[i-1].At) > joined {
				return math.NaN()
			}
			before := l.Points[i-1]
			part := float64(t.Sub(before.At)) / float64(p.At.Sub(before.At))
			return before.Value + part*(p.Value-before.Value)
		}
	}
	return math.NaN()
}

// during reports whether it was so at any time of a span.
func (s Strip) during(from, to time.Time) bool {
	for _, x := range s.Spans {
		if x[0].Before(to) && from.Before(x[1]) {
			return true
		}
	}
	return false
}

// scale is the chart's range of values with a round step that divides it into at
// most so many; ok is false where nothing is known.
func (c Chart) scale(most int) (low, high, step float64, ok bool) {
	low, high = math.Inf(1), math.Inf(-1)
	for _, l := range c.Lines {
		for _, p := range l.Points {
			if !math.IsNaN(p.Value) && !math.IsInf(p.Value, 0) && !p.At.Before(c.From) && !p.At.After(c.To) {
				low, high = math.Min(low, p.Value), math.Max(high, p.Value)
			}
		}
	}
	if low > high || !c.From.Before(c.To) {
		return 0, 0, 0, false
	}
	// One value has no range, and one lost in rounding would be divided by: a figure has six decimals.
	least := math.Max(c.Least, 1e-6*math.Max(1, math.Max(math.Abs(low), math.Abs(high))))
	if short := least - (high - low); short > 0 {
		high += short
	}
	for step = round((high - low) / float64(most)); ; step = round(step * 1.5) {
		from, to := math.Floor(low/step)*step, math.Ceil(high/step)*step
		if n := (to - from) / step; n <= float64(most) {
			return from, to, step, true
		}
	}
}

// round is the least of 1, 2 or 5 times a power of ten that is no less than v.
func round(v float64) float64 {
	if !(v > 0) {
		return 1
	}
	power := math.Pow(10, math.Floor(math.Log10(v)))
	for _, m := range []float64{1, 2, 5} {
		if m*power >= v*(1-1e-9) {
			return m * power
		}
	}
	return 10 * power
}

// figure is a value of the scale with no more decimals than its step needs.
func figure(v, step float64) string {
	decimals := 0
	for s := step; s < 0.999 && decimals < 6; s *= 10 {
		decimals++
	}
	return fmt.Sprintf("%.*f", decimals, v+0) // + 0: no minus before a nought
}

// tick is a moment that the time axis names.
type tick struct {
	at  time.Time
	day bool
}

// ticks are the whole hours of the zone's clock that fit in so many names.
func (c Chart) ticks(most int) []tick {
	every := 1
	for _, every = range []int{1, 2, 3, 6, 12, 24} {
		if c.To.Sub(c.From) <= time.Duration(every*most)*time.Hour {
			break
		}
	}
	days := 1 + int(c.To.Sub(c.From)/(24*time.Hour))/most // a name for every so many days
	var all []tick
	first := c.From.In(c.Zone)
	for d := 0; ; d++ {
		for h := 0; h < 24; h += every {
			at := time.Date(first.Year(), first.Month(), first.Day()+d, h, 0, 0, 0, c.Zone)
			if at.After(c.To) {
				return all
			}
			if !at.Before(c.From) && (every < 24 || d%days == 0) {
				all = append(all, tick{at, h == 0})
			}
		}
	}
}

func (c Chart) label(t tick) string {
	if t.day {
		return t.at.Format("Mon 2")
	}
	return t.at.Format("15:04")
}
