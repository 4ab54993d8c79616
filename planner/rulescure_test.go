package planner

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
	"fairwindow/config"
)

// What the rules below let pass: some hundredths of a kelvin by which two ways of
// following one hull in steps of five minutes may differ, up to half a part in a
// hundred of a cure, and a fiftieth of a chance near a limit, where a tenth of a
// kelvin counts. The air is taken from the weather at each step, and from no straight
// line between hours of the place's own air: see knownFault.
const (
	cureSlack   = 0.005
	chanceSlack = 0.02
)

// surroundings are the airs of a yard, and the hulls that have long stood in them.
type surroundings struct {
	from   time.Time
	n      int
	hours  []conditions.Weather
	inside map[string][]conditions.Moment
	steady map[string]steady
}

// steady is the surface of a hull that has long stood in a place.
type steady struct {
	conditions.Course
	lag   time.Duration
	doubt unit.TempDiff
}

func (r *rulebook) around() *surroundings {
	if r.air != nil {
		return r.air
	}
	from := r.p.At.UTC().Truncate(grain)
	a := &surroundings{from: from, n: int(r.p.Horizon/grain) + 1, inside: map[string][]conditions.Moment{}, steady: map[string]steady{}}
	for t := from.Truncate(time.Hour); !t.After(from.Add(r.p.Horizon + time.Hour)); t = t.Add(time.Hour) {
		w := conditions.At(r.p.Outdoors, t)
		if air, dew, _ := conditions.Spread(t.Sub(r.p.At)); w.Sure == conditions.Foretold || w.Sure == conditions.Pencilled {
			if !(w.AirError > 0) {
				w.AirError = air
			}
			if !(w.DewError > 0) {
				w.DewError = dew
			}
		}
		a.hours = append(a.hours, w)
	}
	r.air = a
	return a
}

// moments is the air of a place in a mode at each hour.
func (r *rulebook) moments(place config.Place, mode conditions.Mode) []conditions.Moment {
	a, stand := r.around(), r.yard.Stand(place)
	key := fmt.Sprint(stand, mode)
	if known, ok := a.inside[key]; ok {
		return known
	}
	var all []conditions.Moment
	for _, w := range a.hours {
		all = append(all, stand.Moment(w, mode))
	}
	a.inside[key] = all
	return all
}

func (r *rulebook) long(b config.Boat, part conditions.Part, place config.Place, mode conditions.Mode) steady {
	a, stand := r.around(), r.yard.Stand(place)
	key := fmt.Sprint(stand, mode, part, place.Lag, b.Build, b.Skin, b.Behind, b.Colour)
	if known, ok := a.steady[key]; ok {
		return known
	}
	whole, err := b.Hull()
	if err != nil {
		r.say(Key{Boat: b.Name}, "hull", "%v", err)
	}
	facets := whole.Of(part)
	lag := stand.Lag(facets, mode)
	if place.Lag > 0 {
		facets, lag = stand.WithLag(facets, mode, place.Lag.Std()), place.Lag.Std()
	}
	look := conditions.Outlook{Outdoors: a.hours, Inside: r.moments(place, mode)}
	past := int(a.from.Sub(a.hours[0].At) / grain) // the hours begin before
	all := stand.Surface(facets, look, mode, grain, past+a.n)
	s := steady{conditions.Course{Coldest: all.Coldest[past:], Warmest: all.Warmest[past:], Wet: all.Wet[past:]}, lag, stand.SurfaceError()}
	a.steady[key] = s
	return s
}

// stood is a part of a hull at one step: where, how the air is there, how warm it is.
type stood struct {
	place      config.Place
	mode       conditions.Mode
	cold, warm unit.Temperature
	wet        bool
	doubt      unit.TempDiff
}

// follow is a part of the boat step by step. What it brings from the place or the air
// before fades with the lag of the new one.
func (r *rulebook) follow(b config.Boat, part conditions.Part) []stood {
	a := r.around()
	all := make([]stood, a.n)
	r.standing(b, all)
	var cold, warm unit.Temperature // over the hull that has long stood there
	var now steady
	read := 0.0
	for i := range all {
		s := &all[i]
		if i == 0 || all[i-1].place.Name != s.place.Name || all[i-1].mode != s.mode {
			was := now
			now = r.long(b, part, s.place, s.mode)
			switch {
			case i > 0:
				cold += was.Coldest[i] - now.Coldest[i]
				warm += was.Warmest[i] - now.Warmest[i]
			default:
				cold, warm, read = r.asRead(b, part, s.place, s.mode, now)
			}
		}
		s.cold, s.warm, s.wet = now.Coldest[i]+cold, now.Warmest[i]+warm, now.Wet[i]
		s.doubt = now.doubt * unit.TempDiff(math.Sqrt(1-read*read))
		left := conditions.Decay(now.lag.Round(grain), grain)
		cold, warm, read = cold*unit.Temperature(left), warm*unit.Temperature(left), read*left
	}
	return all
}

// asRead is how far the hull is at the start from one that has long stood where it
// first stands: as it was read, else as in the place that it comes from.
func (r *rulebook) asRead(b config.Boat, part conditions.Part, place config.Place, mode conditions.Mode, now steady) (cold, warm unit.Temperature, read float64) {
	at := r.work.Place(b.Name)
	from, ok := r.yard.Place(at.Place)
	if !ok {
		from = config.Place{Kind: config.Slip} // it comes by water
	}
	if from.Name != place.Name {
		was := r.long(b, part, from, conditions.Idle)
		cold, warm = was.Coldest[0]-now.Coldest[0], was.Warmest[0]-now.Warmest[0]
	}
	for _, h := range r.p.Hulls {
		if h.Boat != b.Name || h.Part != "" && h.Part != part || h.Moment.Sure == conditions.Unknown || !unit.Known(h.Moment.Coldest) {
			continue
		}
		left := conditions.Decay(now.lag, r.around().from.Sub(h.Moment.At))
		cold, warm = (h.Moment.Coldest-now.Coldest[0])*unit.Temperature(left), (h.Moment.Warmest-now.Warmest[0])*unit.Temperature(left)
		if h.Moment.Sure == conditions.Measured {
			read = left
		}
	}
	return cold, warm, read
}

// standing fills in where the boat is at each step and how its booth runs: it sprays
// during a coat, cures from its end until the boat leaves, and idles before.
func (r *rulebook) standing(b config.Boat, all []stood) {
	a := r.around()
	for i := range all {
		all[i].place, all[i].mode = config.Place{Kind: config.Slip}, conditions.Idle
	}
	step := func(t time.Time) int { return min(max(int(t.Sub(a.from)/grain), 0), len(all)) }
	blocks := r.blocks[b.Name]
	for k, x := range blocks {
		place, _ := r.yard.Place(x.Place)
		to := step(x.To)
		if k == len(blocks)-1 {
			to = len(all)
		}
		for i := step(x.From); i < to; i++ {
			all[i].place = place
		}
		if k == 0 && !x.From.After(r.p.At) && place.Booth != nil && place.Name == r.work.Place(b.Name).Place && r.between(b) {
			for i := 0; i < to; i++ {
				all[i].mode = conditions.Curing
			}
		}
	}
	var coats []Planned
	for _, s := range r.plan.Stages {
		if place, _ := r.yard.Place(s.Place); s.Key.Boat == b.Name && s.Kind == config.Coat && s.State != Unplaced && place.Booth != nil {
			coats = append(coats, s)
		}
	}
	slices.SortFunc(coats, func(a, b Planned) int { return a.Start.Compare(b.Start) })
	for _, s := range coats {
		for i := step(s.Start); i < len(all) && all[i].place.Name == s.Place; i++ {
			if all[i].mode = conditions.Curing; i < step(s.End) {
				all[i].mode = conditions.Spraying
			}
		}
	}
}

// between reports whether the boat is between the stages of a block with a coat on,
// or at one of them.
func (r *rulebook) between(b config.Boat) bool {
	for _, a := range b.Areas {
		var last Progress
		coated := false
		for _, s := range r.work.Stages(b.Name, a.Name) {
			if s.Done {
				last, coated = s, coated || s.Stage.Kind == config.Coat
				continue
			}
			if coated && (s.Running || s.Stage.Block != "" && s.Stage.Block == last.Stage.Block) {
				return true
			}
			break
		}
	}
	return false
}

// moment is the air and the hull at one step.
func (r *rulebook) moment(all []stood, i int) conditions.Moment {
	a := r.around()
	t := a.from.Add(time.Duration(i) * grain)
	w := conditions.At(a.hours, t)
	m := r.yard.Stand(all[i].place).Moment(w, all[i].mode)
	m.Coldest, m.Warmest, m.Wet, m.SurfaceError = all[i].cold, all[i].warm, all[i].wet, all[i].doubt
	m.Paint = r.yard.Paint()
	return m
}

// skin is the last coat on an area.
type skin struct {
	key             Key
	card            config.Card
	clock           conditions.Clock
	sanded, revived bool
	ageless         bool
}

// surfaces: each area's coats cure where the boat stands; what waits for a cure
// waits, what must come before a cure does; limits hold.
func (r *rulebook) surfaces(b config.Boat) {
	if len(r.blocks[b.Name]) == 0 {
		return
	}
	hulls := map[conditions.Part][]stood{}
	launch := time.Time{}
	for _, l := range r.plan.Launches {
		if l.Boat == b.Name {
			launch = l.Likely
		}
	}
	for _, a := range b.Areas {
		part := a.Part()
		if hulls[part] == nil {
			hulls[part] = r.follow(b, part)
		}
		r.layers(b, a, hulls[part], launch)
	}
}

// layers walks one area's stages, with the coat beneath them.
func (r *rulebook) layers(b config.Boat, a config.Area, hull []stood, launch time.Time) {
	on := r.coatNow(b, a)
	if on != nil && !on.ageless {
		last, _ := r.work.LastCoat(b.Name, a.Name)
		r.dries(*on, hull, wetAir{key: on.key, place: last.Place, from: last.Ended, clear: last.Ended, fact: true})
	}
	var fresh []Planned // what does not last: wiped, sanded, masked
	move := 1
	blocks := r.blocks[b.Name]
	moves := func(until time.Time) {
		for ; move < len(blocks) && blocks[move].From.Before(until); move++ {
			if x := blocks[move]; x.Place != blocks[move-1].Place && on != nil && !on.ageless {
				r.run(on, x.From, hull)
				r.reached(Key{Boat: b.Name, Area: a.Name}, "moved", on, conditions.Movable, x.From)
			}
		}
	}
	complete := true
	for _, s := range r.stages[Key{Boat: b.Name, Area: a.Name}] {
		if s.State == Unplaced {
			complete = false
			continue
		}
		moves(s.Start)
		if s.State != Running {
			r.begins(s, on, hull)
		}
		if s.Kind == config.Coat {
			for _, w := range fresh {
				if last := w.End.Add(w.Stage.Life.Std()); s.Start.After(last) && s.State != Running {
					r.say(w.Key, "life", "lasts until %v; %s comes at %v", last, s.Key.Stage, s.Start)
				}
			}
			card, _ := r.yard.Card(s.Stage.Card)
			fresh, on = nil, &skin{key: s.Key, card: card, clock: card.Cure.Start(s.End)}
			r.coat(s, *on, hull)
			continue
		}
		if on != nil {
			on.sanded = on.sanded || s.Kind == config.Sand
			on.revived = on.revived || s.Repair && s.Kind == config.Wipe && strings.HasPrefix(s.Key.Stage, "reactivate")
		}
		if s.Kind == config.Hold && s.Stage.Until != "" && on != nil && !on.ageless && s.End.Before(r.plan.Until) {
			r.run(on, s.End, hull)
			r.reached(s.Key, "ends", on, s.Stage.Until, s.End)
		}
		if s.Stage.Life > 0 {
			base := strings.SplitN(s.Key.Stage, " again", 2)[0]
			fresh = slices.DeleteFunc(fresh, func(w Planned) bool { return strings.SplitN(w.Key.Stage, " again", 2)[0] == base })
			fresh = append(fresh, s)
		}
	}
	if !complete || launch.IsZero() {
		return
	}
	moves(launch)
	for _, s := range r.stages[Key{Boat: b.Name, Area: a.Name}] {
		if s.End.After(launch) {
			r.say(s.Key, "launch", "ends %v, after the launch at %v", s.End, launch)
		}
	}
	if on != nil && !on.ageless {
		r.run(on, launch, hull)
		r.reached(Key{Boat: b.Name, Area: a.Name}, "launched", on, conditions.Launch, launch)
	}
}

// coatNow is the last coat that is on an area; one of which no clock is known cured
// on a surface that nobody knows.
func (r *rulebook) coatNow(b config.Boat, a config.Area) *skin {
	last, ok := r.work.LastCoat(b.Name, a.Name)
	if at, _ := r.work.Stage(last.Key); !ok || !at.Done {
		return nil
	}
	card, _ := r.yard.Card(last.Card)
	on := &skin{key: last.Key, card: card, sanded: last.Sanded, ageless: last.Ended.IsZero(), clock: card.Cure.Start(last.Ended)}
	if nan := unit.NaN[unit.Temperature](); !on.ageless {
		on.clock = card.Cure.Run(on.clock, r.around().from, conditions.Exposure{Coldest: nan, Warmest: nan, Humidity: unit.NaN[unit.Humidity]()})
	}
	for _, c := range r.p.Coats {
		if c.Key == last.Key {
			on.clock, on.ageless = c.Clock, false
		}
	}
	for _, s := range r.work.Stages(b.Name, a.Name) {
		on.revived = on.revived || s.Done && s.Repair && s.Stage.Kind == config.Wipe && s.Ended.After(last.Ended)
	}
	return on
}

// run lets a coat cure until a time.
func (r *rulebook) run(on *skin, until time.Time, hull []stood) {
	a := r.around()
	for on.clock.At.Before(until) {
		i := int(on.clock.At.Sub(a.from) / grain)
		if i < 0 || i >= len(hull) {
			return
		}
		next := a.from.Add(time.Duration(i+1) * grain)
		if next.After(until) {
			next = until
		}
		e := conditions.Exposure{Coldest: hull[i].cold, Warmest: hull[i].warm}
		if len(on.card.Cure.Humidity) > 0 {
			m := r.moment(hull, i)
			e = m.Exposure()
		}
		on.clock = on.card.Cure.Run(on.clock, next, e)
	}
}

// instead is the milestone that stands for one of which the card says nothing: the
// next later opening that it has. None is no wait.
func instead(c conditions.Cure, m conditions.Milestone) conditions.Milestone {
	order := []conditions.Milestone{conditions.DustFree, conditions.TouchDry, conditions.Protected, conditions.Taped, conditions.Recoat, conditions.Sandable, conditions.Movable, conditions.Launch}
	from := slices.Index(order, m)
	for i := from; i >= 0 && i < len(order); i++ {
		if len(c.Of(order[i])) > 0 || order[i] == conditions.Recoat && len(c.Bands) > 0 {
			return order[i]
		}
	}
	return ""
}

func (r *rulebook) reached(k Key, does string, on *skin, m conditions.Milestone, at time.Time) {
	if m = instead(on.card.Cure, m); m != "" && on.clock.Slow[m] < 1-cureSlack {
		r.say(k, "cure", "%s %v, when %s is at %.3f of %s", does, at, on.key.Stage, on.clock.Slow[m], m)
	}
}

// begins: the coat beneath is ready for the stage, and may still be coated; the
// stage's own limits hold.
func (r *rulebook) begins(s Planned, on *skin, hull []stood) {
	if on != nil && on.ageless && s.Kind == config.Coat && !on.sanded {
		r.say(s.Key, "recoat", "nobody knows the age of the coat beneath")
	}
	if on != nil && !on.ageless {
		r.run(on, s.Start, hull)
		if need := s.Stage.Needs(); need != "" && s.Kind != config.Hold {
			r.reached(s.Key, "starts", on, need, s.Start)
		}
		last := conditions.LastRecoat
		if on.revived {
			last = conditions.Reactivate
		}
		if s.Kind == config.Coat && !on.sanded && on.clock.Fast[last] > 1+cureSlack {
			r.say(s.Key, "recoat", "starts %v, when %s is at %.3f of %s", s.Start, on.key.Stage, on.clock.Fast[last], last)
		}
	}
	place, ok := r.yard.Place(s.Place)
	if s.State == AtRisk || !ok {
		return
	}
	rules := r.yard.Rules(s.Stage, place)
	for _, part := range r.at(s) {
		r.within(s, part, rules, hull, "")
	}
}

// within: every step of a span keeps to its rules, with the chance that the yard asks
// of a plan, and of what is pencilled.
func (r *rulebook) within(s Planned, part Span, rules conditions.Rules, hull []stood, when string) {
	a := r.around()
	if len(rules) == 0 {
		return
	}
	for t := part.From; t.Before(part.To); t = t.Add(grain) {
		i := int(t.Sub(a.from) / grain)
		if i >= len(hull) {
			return
		}
		m := r.moment(hull, i)
		v := conditions.Judge(m, rules)
		least := float64(r.yard.Confidence.Plan.SI)
		if m.Sure == conditions.Pencilled {
			least = float64(r.yard.Confidence.Pencil.SI)
		}
		if v.Answer == conditions.Undecided || v.Chance < least-chanceSlack {
			r.say(s.Key, "limits", "%s%v: %s with chance %.3f in %s", when, t, v.Answer, v.Chance, s.Place)
			r.found[len(r.found)-1].lacks = least - v.Chance
			return
		}
		if s.Kind == config.Coat && when == "" && m.Wet {
			r.say(s.Key, "limits", "%v: water on the hull", t)
			return
		}
	}
}

// coat: until each milestone of its protection a coat stays within that one's limits,
// and where it is; until it is dust-free its air is wet.
func (r *rulebook) coat(s Planned, on skin, hull []stood) {
	place, ok := r.yard.Place(s.Place)
	if !ok {
		return
	}
	r.dries(on, hull, wetAir{key: s.Key, place: s.Place, from: s.Start, clear: s.End, fact: s.State == Running})
	if s.State == Running {
		return
	}
	var scores []float64
	r.scored(&scores, s.Start, Span{s.Start, s.End}, r.yard.Rules(s.Stage, place), hull)
	for _, p := range r.yard.Protections(on.card, place) {
		m := instead(on.card.Cure, p.Until)
		cures, until := on, s.End
		for m != "" && cures.clock.Slow[m] < 1-cureSlack && until.Before(r.plan.Until) {
			until = until.Add(grain)
			r.run(&cures, until, hull)
		}
		if s.Protected.Before(until.Add(-grain)) {
			r.say(s.Key, "protect", "is said to be protected %v, before it is %s at %v", s.Protected, m, until)
		}
		if s.State != AtRisk {
			r.within(s, Span{s.End, until}, p.Rules, hull, "until "+string(p.Until)+", ")
		}
		r.scored(&scores, s.Start, Span{s.End, until}, p.Rules, hull)
	}
	least, chance := float64(r.yard.Confidence.Plan.SI), r.p.Experience.Spans(grain).Chance(scores)
	if s.State != AtRisk && chance < least-chanceSlack {
		r.say(s.Key, "limits", "all of it, from %v until it is protected, holds with chance %.3f", s.Start, chance)
		r.found[len(r.found)-1].lacks = least - chance
	}
}

// scored adds a stretch to the scores of a coat's whole extent, step by step from its
// start; of two sets of rules the worse. What is pencilled counts by itself only.
func (r *rulebook) scored(scores *[]float64, from time.Time, part Span, rules conditions.Rules, hull []stood) {
	a := r.around()
	for t := part.From; t.Before(part.To); t = t.Add(grain) {
		i, at := int(t.Sub(a.from)/grain), int(t.Sub(from)/grain)
		if i >= len(hull) {
			return
		}
		for len(*scores) <= at {
			*scores = append(*scores, math.Inf(1))
		}
		if m := r.moment(hull, i); len(rules) > 0 && m.Sure != conditions.Pencilled {
			z, _ := conditions.Score(&m, rules)
			(*scores)[at] = min((*scores)[at], z)
		}
	}
}

// dries notes how long a coat's air is wet and its booth not cleared.
func (r *rulebook) dries(on skin, hull []stood, w wetAir) {
	place, _ := r.yard.Place(w.place)
	if w.booths = place.Booth != nil; w.booths {
		w.clear = w.clear.Add(place.Booth.Clearance.Std())
	}
	w.dry = on.clock.At
	if m := instead(on.card.Cure, conditions.DustFree); m != "" {
		for on.clock.Slow[m] < 1-cureSlack && w.dry.Before(r.plan.Until) {
			w.dry = w.dry.Add(grain)
			r.run(&on, w.dry, hull)
		}
	}
	r.wet = append(r.wet, w)
}

// TestWhatStandsForASilentCard: the rulebook reads a card that gives no time to tape as
// one to be taped when it may be overcoated, the next opening it gives; where nothing
// later is given it asks for no wait, which is less than the planner does. Common
// practice, no source.
func TestWhatStandsForASilentCard(t *testing.T) {
	c := conditions.Cure{DustFree: at(1), Recoat: at(6), Sandable: at(14)}
	for asked, want := range map[conditions.Milestone]conditions.Milestone{
		conditions.DustFree: conditions.DustFree, conditions.Taped: conditions.Recoat,
		conditions.Protected: conditions.Recoat, conditions.Movable: "",
	} {
		if got := instead(c, asked); got != want {
			t.Errorf("%s: %s, want %s", asked, got, want)
		}
	}
}
