package pages

import (
	"fmt"
	"maps"
	"math"
	"slices"
	"strings"
	"time"

	"fairwindow/conditions"
	"fairwindow/sensors"
)

// spark is one value's last day as a line without a scale; a gap in it is a gap in what
// was heard.
type spark struct {
	Name     string
	Path     string
	Doubts   string // marks beneath it, where the value was doubtful
	From, To string // the least and the greatest
}

// Sizes of a spark, in its own units.
const (
	sparkWidth  = 150
	sparkHeight = 26
	sparkStep   = 15 * time.Minute // one point in so long, the last
)

// sparks draws each value of a source that is no mere state.
func sparks(readings []sensors.Reading, every time.Duration, c clock, u units) []spark {
	by := map[conditions.Variable][]sensors.Reading{}
	for _, r := range readings {
		for v := range r.Values {
			by[v] = append(by[v], r)
		}
	}
	var all []spark
	for _, v := range slices.Sorted(maps.Keys(by)) {
		switch v {
		case conditions.Fan, conditions.Door, conditions.Heater, conditions.BoothMode:
			continue
		}
		if s := sparkOf(by[v], v, max(2*sparkStep, silentAfter*every), c, u); s.Path != "" {
			all = append(all, s)
		}
	}
	return all
}

func sparkOf(readings []sensors.Reading, v conditions.Variable, gap time.Duration, c clock, u units) spark {
	type point struct {
		at    time.Time
		value float64 // NaN: doubtful
	}
	var points []point
	lo, hi := math.Inf(1), math.Inf(-1)
	for _, r := range readings {
		x, ok := r.Good(v)
		if !ok {
			x = math.NaN()
		}
		if n := len(points); n > 0 && points[n-1].at.Truncate(sparkStep).Equal(r.At.Truncate(sparkStep)) {
			points = points[:n-1]
		}
		points = append(points, point{r.At, x})
		if ok {
			lo, hi = min(lo, x), max(hi, x)
		}
	}
	if lo > hi {
		return spark{}
	}
	var s spark
	s.Name, s.From = u.reading(v, lo)
	_, s.To = u.reading(v, hi)
	var line, doubts strings.Builder
	last := time.Time{}
	ax := axis{c.now.Add(-chartBack), c.now}
	for _, p := range points {
		x := float64(ax.at(p.at)) / 100 * sparkWidth
		if x < 0 || x > sparkWidth {
			continue
		}
		if math.IsNaN(p.value) {
			fmt.Fprintf(&doubts, "M%.1f %dv4", x, sparkHeight-4)
			last = time.Time{}
			continue
		}
		y := float64(sparkHeight) / 2
		if hi > lo {
			y = 2 + (hi-p.value)/(hi-lo)*(sparkHeight-9)
		}
		move := "L"
		if last.IsZero() || p.at.Sub(last) > gap {
			move = "M"
		}
		fmt.Fprintf(&line, "%s%.1f %.1f", move, x, y)
		if move == "M" {
			line.WriteString("h.1") // one point alone is seen too
		}
		last = p.at
	}
	s.Path, s.Doubts = line.String(), doubts.String()
	return s
}
