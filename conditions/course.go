package conditions

import (
	"slices"
	"time"

	"fairwindow/conditions/skin"
	"fairwindow/conditions/unit"
)

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

// Setting is a place in one mode and the weather to come, worked out step by step for
// all hulls that may stand in it.
type Setting struct {
	Stand
	mode      Mode
	step      time.Duration
	long, far time.Duration
	days      [2][]climate // the near ones by long steps, the later by far ones
	air       unit.Temperature
}

// Setting is the place with an outlook in a mode, for surfaces at a step. The
// balance is struck every quarter of an hour for ten days, then every half hour.
func (s Stand) Setting(o Outlook, m Mode, step time.Duration) *Setting {
	p := &Setting{Stand: s, mode: m, step: step, air: unit.NaN[unit.Temperature]()}
	p.long = max(step, coarseStep/step*step)
	p.far = max(p.long, farStep/step*step)
	if len(o.Outdoors) < 2 {
		return p
	}
	p.air = o.Inside[0].Air
	keep := func(all *[]climate, o Outlook, step time.Duration) {
		hours := o.Outdoors[len(o.Outdoors)-1].At.Sub(o.Outdoors[0].At)
		*all = make([]climate, 0, hours/step+1)
		s.steps(o, m, step, func(_ int, c *climate) { *all = append(*all, *c) })
	}
	near := min(nearHours+1, len(o.Outdoors))
	keep(&p.days[0], Outlook{o.Outdoors[:near], o.Inside[:near]}, p.long)
	if near < len(o.Outdoors) {
		keep(&p.days[1], Outlook{o.Outdoors[near-1:], o.Inside[near-1:]}, p.far)
	}
	return p
}

// Surface is that of a hull which has long stood in a place, for n slots of a step
// from the outlook's start on; beyond the outlook's end it is not known. The
// balance is struck as Setting says, with straight lines between.
func (s Stand) Surface(h Hull, o Outlook, m Mode, step time.Duration, n int) Course {
	return s.Setting(o, m, step).Surface(h, n)
}

// Surface is that of a hull which has long stood there, for n slots from the outlook's
// start on, with straight lines between the balances; beyond the outlook's end it is not known.
func (p *Setting) Surface(h Hull, n int) Course {
	f := Course{make([]unit.Temperature, n), make([]unit.Temperature, n), make([]bool, n)}
	nan := unit.NaN[unit.Temperature]()
	for i := range n {
		f.Coldest[i], f.Warmest[i] = nan, nan
	}
	if len(p.days[0]) == 0 {
		return f
	}
	h = p.distinct(h, p.long)
	at := p.settled(h)
	f.line(0, 1, at.Coldest(), at.Warmest(), at.Wet())
	from := 0
	for i, long := range [...]time.Duration{p.long, p.far} {
		coarse := int(long / p.step)
		w := p.walk(h, at, p.mode, long)
		for k := range p.days[i] {
			w.to(&p.days[i][k])
			now := w.shown()
			f.line(from+(k+1)*coarse, coarse, now.Coldest(), now.Warmest(), now.Wet())
		}
		from += len(p.days[i]) * coarse
	}
	return f
}

// settled is the hull as Settled has it, by steps that are known already.
func (p *Setting) settled(h Hull) Skins {
	first := p.days[0][:min(len(p.days[0]), int(aDay/p.long))]
	return p.settle(h, p.air, p.mode, p.long, first)
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

const aDay = 24 * time.Hour

// Settled is a hull that has long stood in a place: as though the outlook's first
// day had gone before, three times, without its rain.
func (s Stand) Settled(h Hull, o Outlook, m Mode, step time.Duration) Skins {
	if len(o.Outdoors) == 0 {
		return Skins{Cold: make([]skin.State, len(h)), Warm: make([]skin.State, len(h))}
	}
	day := min(len(o.Outdoors), int(aDay/time.Hour)+1)
	var first []climate
	s.steps(Outlook{o.Outdoors[:day], o.Inside[:day]}, m, step, func(_ int, c *climate) { first = append(first, *c) })
	return s.settle(h, o.Inside[0].Air, m, step, first)
}

func (s Stand) settle(h Hull, air unit.Temperature, m Mode, step time.Duration, first []climate) Skins {
	at := Skins{Cold: make([]skin.State, len(h)), Warm: make([]skin.State, len(h))}
	for i, f := range h {
		at.Cold[i] = f.Skin.At(air)
		at.Warm[i] = at.Cold[i]
	}
	for range 3 {
		w := s.walk(h, at, m, step)
		for _, c := range first {
			c.air.Rain = 0 // what falls later has not fallen yet
			w.to(&c)
		}
	}
	return at
}
