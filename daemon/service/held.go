package service

import (
	"maps"
	"slices"
	"sort"
	"strings"
	"time"

	"fairwindow/conditions"
	"fairwindow/sensors"
)

// memoryOfReadings is how far back readings are kept at hand: long enough to
// see a sensor stuck for hours.
const memoryOfReadings = 26 * time.Hour

// What is held of a source that speaks often: all of the last minutes, then no more
// than one reading of the same values in so long: as often as a sensor speaks for as
// long as a yard's readings count by default, then as often as a hull is worked out.
const (
	wholeFor   = 2 * time.Minute
	finelyFor  = time.Hour
	finely     = 10 * time.Second
	minutesFor = sensors.Stale + time.Hour
	// thinAfter is how many readings of a place come before it is thinned again.
	thinAfter = 1024
)

// add takes a reading in and lets go of those older than memoryOfReadings. One that
// comes later than that is not held, though the source's next ones are held against it.
func (f *facts) add(r sensors.Reading, now time.Time) {
	if f.readings == nil {
		f.readings, f.unthinned = map[string][]sensors.Reading{}, map[string]int{}
		f.histories = map[from]*history{}
	}
	source := from{r.Source, about(r)}
	if f.histories[source] == nil {
		f.histories[source] = &history{}
	}
	f.histories[source].add(r)
	if r.At.Before(now.Add(-memoryOfReadings)) {
		return
	}
	of := source.about
	held := append(f.readings[of], r)
	// Nearly all come in the order of time: from the end it is the nearest.
	// Of two of one time the one that came last speaks.
	for i := len(held) - 1; i > 0 && earlierWord(held[i], held[i-1]); i-- {
		held[i], held[i-1] = held[i-1], held[i]
	}
	// A device whose clock runs ahead must not push out what the others said.
	newest := r.At
	if r.Received.Before(newest) {
		newest = r.Received
	}
	for oldest := newest.Add(-memoryOfReadings); held[0].At.Before(oldest); {
		held = held[1:]
	}
	f.readings[of] = held
	if f.unthinned[of]++; f.unthinned[of] >= thinAfter {
		f.readings[of], f.unthinned[of] = thinned(held, newest), 0
	}
}

func earlierWord(a, b sensors.Reading) bool {
	return a.At.Before(b.At) || a.At.Equal(b.At) && a.Received.Before(b.Received)
}

// thinned leaves out, in place, readings of sources that speak often; of each span the newest
// stays. The room that was taken is kept for those to come, unless it has become far too much.
func thinned(held []sensors.Reading, newest time.Time) []sensors.Reading {
	type slot struct {
		source, says string
		span         time.Duration
		nth          int64
	}
	taken := map[slot]bool{}
	first := len(held) // of those that stay
	stay := func(r sensors.Reading) {
		first--
		held[first] = r
	}
	for i := len(held) - 1; i >= 0; i-- {
		r := held[i]
		span := hullStep
		switch age := newest.Sub(r.At); {
		case age <= wholeFor:
			stay(r)
			continue
		case age <= finelyFor:
			span = finely
		case age <= minutesFor:
			span = time.Minute
		}
		if s := (slot{r.Source, says(r), span, r.At.UnixNano() / int64(span)}); !taken[s] {
			taken[s] = true
			stay(r)
		}
	}
	n := copy(held, held[first:])
	clear(held[n:])
	if held = held[:n]; cap(held) > 2*(n+thinAfter) {
		held = slices.Clone(held)
	}
	return held
}

// says is which values a reading has: a source may send each by itself.
func says(r sensors.Reading) string {
	names := make([]string, 0, len(r.Values))
	for v := range r.Values {
		names = append(names, string(v))
	}
	slices.Sort(names)
	return strings.Join(names, " ")
}

// lately is what of a place or boat can still count at a time: a reading older than
// stale tells nothing, but for the doubt about whose clock was right.
func (f *facts) lately(of string, now time.Time) []sensors.Reading {
	held := f.readings[of]
	since := now.Add(-f.yard.Notice.Stale.Std() - 2*sensors.ClockSlack)
	n := sort.Search(len(held), func(i int) bool { return !held[i].At.Before(since) })
	return held[n:len(held):len(held)]
}

// aWalk is how long one walk around a hull with one thermometer takes at most, in which
// each surface value counts.
const aWalk = 20 * time.Minute

// words is of readings, oldest first, what can be heard at a time: of each source the newest
// word on each value, and those of the last walk around a hull. One with a doubt silences
// or leaves in force what is older, as Merge decides: it stays. One that is still to come,
// by a clock that was set back since, silences nothing.
func words(readings []sensors.Reading, now time.Time) []sensors.Reading {
	type said struct {
		values  map[conditions.Variable]bool
		surface time.Time // the newest good one
	}
	by := map[string]*said{}
	var kept []sensors.Reading
	for i := len(readings) - 1; i >= 0; i-- {
		r := readings[i]
		if sensors.ToCome(r, now) {
			continue
		}
		one := by[r.Source]
		if one == nil {
			one = &said{values: map[conditions.Variable]bool{}}
			by[r.Source] = one
		}
		news := len(r.Flags) > 0 || r.At.After(r.Received)
		for v := range r.Values {
			news = news || !one.values[v] || v == conditions.Surface && one.surface.Sub(r.At) <= aWalk
		}
		if !news {
			continue
		}
		kept = append(kept, r)
		if len(r.Flags) > 0 || r.At.After(r.Received) {
			continue
		}
		for v := range r.Values {
			if v == conditions.Surface && !one.values[v] {
				one.surface = r.At
			}
			one.values[v] = true
		}
	}
	slices.Reverse(kept)
	return kept
}

// allOf is all that is held of a spot.
func (f *facts) allOf(at sensors.Spot) []sensors.Reading {
	if at.Boat == "" {
		return f.readings[at.Place]
	}
	return inTurn(f.readings["boat "+at.Boat], f.readings[at.Place])
}

// inTurn is two lists in the order of time as one; of one time, the first's come first.
func inTurn(a, b []sensors.Reading) []sensors.Reading {
	if len(a) == 0 {
		return b
	}
	all := make([]sensors.Reading, 0, len(a)+len(b))
	for len(a) > 0 && len(b) > 0 {
		if b[0].At.Before(a[0].At) {
			all, b = append(all, b[0]), b[1:]
		} else {
			all, a = append(all, a[0]), a[1:]
		}
	}
	return append(append(all, a...), b...)
}

// ofThisHull is of a place's own readings what they say of the boat that came at a time:
// a surface that was read before was another hull's, or the empty place's.
func ofThisHull(readings []sensors.Reading, came time.Time) []sensors.Reading {
	n := sort.Search(len(readings), func(i int) bool { return !readings[i].At.Before(came) })
	if n == 0 {
		return readings
	}
	all := slices.Clone(readings)
	for i, r := range all[:n] {
		all[i].Values = maps.Clone(r.Values)
		delete(all[i].Values, conditions.Surface)
		delete(all[i].Values, conditions.SurfaceWarmest)
	}
	return all
}
