package planner

import (
	"fmt"
	"math"
	"time"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
	"fairwindow/config"
	"fairwindow/planner/engine"
)

// The parts of a hull, as indices.
var partNames = [...]conditions.Part{conditions.Sides, conditions.House, conditions.Deck}

const parts = len(partNames)

func partOf(a config.Area) int {
	for i, name := range partNames {
		if name == a.Part() {
			return i
		}
	}
	return 0
}

// hull is a boat's skin. Boats that are alike in it have surfaces in common.
type hull struct {
	kind   int                    // index among those that differ
	plain  int                    // the same whatever its colour, which only the sun tells
	facets [parts]conditions.Hull // those that its areas lie on; the others are empty
}

// hull is a boat's, made ready for the outlook.
func (o *outlook) hull(b config.Boat) (*hull, error) {
	whole, err := b.Hull()
	if err != nil {
		return nil, err
	}
	like := fmt.Sprint(b.Build, b.Skin, b.Behind)
	h := &hull{plain: o.kind(like), kind: o.kind(like + b.Colour)}
	for _, a := range b.Areas {
		part := partOf(a)
		h.facets[part] = whole.Of(partNames[part])
	}
	return h, nil
}

func (o *outlook) kind(like string) int {
	if _, known := o.kinds[like]; !known {
		o.kinds[like] = len(o.kinds)
	}
	return o.kinds[like]
}

// surface is that of one part of a hull that has long stood in one track, slot
// by slot, and how a hull that comes from elsewhere takes it on.
type surface struct {
	conditions.Course
	left  []float64     // of a difference, per slot since
	quick []float64     // of one that would be taken for better than it is, per slot since
	doubt unit.TempDiff // of the model, where nothing was measured
	lag   engine.Slot   // in which a hull takes up 63 % of a change
	soon  engine.Slot   // in which its surface gives up as much of its own warmth
}

// surface is worked out once it is asked for: most hulls never stand in most places.
func (o *outlook) surface(airIndex, mode int, h *hull, part int) *surface {
	if len(h.facets[part]) == 0 {
		return nil
	}
	a := o.airs[airIndex]
	t := a.tracks[mode]
	kind := h.kind
	if a.stand.Sun == 0 {
		kind = h.plain
	}
	for len(t.surfaces) <= kind {
		t.surfaces = append(t.surfaces, [parts]*surface{})
	}
	if known := t.surfaces[kind][part]; known != nil {
		return known
	}
	facets := h.facets[part]
	lag := a.stand.Lag(facets, t.mode)
	if a.lag > 0 {
		facets, lag = a.stand.WithLag(facets, t.mode, a.lag), a.lag
	}
	n := int(o.grid.Slots) + 1
	look := conditions.Outlook{Outdoors: o.outdoors, Inside: t.hours}
	f := &surface{Course: a.stand.Surface(facets, look, t.mode, step, n), doubt: a.stand.SurfaceError(), lag: o.grid.Steps(lag)}
	f.soon = o.grid.Steps(min(lag, a.stand.Quick(facets, t.mode)))
	f.left, f.quick = fading(f.lag, n), fading(f.soon, n)
	t.surfaces[kind][part] = f
	return f
}

// fading is what is left of a difference, slot by slot, until nothing of it shows.
func fading(lag engine.Slot, n int) []float64 {
	var left []float64
	for s := range n {
		part := conditions.Decay(time.Duration(lag)*step, time.Duration(s)*step)
		if part < 1e-4 {
			break
		}
		left = append(left, part)
	}
	return left
}

// leg is a stretch of a boat's way: from a slot on, one place's air in one mode,
// until the next leg.
type leg struct {
	from  engine.Slot
	air   int
	mode  int
	hull  *hull
	parts [parts]meeting
}

// meeting is one part of a hull as it comes to a leg: how far its surface then is
// from that of a hull that has long stood there, on the coldest and on the
// warmest facet, and how much of it rests on a reading.
type meeting struct {
	*surface
	off, top unit.Temperature
	read     float64
}

// way is where a boat stands and in which air, in the order of time.
type way []leg

// remains is what is left at a slot of what the hull brought to the leg.
func (l *leg) remains(f *meeting, s engine.Slot) float64 { return leftAt(f.left, s-l.from) }

func leftAt(left []float64, age engine.Slot) float64 {
	if age >= 0 && age < engine.Slot(len(left)) {
		return left[age]
	}
	return 0
}

// carried is what is left of a difference that a hull brought, of its coldest facet:
// a cold one stays cold while what is behind the skin is cold, a warm one is soon
// as cold as the skin alone. Of the warmest facet it is the other way round.
func (l *leg) carried(f *meeting, s engine.Slot) (cold, warm unit.Temperature) {
	return f.off * unit.Temperature(leftAt(f.table(f.off > 0), s-l.from)), f.top * unit.Temperature(leftAt(f.table(f.top < 0), s-l.from))
}

func (f *surface) table(soon bool) []float64 {
	if soon {
		return f.quick
	}
	return f.left
}

// on is the surface of a part at the start of a slot. The balance is nearly
// linear, so the difference at the leg's start only fades: the time of the
// question costs nothing.
func (l *leg) on(s engine.Slot, part int) (coldest, warmest unit.Temperature) {
	f := &l.parts[part]
	cold, warm := l.carried(f, s)
	return f.Coldest[s] + cold, f.Warmest[s] + warm
}

// there is the moment in a leg's air with a part of the hull in it.
func (o *outlook) there(l *leg, s engine.Slot, part int) conditions.Moment {
	m := o.airs[l.air].tracks[l.mode].moment(s)
	f := &l.parts[part]
	left := l.remains(f, s)
	cold, warm := l.carried(f, s)
	m.Coldest, m.Warmest = f.Coldest[s]+cold, f.Warmest[s]+warm
	m.Wet = f.Wet[s]
	m.SurfaceError = doubted(f.doubt, f.read*left)
	m.Paint = o.paint
	if o.rates {
		o.change(&m, l, s, part)
	}
	return m
}

// change is how fast the surface and its margin change over the hour that begins
// at a slot, as long as the hull stays where it is.
func (o *outlook) change(m *conditions.Moment, l *leg, s engine.Slot, part int) {
	to := min(s+perHour, o.grid.Slots-1)
	if to <= s {
		return
	}
	hours := unit.Rate(to-s) / unit.Rate(perHour)
	cold, _ := l.on(to, part)
	dew := o.airs[l.air].tracks[l.mode].moment(to).DewPoint
	m.Rate = unit.Some(unit.Rate(cold-m.Coldest) / hours)
	m.MarginRate = unit.Some(unit.Rate((cold-dew)-(m.Coldest-m.DewPoint)) / hours)
}

// doubted is the model's own error, less what a reading tells.
func doubted(model unit.TempDiff, read float64) unit.TempDiff {
	return model * unit.TempDiff(math.Sqrt(1-read*read))
}

// leg is one that begins at a slot with a hull that has long stood there.
func (o *outlook) leg(h *hull, from engine.Slot, airIndex, mode int) leg {
	l := leg{from: from, air: airIndex, mode: mode, hull: h}
	for part := range l.parts {
		l.parts[part].surface = o.surface(airIndex, mode, h, part)
	}
	return l
}

// then is the way with another leg from s on, and nothing after it.
func (o *outlook) then(w way, s engine.Slot, airIndex, mode int) way {
	for len(w) > 1 && w[len(w)-1].from >= s {
		w = w[:len(w)-1]
	}
	next := o.enter(w, s, airIndex, mode)
	if len(w) == 1 && w[0].from >= s {
		return way{next}
	}
	return append(w[:len(w):len(w)], next)
}

// enter is the leg that begins at s with the hull as the way brings it there.
func (o *outlook) enter(w way, s engine.Slot, airIndex, mode int) leg {
	last := len(w) - 1
	for last > 0 && w[last].from > s {
		last--
	}
	before := &w[last]
	l := o.leg(before.hull, s, airIndex, mode)
	for part := range l.parts {
		f := &l.parts[part]
		if f.surface == nil {
			continue
		}
		cold, warm := before.on(s, part)
		f.off, f.top = cold-f.Coldest[s], warm-f.Warmest[s]
		f.read = before.parts[part].read * before.remains(&before.parts[part], s)
	}
	return l
}

// over puts the surface into its part, or into all.
func (n *HullNow) over(all *[parts]*conditions.Moment) {
	if n.Moment.Sure == conditions.Unknown || !unit.Known(n.Moment.Coldest) || !unit.Known(n.Moment.Warmest) {
		return
	}
	for i, name := range partNames {
		if n.Part == "" || n.Part == name {
			all[i] = &n.Moment
		}
	}
}

// begin is the way of a boat from the grid's start, with its hull as last known.
func (o *outlook) begin(h *hull, airIndex, mode int, surface [parts]*conditions.Moment) way {
	l := o.leg(h, 0, airIndex, mode)
	for part := range l.parts {
		f, now := &l.parts[part], surface[part]
		if f.surface == nil || now == nil {
			continue
		}
		age := o.grid.Steps(o.grid.Origin.Sub(now.At))
		f.off, f.top = now.Coldest-f.Coldest[0], now.Warmest-f.Warmest[0]
		f.off *= unit.Temperature(leftAt(f.table(f.off > 0), age))
		f.top *= unit.Temperature(leftAt(f.table(f.top < 0), age))
		if now.Sure == conditions.Measured {
			f.read = leftAt(f.left, age)
		}
	}
	return way{l}
}
