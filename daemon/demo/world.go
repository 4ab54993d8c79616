package demo

import (
	"math"
	"time"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
	"fairwindow/config"
)

// world is the truth at one time: the weather, the air of every place, every
// boat in the yard and every coat that is still wet.
type world struct {
	site  Site
	sky   []Hour
	now   time.Time
	out   Hour
	airs  map[string]*air
	names []string // of the places, in the yard's order
	boats map[string]*berth
	order []string // of the boats, as they came
	coats []*coat
}

// berth is a boat in the yard.
type berth struct {
	boat  config.Boat
	hull  *hull
	place string
}

// coat is one pass on an area, watched until it needs no protection.
type coat struct {
	boat, area string
	card       config.Card
	ended      time.Time // zero while it is sprayed
	protected  float64   // progress towards the card's ProtectUntil
}

func newWorld(seed uint64, yard config.Yard, sky []Hour, at time.Time) *world {
	w := &world{
		site: Site{yard.Latitude, yard.Longitude}, sky: sky, now: at, out: outdoors(sky, at),
		airs: map[string]*air{}, boats: map[string]*berth{},
	}
	for _, p := range yard.Places {
		w.airs[p.Name] = newAir(seed, p, w.out)
		w.names = append(w.names, p.Name)
	}
	return w
}

// arrive puts a boat that comes from outdoors into a place.
func (w *world) arrive(seed uint64, boat config.Boat, place string) {
	w.boats[boat.Name] = &berth{boat: boat, hull: newHull(seed, boat, w.out.Air), place: place}
	w.order = append(w.order, boat.Name)
}

// leave takes a boat out of the yard.
func (w *world) leave(boat string) { delete(w.boats, boat) }

// in lists the boats in a place.
func (w *world) in(place string) []string {
	var names []string
	for _, name := range w.order {
		if b := w.boats[name]; b != nil && b.place == place {
			names = append(names, name)
		}
	}
	return names
}

// mode is what a booth's plant does: it sprays while a pass is laid, and cures
// while a coat in it wants protection.
func (w *world) mode(place string) running {
	mode := idle
	for _, c := range w.coats {
		b := w.boats[c.boat]
		switch {
		case b == nil || b.place != place:
		case c.ended.IsZero():
			return spraying
		case c.protected < 1:
			mode = curing
		}
	}
	return mode
}

// advance moves the truth on to a time, in one step.
func (w *world) advance(to time.Time) {
	dt := to.Sub(w.now)
	if dt <= 0 {
		return
	}
	w.now, w.out = to, outdoors(w.sky, to)
	modes := map[string]running{}
	for _, name := range w.names {
		modes[name] = w.mode(name)
		w.airs[name].step(w.out, modes[name], len(w.in(name)) > 0, dt)
	}
	w.share(dt)
	for _, name := range w.order {
		if b := w.boats[name]; b != nil && w.airs[b.place] != nil {
			b.hull.step(w.site, w.airs[b.place], modes[b.place], w.out, dt.Seconds())
		}
	}
	for _, c := range w.coats {
		if b := w.boats[c.boat]; b != nil && !c.ended.IsZero() {
			c.protected += progress(c.card.Cure.Of(c.card.ProtectUntil), b.hull.coldest(), dt)
		}
	}
}

// share mixes places with one air, three times an hour.
func (w *world) share(dt time.Duration) {
	groups := map[string][]*air{}
	for _, name := range w.names {
		if a := w.airs[name]; a.place.Air != "" {
			groups[a.place.Air] = append(groups[a.place.Air], a)
		}
	}
	part := 1 - math.Exp(-3*dt.Hours())
	for _, g := range groups { // groups do not touch each other: their order is nothing
		var temp, water float64
		for _, a := range g {
			temp, water = temp+a.temp/float64(len(g)), water+a.water/float64(len(g))
		}
		for _, a := range g {
			a.temp, a.water = a.temp+(temp-a.temp)*part, a.water+(water-a.water)*part
		}
	}
}

// begin puts a wet coat on a boat.
func (w *world) begin(boat, area string, card config.Card) *coat {
	c := &coat{boat: boat, area: area, card: card}
	w.coats = append(w.coats, c)
	return c
}

// moment is the truth about a boat: its air and its surface.
func (w *world) moment(boat string) (conditions.Moment, bool) {
	b := w.boats[boat]
	if b == nil || w.airs[b.place] == nil {
		return conditions.Moment{}, false
	}
	a := w.airs[b.place]
	m := conditions.Moment{
		At: w.now, Air: unit.Temperature(a.temp), DewPoint: unit.Temperature(a.dew()),
		Coldest: unit.Temperature(b.hull.coldest()), Warmest: unit.Temperature(b.hull.warmest()),
		Wind: unit.Speed(w.out.Wind * a.shelter), Gust: unit.Speed(w.out.Gust * a.shelter), Sure: conditions.Measured,
	}
	if a.open() {
		m.Rain = unit.RainRate(w.out.Rain)
	}
	return m, true
}

// seen is what an instrument at a place or on a boat can measure.
func (w *world) seen(s config.Sensor) measured {
	n := math.NaN()
	m := measured{air: w.out.Air, dew: w.out.DewPoint, surface: n, wind: w.out.Wind, gust: w.out.Gust,
		rain: w.out.Rain, cloud: w.out.Cloud, shortwave: w.out.Shortwave, fan: n}
	place, boat := s.Place, s.Boat
	if boat == "" && place != config.Outdoors {
		if boats := w.in(place); len(boats) > 0 {
			boat = boats[0]
		}
	}
	if b := w.boats[boat]; b != nil {
		place, m.surface = b.place, b.hull.coldest()
	}
	a := w.airs[place]
	if a == nil {
		if s.Place == config.Outdoors {
			m.said = w.out.Said
		}
		return m
	}
	m.air, m.dew, m.wind, m.gust = a.temp, a.dew(), w.out.Wind*a.shelter, w.out.Gust*a.shelter
	if !a.open() {
		m.rain, m.shortwave = 0, 0
	}
	if math.IsNaN(m.surface) {
		m.surface = a.temp // the probe hangs in the air of an empty place
	}
	m.fan = 0
	if w.mode(place) != idle {
		m.fan = 1
	}
	return m
}
