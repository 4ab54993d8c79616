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
	left  []float64          // of a difference, per slot since
	doubt unit.TempDiff      // of the model, where nothing was measured
	lag   engine.Slot        // in which a hull takes up 63 % of a change
	cured map[pace][]float64 // of a coat on it, by the stretch
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
	if t.setting == nil {
		t.setting = a.stand.Setting(conditions.Outlook{Outdoors: o.outdoors, Inside: t.hours}, t.mode, step)
	}
	whole := t.setting.Surface(facets, n+int(o.past))
	course := conditions.Course{Coldest: whole.Coldest[o.past:], Warmest: whole.Warmest[o.past:], Wet: whole.Wet[o.past:]}
	f := &surface{Course: course, doubt: a.stand.SurfaceError(), lag: o.grid.Steps(lag)}
	for s := 0; s < n; s++ {
		left := conditions.Decay(time.Duration(f.lag)*step, time.Duration(s)*step)
		if left < 1e-4 {
			break
		}
		f.left = append(f.left, left)
	}
	t.surfaces[kind][part] = f
	return f
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
func (l *leg) remains(f *meeting, s engine.Slot) float64 {
	if age := s - l.from; age >= 0 && age < engine.Slot(len(f.left)) {
		return f.left[age]
	}
	return 0
}

// rests is the first slot at which nothing is left of what a part brought to the leg;
// never where that is not known.
func (l *leg) rests(part int) engine.Slot {
	f := &l.parts[part]
	if !unit.Known(f.off) || !unit.Known(f.top) {
		return never
	}
	return l.from + engine.Slot(len(f.left))
}

// on is the surface of a part at the start of a slot. The balance is nearly
// linear, so the difference at the leg's start only fades: the time of the
// question costs nothing.
func (l *leg) on(s engine.Slot, part int) (coldest, warmest unit.Temperature) {
	f := &l.parts[part]
	left := unit.Temperature(l.remains(f, s))
	return f.Coldest[s] + f.off*left, f.Warmest[s] + f.top*left
}

// there is the moment in a leg's air with a part of the hull in it.
func (o *outlook) there(l *leg, s engine.Slot, part int) conditions.Moment {
	var m conditions.Moment
	o.see(&m, l, s, part)
	return m
}

func (o *outlook) see(m *conditions.Moment, l *leg, s engine.Slot, part int) {
	o.airs[l.air].tracks[l.mode].see(m, s)
	f := &l.parts[part]
	left := l.remains(f, s)
	m.Coldest = f.Coldest[s] + f.off*unit.Temperature(left)
	m.Warmest = f.Warmest[s] + f.top*unit.Temperature(left)
	m.Wet = f.Wet[s]
	m.SurfaceError = doubted(f.doubt, f.read*left)
	m.Paint = o.paint
	if o.rates {
		o.change(m, l, s, part)
	}
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
	return o.goOn(append(make(way, 0, len(w)+1), w...), s, airIndex, mode)
}

// goOn is then for a way that nobody else has: it is changed.
func (o *outlook) goOn(w way, s engine.Slot, airIndex, mode int) way {
	for len(w) > 1 && w[len(w)-1].from >= s {
		w = w[:len(w)-1]
	}
	next := o.enter(w, s, airIndex, mode)
	if len(w) == 1 && w[0].from >= s {
		w[0] = next
		return w
	}
	return append(w, next)
}

// enter is the leg that begins at s with the hull as the way brings it there.
func (o *outlook) enter(w way, s engine.Slot, airIndex, mode int) leg {
	before := w.at(s)
	l := leg{from: s, air: airIndex, mode: mode, hull: before.hull}
	for part := range l.parts {
		l.parts[part] = o.met(before, s, airIndex, mode, part)
	}
	return l
}

// meet is the leg that begins at s for one part of the hull alone.
func (o *outlook) meet(w way, s engine.Slot, airIndex, mode, part int) leg {
	before := w.at(s)
	l := leg{from: s, air: airIndex, mode: mode, hull: before.hull}
	l.parts[part] = o.met(before, s, airIndex, mode, part)
	return l
}

// at is the leg that a boat is on when another begins at s.
func (w way) at(s engine.Slot) *leg {
	last := len(w) - 1
	for last > 0 && w[last].from > s {
		last--
	}
	return &w[last]
}

func (o *outlook) met(before *leg, s engine.Slot, airIndex, mode, part int) meeting {
	f := meeting{surface: o.surface(airIndex, mode, before.hull, part)}
	if f.surface == nil {
		return f
	}
	cold, warm := before.on(s, part)
	f.off, f.top = cold-f.Coldest[s], warm-f.Warmest[s]
	f.read = before.parts[part].read * before.remains(&before.parts[part], s)
	return f
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
		left := 0.0
		if age >= 0 && age < engine.Slot(len(f.left)) {
			left = f.left[age]
		}
		f.off = (now.Coldest - f.Coldest[0]) * unit.Temperature(left)
		f.top = (now.Warmest - f.Warmest[0]) * unit.Temperature(left)
		if now.Sure == conditions.Measured {
			f.read = left
		}
	}
	return append(make(way, 0, 8), l) // with room for the legs that follow
}
