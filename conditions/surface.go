package conditions

import (
	"math"
	"slices"
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
	w := walk{Stand: s, hull: h, mode: m, at: from, step: step}
	w.prepare()
	start := o.Outdoors[0].At
	each(0, start, from)
	slot := 0
	for i := 1; i < len(o.Outdoors); i++ {
		a, b := &o.Outdoors[i-1], &o.Outdoors[i]
		w.light = s.lightOf(a, b)
		for at := start.Add(time.Duration(slot+1) * step); !at.After(b.At); at = at.Add(step) {
			slot++
			part := float64(at.Sub(a.At)) / float64(b.At.Sub(a.At))
			w.to(at, a, b, &o.Inside[i-1], &o.Inside[i], part)
			each(slot, at, w.shown())
		}
	}
}

// Course is a surface slot by slot: that of a hull's coldest facet, its warmest, and whether
// water stands on any.
type Course struct {
	Coldest, Warmest []unit.Temperature
	Wet              []bool
}

// A skin takes a quarter of an hour and more to follow, so its surface is nearly
// straight over coarseStep; beyond the days that forecasts reach, where the weather
// is a season's, half an hour does.
const (
	coarseStep = 15 * time.Minute
	farStep    = 30 * time.Minute
	nearHours  = 240
)

// Surface is that of a hull which has long stood in a place, for n slots of a step
// from the outlook's start on; beyond the outlook's end it is not known. The
// balance is struck every quarter of an hour for ten days, then every half hour, with
// straight lines between.
func (s Stand) Surface(h Hull, o Outlook, m Mode, step time.Duration, n int) Course {
	f := Course{make([]unit.Temperature, n), make([]unit.Temperature, n), make([]bool, n)}
	nan := unit.NaN[unit.Temperature]()
	for i := range n {
		f.Coldest[i], f.Warmest[i] = nan, nan
	}
	long := max(step, coarseStep/step*step)
	h = s.distinct(h, long)
	at := s.Settled(h, o, m, long)
	from := 0
	follow := func(o Outlook, long time.Duration) {
		coarse := int(long / step)
		s.Walk(h, at, o, m, long, func(i int, _ time.Time, now Skins) {
			if i > 0 || from == 0 {
				f.line(from+i*coarse, coarse, now.Coldest(), now.Warmest(), now.Wet())
			}
		})
	}
	near := min(nearHours+1, len(o.Outdoors))
	follow(Outlook{o.Outdoors[:near], o.Inside[:near]}, long)
	if near < len(o.Outdoors) {
		from = int(nearHours * time.Hour / step)
		follow(Outlook{o.Outdoors[near-1:], o.Inside[near-1:]}, max(long, farStep/step*step))
	}
	return f
}

// distinct are those facets of a hull that can differ here, with skins that take
// the long steps at once: without sun and sky only their tilt tells them apart.
func (s Stand) distinct(h Hull, long time.Duration) Hull {
	coarse := map[*skin.Model]*skin.Model{}
	var all Hull
	for _, f := range h {
		if s.Sun == 0 && slices.ContainsFunc(all, func(o Facet) bool { return o.Skin == coarse[f.Skin] && o.Tilt == f.Tilt }) {
			continue
		}
		if coarse[f.Skin] == nil {
			coarse[f.Skin] = f.Skin.Coarse(long)
		}
		f.Skin = coarse[f.Skin]
		all = append(all, f)
	}
	return all
}

// line draws a surface from the step before up to a slot.
func (f *Course) line(to, coarse int, cold, warm unit.Temperature, wet bool) {
	from := max(0, to-coarse)
	for i := from; i <= to && i < len(f.Wet); i++ {
		if i == from && to > 0 {
			continue
		}
		if i == to {
			f.Coldest[i], f.Warmest[i], f.Wet[i] = cold, warm, wet
			continue
		}
		part := float64(i-from) / float64(coarse)
		f.Coldest[i] = between(f.Coldest[from], cold, part)
		f.Warmest[i] = between(f.Warmest[from], warm, part)
		f.Wet[i] = wet || f.Wet[from]
	}
}

// Settled is a hull that has long stood in a place: as though the outlook's first
// day had gone before, three times, without its rain.
func (s Stand) Settled(h Hull, o Outlook, m Mode, step time.Duration) Skins {
	at := Skins{Cold: make([]skin.State, len(h)), Warm: make([]skin.State, len(h))}
	if len(o.Outdoors) == 0 {
		return at
	}
	for i, f := range h {
		at.Cold[i] = f.Skin.At(o.Inside[0].Air)
		at.Warm[i] = at.Cold[i]
	}
	day := min(len(o.Outdoors), 25)
	first := Outlook{Outdoors: slices.Clone(o.Outdoors[:day]), Inside: o.Inside[:day]}
	for i := range first.Outdoors {
		first.Outdoors[i].Rain = 0 // what falls later has not fallen yet
	}
	for range 3 {
		s.Walk(h, at, first, m, step, func(int, time.Time, Skins) {})
	}
	return at
}

// walk is one Walk under way.
type walk struct {
	Stand
	hull    Hull
	mode    Mode
	step    time.Duration
	at      Skins
	normals []sky.Normal
	light   hourLight
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

// to moves the skins on to a time, part of the way from one hour to the next.
func (w *walk) to(at time.Time, a, b *Weather, in, next *Moment, part float64) {
	e := skin.Exposure{
		Air:      between(in.Air, next.Air, part),
		DewPoint: between(in.DewPoint, next.DewPoint, part),
	}
	e.Inside = e.Air
	if !unit.Known(e.Air) || !unit.Known(e.DewPoint) {
		w.lost = true
		return
	}
	w.find(e.Air)
	var sun sky.Sun
	open := !w.Roofed && !w.OwnAir
	if w.Sun > 0 && (w.light.most > 0 || !w.light.known) {
		sun = sky.SunAt(w.Site, at)
	}
	level := sun.Clear()
	cloud := between(a.Cloud, b.Cloud, part)
	if open {
		e.Rain = max(0, orNone(float64(b.Rain)))
	}
	w.parted = w.parted || !w.light.known && level > 0 && w.Sun > 0 || open && !unit.Known(cloud)
	out := prospect{thin: sun.Light(w.light.least * level), bright: sun.Light(w.light.most * level), worse: math.Min}
	out.Air, out.DewPoint = between(a.Air, b.Air, part), between(a.DewPoint, b.DewPoint, part)
	out.Wind, out.Cloud = between(a.Wind, b.Wind, part), cloud
	out.past = skin.Blow(w.past(out.Wind, w.mode))
	if !unit.Known(cloud) {
		out.Cloud = cloudless
	}
	w.side(w.at.Cold, e, &out)
	if !w.parted {
		copy(w.at.Warm, w.at.Cold)
		return
	}
	if out.worse = math.Max; !unit.Known(cloud) {
		out.Cloud = overcast
	}
	w.side(w.at.Warm, e, &out)
}

// prospect is the weather outdoors in one step, and the light: where it is not
// known that of a covered and of a clear sky, of which each facet takes the worse.
// One in the shade may get more under thin cloud than under none.
type prospect struct {
	Weather
	thin, bright sky.Light
	worse        func(a, b float64) float64
	past         skin.Wind // the air that moves past the hull
}

func (p *prospect) on(n sky.Normal) float64 {
	thin := p.thin.Onto(n, albedo)
	if p.bright == p.thin {
		return thin
	}
	return p.worse(thin, p.bright.Onto(n, albedo))
}

// side moves one of the two sets of states on.
func (w *walk) side(at []skin.State, e skin.Exposure, out *prospect) {
	radiant := sky.Black(e.Air)
	if w.Film {
		radiant = sky.Black(w.FilmAt(out.Weather, e.Air, out.worse(out.thin.Level, out.bright.Level)))
	}
	for i := range at {
		f := &w.hull[i]
		e.Sun = w.Sun * out.on(w.normals[i])
		e.Radiant = radiant
		if !w.Roofed && !w.OwnAir {
			e.Radiant = sky.LongWave(e.Air, e.DewPoint, out.Cloud, f.Tilt)
		}
		e.Convects = out.past.Convects(at[i].Surface().Over(e.Air), f.Tilt)
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

func orNone(v float64) float64 {
	if math.IsNaN(v) {
		return 0
	}
	return v
}
