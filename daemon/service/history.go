package service

import (
	"math"
	"slices"
	"time"

	"fairwindow/conditions"
	"fairwindow/sensors"
)

// latestHeld is how many of a source's latest readings the next one is held against.
const latestHeld = 32

// from is a source as it reads one place or boat: one instrument may be carried about.
type from struct{ source, about string }

// history is what of one source's readings the next one is checked against: as much
// as a day of them would tell, in a few. Besides the latest there are the last good
// word of each value, and the beginning and the end before it of each value's
// standing still.
type history struct {
	latest []sensors.Reading // in the order they came
	came   int               // how many did
	newest time.Time         // the latest of their times
	values map[conditions.Variable]*course
}

// course is one value's way to here.
type course struct {
	good, broke, since, last word
	value                    float64 // to two decimals, as a value that stands still is known by
}

// word is a reading and which it was of its source's.
type word struct {
	nth     int // from 1; 0: none
	reading sensors.Reading
}

func (h *history) add(r sensors.Reading) {
	h.came++
	if h.latest = append(h.latest, r); len(h.latest) > 2*latestHeld {
		h.latest = append(h.latest[:0], h.latest[len(h.latest)-latestHeld:]...)
	}
	if r.At.Before(h.newest) {
		return // the way of the values is that of those in order
	}
	h.newest = r.At
	if h.values == nil {
		h.values = map[conditions.Variable]*course{}
	}
	is := word{h.came, r}
	for v, x := range r.Values {
		c := h.values[v]
		if c == nil {
			c = &course{}
			h.values[v] = c
		}
		if _, ok := r.Good(v); ok {
			c.good = is
		}
		if rounded := math.Round(x * 100); c.last.nth == 0 || rounded != c.value {
			c.broke, c.since, c.value = c.last, is, rounded
		}
		c.last = is
	}
}

// before is what a reading is checked against, until the next is asked for. One out of
// the order of time is held against all that is held of its source.
func (f *facts) before(r sensors.Reading) []sensors.Reading {
	h := f.histories[from{r.Source, about(r)}]
	if h == nil {
		return nil
	}
	latest := h.latest[max(0, len(h.latest)-latestHeld):]
	before := f.held[:0]
	defer func() { f.held = before }()
	if r.At.Before(h.newest) {
		known := map[string]bool{}
		for _, l := range latest {
			known[l.Key] = true
		}
		for _, p := range f.readings[about(r)] {
			if p.Source == r.Source && !known[p.Key] {
				before = append(before, p)
			}
		}
		before = append(before, latest...)
		return before
	}
	to := h.came - len(latest) // those up to it are not among the latest
	var earlier []word
	for _, c := range h.values {
		for _, w := range []word{c.good, c.broke, c.since} {
			if w.nth > 0 && w.nth <= to && !slices.ContainsFunc(earlier, func(e word) bool { return e.nth == w.nth }) {
				earlier = append(earlier, w)
			}
		}
	}
	slices.SortFunc(earlier, func(a, b word) int { return a.nth - b.nth }) // the same each time
	for _, w := range earlier {
		before = append(before, w.reading)
	}
	before = append(before, latest...)
	return before
}
