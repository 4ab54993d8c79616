package main

import (
	"math"
	"slices"
	"time"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
	"fairwindow/daemon/chart"
)

// hullStep is that of the balance: a thin hull that comes into a booth dries within
// half an hour.
const hullStep = 5 * time.Minute

// hullRun is a hull followed through hours of weather, step by step.
type hullRun struct {
	hull  conditions.Hull
	known knownSky
	from  *unit.Temperature
	slots []hullSlot
}

// hullSlot is the air and each facet at one time.
type hullSlot struct {
	at         time.Time
	air, dew   unit.Temperature
	cold, warm []unit.Temperature
	wet        []bool
}

// margin is the coldest facet's over the dew point.
func (s hullSlot) margin() unit.TempDiff { return s.coldest().Over(s.dew) }

func (s hullSlot) coldest() unit.Temperature { return slices.Min(s.cold) }
func (s hullSlot) anyWet() bool              { return slices.Contains(s.wet, true) }

// known reports whether every facet is.
func (s hullSlot) known() bool { return unit.Known(s.coldest()) && unit.Known(s.dew) }

// follow walks a hull through the weather: from a temperature, or as one that has
// long stood there.
func follow(stand conditions.Stand, hull conditions.Hull, known knownSky, mode conditions.Mode, from *unit.Temperature) hullRun {
	look := conditions.Outlook{Outdoors: known.hours}
	for _, w := range known.hours {
		look.Inside = append(look.Inside, stand.Moment(w, mode))
	}
	var skins conditions.Skins
	if from == nil {
		skins = stand.Settled(hull, look, mode, 3*hullStep)
	} else {
		for _, f := range hull {
			skins.Cold, skins.Warm = append(skins.Cold, f.Skin.At(*from)), append(skins.Warm, f.Skin.At(*from))
		}
	}
	run := hullRun{hull: hull, known: known, from: from}
	start := look.Outdoors[0].At
	stand.Walk(hull, skins, look, mode, hullStep, func(_ int, at time.Time, now conditions.Skins) {
		if at.Before(known.from) || at.After(known.to) {
			return
		}
		i := min(int(at.Sub(start)/time.Hour), len(look.Inside)-2)
		part := float64(at.Sub(look.Inside[i].At)) / float64(time.Hour)
		a, b := look.Inside[i], look.Inside[i+1]
		s := hullSlot{at: at, air: toward(a.Air, b.Air, part), dew: toward(a.DewPoint, b.DewPoint, part)}
		for k := range now.Cold {
			s.cold = append(s.cold, now.Cold[k].Surface())
			s.warm = append(s.warm, now.Warm[k].Surface())
			s.wet = append(s.wet, unit.Known(s.cold[k]) && (now.Cold[k].Wet() || now.Warm[k].Wet()))
		}
		run.slots = append(run.slots, s)
	})
	return run
}

// toward is straight between two temperatures; at an end it is that end, even
// where the other is not known.
func toward(a, b unit.Temperature, part float64) unit.Temperature {
	switch {
	case part <= 0:
		return a
	case part >= 1:
		return b
	}
	return a + unit.Temperature(part)*(b-a)
}

// span is a half-open stretch of time with the facets it is about.
type span struct {
	From   time.Time `json:"from"`
	To     time.Time `json:"to"`
	Facets []string  `json:"facets,omitempty"`
}

// spans are the stretches in which something is so.
func (r hullRun) spans(is func(hullSlot) bool) []span {
	on := make([]bool, len(r.slots))
	for i, s := range r.slots {
		on[i] = is(s)
	}
	all := []span{}
	for _, run := range conditions.Runs(on) {
		to := r.known.to
		if run[1] < len(r.slots) {
			to = r.slots[run[1]].at
		}
		if at := r.slots[run[0]].at; at.Before(to) {
			all = append(all, span{From: at, To: to})
		}
	}
	return all
}

// wetSpans are the stretches in which any facet is wet, and which are.
func (r hullRun) wetSpans() []span {
	all := r.spans(hullSlot.anyWet)
	for i := range all {
		for k, f := range r.hull {
			if slices.ContainsFunc(r.slots, func(s hullSlot) bool {
				return !s.at.Before(all[i].From) && s.at.Before(all[i].To) && s.wet[k]
			}) {
				all[i].Facets = append(all[i].Facets, f.Name)
			}
		}
	}
	return all
}

// spot is one facet at one time.
type spot struct {
	Facet   string           `json:"facet"`
	At      time.Time        `json:"at"`
	Surface unit.Temperature `json:"surface"`
	OverAir unit.TempDiff    `json:"over_air_K"`
}

// extremes are the coldest and the warmest spot; nil if nothing is known.
func (r hullRun) extremes() (coldest, warmest *spot) {
	for _, s := range r.slots {
		for k, f := range r.hull {
			if c := s.cold[k]; unit.Known(c) && (coldest == nil || c < coldest.Surface) {
				coldest = &spot{f.Name, s.at, c, c.Over(s.air)}
			}
			if w := s.warm[k]; unit.Known(w) && (warmest == nil || w > warmest.Surface) {
				warmest = &spot{f.Name, s.at, w, w.Over(s.air)}
			}
		}
	}
	return coldest, warmest
}

// broughtIn is how a hull that came in at another temperature warms. A time that
// does not come within the hours followed is nil.
type broughtIn struct {
	From    unit.Temperature `json:"from"`
	At      time.Time        `json:"at"`
	Slowest string           `json:"slowest"`                // the facet that holds it up
	Sweats  *time.Time       `json:"sweats_until,omitempty"` // nothing condenses any more
	Wet     bool             `json:"wet"`                    // it ever was
	Dry     *time.Time       `json:"dry_at,omitempty"`
	Holds   *time.Time       `json:"holds_at,omitempty"` // the margin, from then on for a while
}

func (r hullRun) arrival(rule conditions.Bound) *broughtIn {
	if r.from == nil || len(r.slots) == 0 {
		return nil
	}
	first := func(is func(hullSlot) bool) *time.Time {
		if i := slices.IndexFunc(r.slots, is); i >= 0 {
			return &r.slots[i].at
		}
		return nil
	}
	b := &broughtIn{From: *r.from, At: r.known.from}
	b.Sweats = first(func(s hullSlot) bool { return s.margin() >= 0 })
	b.Holds = first(func(s hullSlot) bool { return holds(s, rule) })
	if wet := r.wetSpans(); len(wet) > 0 {
		b.Wet = true
		if wet[0].To.Before(r.known.to) {
			b.Dry = &wet[0].To
		}
	}
	at := len(r.slots) - 1
	if b.Holds != nil {
		at = max(0, slices.IndexFunc(r.slots, func(s hullSlot) bool { return s.at.Equal(*b.Holds) })-1)
	}
	b.Slowest = r.hull[slices.Index(r.slots[at].cold, r.slots[at].coldest())].Name
	return b
}

// holds reports whether the coldest facet keeps a margin, to the rounding of sums.
func holds(s hullSlot, rule conditions.Bound) bool {
	return float64(s.margin()) >= rule.At-1e-9
}

// letters name the facets in the table and in the chart.
var letters = map[string]rune{
	"port topside": 'P', "starboard topside": 'S', "transom": 'T', "house, port side": 'p', "house, starboard side": 's', "deck": 'D',
}

// chart draws the facets over air and dew point.
func (r hullRun) chart(units string) chart.Chart {
	inUnits := func(t unit.Temperature) float64 { return unit.In(t, temperatureUnit(units)) }
	c := chart.Chart{
		Title: "Hull, air and dew point", Unit: "°" + temperatureUnit(units),
		From: r.known.from, To: r.known.to, Zone: r.known.zone, Least: 5,
	}
	thin := min(max(1, len(r.slots)/2000), int(time.Hour/hullStep)) // no farther apart than the file's hours
	line := func(letter rune, name string, of func(hullSlot) unit.Temperature) chart.Line {
		l := chart.Line{Letter: letter, Name: name}
		for i := 0; i < len(r.slots); i += thin {
			l.Points = append(l.Points, chart.Point{At: r.slots[i].at, Value: inUnits(of(r.slots[i]))})
		}
		return l
	}
	for k, f := range r.hull {
		if r.same(k) >= 0 {
			continue
		}
		c.Lines = append(c.Lines, line(letters[f.Name], f.Name, func(s hullSlot) unit.Temperature { return s.cold[k] }))
		if r.parted(k) {
			twin := line(letters[f.Name], f.Name, func(s hullSlot) unit.Temperature { return s.warm[k] })
			twin.Twin = true
			c.Lines = append(c.Lines, twin)
		}
	}
	air := line('.', "air", func(s hullSlot) unit.Temperature { return s.air })
	dew := line('~', "dew point", func(s hullSlot) unit.Temperature { return s.dew })
	air.Behind, dew.Behind = true, true
	c.Lines = append(c.Lines, air, dew)
	wet := chart.Strip{Letter: 'w', Name: "wet"}
	for _, s := range r.spans(hullSlot.anyWet) {
		wet.Spans = append(wet.Spans, [2]time.Time{s.From, s.To})
	}
	c.Strips = []chart.Strip{wet}
	return c
}

// same is an earlier facet that has the same surface all the time, as the house has
// of a topside of the same skin; -1 if there is none.
func (r hullRun) same(k int) int {
	for j := range k {
		if !slices.ContainsFunc(r.slots, func(s hullSlot) bool {
			return differ(s.cold[k], s.cold[j]) || differ(s.warm[k], s.warm[j]) || s.wet[k] != s.wet[j]
		}) {
			return j
		}
	}
	return -1
}

// parted reports whether a facet's coldest and warmest differ by what is printed.
func (r hullRun) parted(k int) bool {
	return slices.ContainsFunc(r.slots, func(s hullSlot) bool { return math.Abs(float64(s.warm[k]-s.cold[k])) >= 0.05 })
}

func temperatureUnit(units string) string {
	if units == "US" {
		return "F"
	}
	return "C"
}

// differ takes two unknown temperatures for the same.
func differ(a, b unit.Temperature) bool {
	return a != b && (unit.Known(a) || unit.Known(b))
}
