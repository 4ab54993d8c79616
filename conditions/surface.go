package conditions

import (
	"math"
	"time"

	"fairwindow/conditions/skin"
	"fairwindow/conditions/sky"
	"fairwindow/conditions/unit"
)

// Skins are a hull's facets at one time. Cold and Warm are the same but where
// cloud and sun are unknown: then Cold is under a clear night and an overcast
// day and Warm under the other, for each limit takes the worse.
type Skins struct {
	Cold, Warm []skin.State
}

// Coldest is the coldest facet's surface; NaN if one is not known.
func (s Skins) Coldest() unit.Temperature {
	coldest := unit.Temperature(math.Inf(1))
	for i := range s.Cold {
		coldest = min(coldest, s.Cold[i].Surface())
	}
	return coldest
}

// Warmest is the warmest facet's surface; NaN if one is not known.
func (s Skins) Warmest() unit.Temperature {
	warmest := unit.Temperature(math.Inf(-1))
	for i := range s.Warm {
		warmest = max(warmest, s.Warm[i].Surface())
	}
	return warmest
}

// Wet reports water on any facet.
func (s Skins) Wet() bool {
	for i := range s.Cold {
		if s.Cold[i].Wet() || s.Warm[i].Wet() {
			return true
		}
	}
	return false
}

// Outlook is a place's weather outdoors and its air inside at the same whole
// hours, in the order of time without gaps.
type Outlook struct {
	Outdoors []Weather
	Inside   []Moment
}

// Walk follows a hull through the hours of an outlook in one mode, from the state
// it has at their start, and calls each with every step's slot, time and skins,
// the first at the first hour. It changes the states given; each must copy what
// it keeps. While air or dew point are unknown the skins are NaN, and they stay so
// until what was before no longer shows.
func (s Stand) Walk(h Hull, from Skins, o Outlook, m Mode, step time.Duration, each func(slot int, at time.Time, now Skins)) {
	if len(o.Outdoors) < 2 || step <= 0 {
		return
	}
	w := s.walk(h, from, m, step)
	each(0, o.Outdoors[0].At, from)
	s.steps(o, m, step, func(slot int, c *climate) {
		w.to(c)
		each(slot, c.at, w.shown())
	})
}

// walk begins a Walk.
func (s Stand) walk(h Hull, from Skins, m Mode, step time.Duration) *walk {
	w := &walk{Stand: s, hull: h, mode: m, at: from, step: step}
	w.prepare()
	return w
}

// walk is one Walk under way.
type walk struct {
	Stand
	hull    Hull
	mode    Mode
	step    time.Duration
	at      Skins
	normals []sky.Normal
	parted  bool // Cold and Warm have had different weather
	// After a gap the hull starts from the air's temperature and is not shown until
	// that no longer shows.
	lost   bool
	dark   time.Duration
	hidden Skins
}

func (w *walk) prepare() {
	w.normals = make([]sky.Normal, len(w.hull))
	for i, f := range w.hull {
		w.normals[i] = sky.Facet{Tilt: f.Tilt, Facing: w.Heading + f.Turn}.Normal()
		w.parted = w.parted || w.at.Cold[i] != w.at.Warm[i]
		w.hidden.Cold = append(w.hidden.Cold, f.Skin.At(unit.NaN[unit.Temperature]()))
	}
	w.hidden.Warm = w.hidden.Cold
}

// shown is what is known of the hull.
func (w *walk) shown() Skins {
	if w.lost || w.dark > 0 {
		return w.hidden
	}
	return w.at
}

// to moves the skins on by a step.
func (w *walk) to(c *climate) {
	if !c.known {
		w.lost = true
		return
	}
	w.find(c.air.Air)
	w.parted = w.parted || c.parted
	w.side(w.at.Cold, c, math.Min, c.clear)
	if !w.parted {
		copy(w.at.Warm, w.at.Cold)
		return
	}
	w.side(w.at.Warm, c, math.Max, c.covered)
}

// side moves one of the two sets of states on, to which of two lights the worse counts.
func (w *walk) side(at []skin.State, c *climate, worse func(a, b float64) float64, cloud unit.Share) {
	e := c.air
	radiant := sky.Black(e.Air)
	if w.Film {
		out := c.out
		out.Cloud = cloud
		radiant = sky.Black(w.filmAt(out, e.Air, worse(c.thin.Level, c.bright.Level)))
	}
	open := !w.Roofed && !w.OwnAir
	e.Radiant = radiant
	for i := range at {
		f := &w.hull[i]
		e.Sun = w.Sun * c.on(w.normals[i], worse)
		if open && (i == 0 || f.Tilt != w.hull[i-1].Tilt) {
			e.Radiant = sky.LongWave(e.Air, e.DewPoint, cloud, f.Tilt)
		}
		e.Convects = c.past.Convects(at[i].Surface().Over(e.Air), f.Tilt)
		f.Skin.Step(&at[i], &e, w.step)
	}
}

// forgets is the number of lags after which a start no longer shows: 5 % of it is left.
const forgets = 3

// find starts the hull anew after a gap.
func (w *walk) find(air unit.Temperature) {
	w.dark = max(0, w.dark-w.step)
	for i, f := range w.hull {
		if w.lost || !unit.Known(w.at.Cold[i].Surface()) {
			w.at.Cold[i] = f.Skin.At(air)
			w.at.Warm[i] = w.at.Cold[i]
			w.lost, w.dark = true, forgets*w.Lag(w.hull, w.mode)
		}
	}
	w.lost = false
}
