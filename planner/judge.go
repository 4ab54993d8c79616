package planner

import (
	"fmt"
	"math"
	"slices"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
	"fairwindow/config"
	"fairwindow/planner/engine"
)

// outcome is what the conditions say of one start.
type outcome struct {
	ok       bool
	z        float64     // of the whole span; of a failed one, of its worst slot
	dustFree engine.Slot // of a coat
	protect  engine.Slot // the end of a coat's protected time
	// Where it failed, and by which rules.
	at     engine.Slot
	wet    bool               // after the last drop, before protection
	moment *conditions.Moment // nil if nothing is known of it
	rules  conditions.Rules
	coats  bool // a coat's whole span is judged, from its first drop
	from   engine.Slot
	// unsure is a span whose every slot has chance enough, but not all of them together.
	unsure bool
}

// dry is the rule that water may not stand on what is worked at.
var dry = conditions.Rules{{Of: conditions.OfMargin, Least: true, At: 0, Written: "0 K", Owner: "a dry surface"}}

// rulesOf are a stage's rules in a place: one set for all stages that have it.
func (m *model) rulesOf(j *job, place int) *conditions.Rules {
	if j.rules == nil {
		j.rules = make([]*conditions.Rules, len(m.places))
	}
	if j.rules[place] == nil {
		key := ruling{kind: j.stage.Kind, name: j.stage.Name, card: j.stage.Card, limits: j.stage.Limits, place: place}
		if m.rules[key] == nil {
			rules := m.yard.Rules(j.stage, m.places[place].Place)
			m.rules[key] = &rules
		}
		j.rules[place] = m.rules[key]
	}
	return j.rules[place]
}

// protections are what a coat of the card must be kept within after its last drop.
func (m *model) protections(c *card, place int) []config.Protection {
	if c.protect == nil {
		c.protect = make([][]config.Protection, len(m.places))
		for i := range m.places {
			c.protect[i] = m.yard.Protections(c.Card, m.places[i].Place)
		}
	}
	return c.protect[place]
}

// enough is the least z of a slot: that of a firm stage within the forecast, of
// a pencilled one beyond.
func (m *model) enough(s conditions.Sureness) float64 {
	if s == conditions.Pencilled {
		return m.pencil
	}
	return m.firm
}

// judging is the outcome of a coat that starts at t, as nothing is judged yet.
func judging(t engine.Slot) outcome {
	return outcome{z: math.Inf(1), coats: true, from: t}
}

func (o outcome) failed(at engine.Slot) outcome {
	o.at = at
	return o
}

// judge looks at a coat slot by slot, from the leg on which it is sprayed, and then along
// the way that is given, else in the place as it cures.
func (m *model) judge(j *job, place int, wet *leg, cure way) outcome {
	out, end := judging(wet.from), wet.from+j.slots
	m.scores = m.scores[:0]
	rules := *m.rulesOf(j, place)
	for s := out.from; s < end; s++ {
		if wet.parts[j.part].Wet[s] {
			m.fails(&out, wet, s, j.part, dry)
			out.z = math.Inf(-1)
			return out
		}
		if !m.slot(&out, wet, s, j.part, rules) {
			return out
		}
	}
	if cure == nil {
		cure = way{m.out.meet(way{*wet}, end, place, curing, j.part)}
	}
	out = m.curing(out, j.card, j.part, place, cure, end)
	if out.ok {
		m.whole(&out, j, place, wet, cure)
	}
	return out
}

// coated judges a coat as planned: another may be sprayed in its booth before it is
// protected, whose air is another.
func (m *model) coated(p *placed, w way) outcome {
	for i := range w {
		if from := w[i].from; from > p.end && from < p.protect {
			return m.judge(p.job, p.place, w.at(p.start), w)
		}
	}
	return m.coating(p.job, p.place, w, p.start)
}

// fails notes where an outcome failed, and by which rules.
func (m *model) fails(out *outcome, l *leg, s engine.Slot, part int, rules conditions.Rules) {
	moment := m.out.there(l, s, part)
	out.at, out.moment, out.rules = s, &moment, rules
}

// whole judges the span as one: each of its hours may be likely enough, and all of
// them together not. Errors persist for hours, so its chance lies between the least
// of them and their product. What is pencilled counts by its worst slot: a season's
// scatter lasts for days.
func (m *model) whole(out *outcome, j *job, place int, wet *leg, cure way) {
	sure := conditions.Deviations(m.spans.Chance(m.scores))
	if sure >= m.firm {
		out.z = min(out.z, sure)
		return
	}
	least := 0
	for i, z := range m.scores {
		if z < m.scores[least] {
			least = i
		}
	}
	out.ok, out.unsure, out.wet, out.z = false, true, false, sure
	at := out.from + engine.Slot(least)
	if at < out.from+j.slots {
		m.fails(out, wet, at, j.part, *m.rulesOf(j, place))
		return
	}
	out.wet = true
	m.fails(out, cure.at(at), at, j.part, m.yard.ProtectRules(j.card.Card, m.places[place].Place))
}

// score notes a slot's z for the span's chance; of two sets of rules the worse.
func (m *model) score(out *outcome, s engine.Slot, z float64, sure conditions.Sureness) {
	if sure == conditions.Pencilled {
		z = math.Inf(1)
	}
	for int(s-out.from) >= len(m.scores) {
		m.scores = append(m.scores, math.Inf(1))
	}
	m.scores[s-out.from] = min(m.scores[s-out.from], z)
}

// again is the first later start worth asking after a failed one at t: past what
// failed or, where no slot did, after a quarter of an hour, in which a forecast
// moves little.
func (o *outcome) again(j *job, t engine.Slot) engine.Slot {
	switch {
	case o.unsure:
		return t + perHour/4
	case o.wet:
		return max(t+1, o.at-j.slots+1)
	}
	return o.at + 1
}

// curing judges a coat from its last drop until it is protected: each protection
// until the milestone that ends it.
func (m *model) curing(out outcome, c *card, part, place int, w way, end engine.Slot) outcome {
	out.wet = true
	out.protect, out.dustFree = end, end
	kept := make([]guarded, 0, 4)
	for _, p := range m.protections(c, place) {
		if r := c.rates[c.instead(p.Until)]; r != nil {
			kept = append(kept, guarded{rules: p.Rules, rates: r})
		}
	}
	dust := c.rates[c.instead(conditions.DustFree)]
	settled := 0.0
	if dust == nil {
		settled = 1
	}
	for s := end; len(kept) > 0 || settled < whole; s++ {
		if s >= m.grid.Slots {
			out.at = m.grid.Slots - 1
			return out
		}
		l := w.at(s)
		cold, _ := l.on(s, part)
		for i := range kept {
			if !m.slot(&out, l, s, part, kept[i].rules) {
				return out
			}
			kept[i].done += kept[i].rates.slow(cold)
		}
		if len(kept) > 0 {
			out.protect = s + 1
			kept = slices.DeleteFunc(kept, func(g guarded) bool { return g.done >= whole })
		}
		if settled < whole {
			if settled += dust.slow(cold); settled >= whole {
				out.dustFree = s + 1
			}
		}
	}
	out.ok = true
	return out
}

// guarded is one protection of a wet coat under way.
type guarded struct {
	rules conditions.Rules
	rates *rates
	done  float64
}

// slot judges one slot into the outcome; false if it fails.
func (m *model) slot(out *outcome, l *leg, s engine.Slot, part int, rules conditions.Rules) bool {
	if len(rules) == 0 {
		return true
	}
	var now conditions.Moment
	m.out.see(&now, l, s, part)
	z, _ := conditions.Score(&now, rules)
	if z >= m.enough(now.Sure) {
		out.z = min(out.z, z)
		if out.coats {
			m.score(out, s, z, now.Sure)
		}
		return true
	}
	m.fails(out, l, s, part, rules)
	out.z = min(out.z, z)
	return false
}

// works judges a stage that is no coat over [from, to): the last slot that
// fails, in what is returned; ok if none does. Whatever the rules, nobody wipes,
// sands or fairs a wet hull.
func (m *model) works(j *job, place int, w way, from, to engine.Slot) outcome {
	out := outcome{z: math.Inf(1)}
	rules := *m.rulesOf(j, place)
	if len(rules) == 0 && !j.mustBeDry() {
		out.ok = true
		return out
	}
	for i := len(w) - 1; i >= 0; i-- {
		for s := to - 1; s >= max(from, w[i].from); s-- {
			if j.mustBeDry() && m.wet(&w[i], s, j.part) {
				m.fails(&out, &w[i], s, j.part, dry)
				out.z = math.Inf(-1)
				return out
			}
			if !m.slot(&out, &w[i], s, j.part, rules) {
				return out
			}
		}
		to = min(to, w[i].from)
	}
	out.ok = true
	return out
}

// wet reports water on a part of the hull: dew that forms, or dew and rain that
// have not dried. What is not known is not wet.
func (m *model) wet(l *leg, s engine.Slot, part int) bool {
	t := m.out.airs[l.air].tracks[l.mode]
	h, within := t.hour(s)
	through := float64(within) / float64(perHour)
	cold, _ := l.on(s, part)
	return l.parts[part].Wet[s] || cold <= mid(t.hours[h].DewPoint, t.hours[h+1].DewPoint, through)
}

// runOn is the last start of the run of starts that the conditions allow from t
// on, for a coat that is allowed at t and ends its protection after span slots.
// It follows the spraying track under a hull as it is at t, and looks no further
// than two days.
func (m *model) runOn(j *job, place int, w way, t engine.Slot, protect engine.Slot) engine.Slot {
	const ahead = 48 * perHour
	last := min(t+ahead, m.grid.Slots-1-(protect-t))
	scan := func(l leg, from, to engine.Slot, rules conditions.Rules) engine.Slot {
		var out outcome
		for s := from; s < to; s++ {
			if !m.slot(&out, &l, s, j.part, rules) {
				return s
			}
		}
		return to
	}
	end := t + j.slots
	spray := m.out.enter(w, t, place, spraying)
	if fails := scan(spray, end, last+j.slots, *m.rulesOf(j, place)); fails < last+j.slots {
		last = min(last, fails-j.slots)
	}
	cure := m.out.enter(way{spray}, end, place, curing)
	if fails := scan(cure, protect, last+protect-t, m.yard.ProtectRules(j.card.Card, m.places[place].Place)); fails < last+protect-t {
		last = min(last, fails-(protect-t))
	}
	return max(last, t)
}

// evidence is what is known of a failed outcome.
func (o *outcome) evidence() Evidence {
	if o.moment == nil {
		return Evidence{Sure: conditions.Unknown, Note: "nothing is known beyond the horizon"}
	}
	e := Evidence{When: o.moment.At, Sure: o.moment.Sure}
	v := conditions.Judge(*o.moment, o.rules)
	e.Sure, e.Note = v.Sure, v.Why
	i := v.Binding
	if _, b := conditions.Score(o.moment, o.rules); i < 0 {
		i = b
	}
	if i >= 0 {
		e.Bound = v.Margins[i].Bound
		if value := v.Margins[i].Value; unit.Known(value) {
			e.Value = value
		}
	}
	if o.moment.Wet && e.Note == "" {
		e.Note = "dew or rain on the hull has not dried"
	}
	if o.unsure {
		e.Note = fmt.Sprintf("every hour may do, but the chance that all of them hold is %.0f %%", 100*conditions.Chance(o.z))
	}
	if o.wet && e.Note == "" {
		e.Note = "before the coat is protected"
	}
	return e
}
