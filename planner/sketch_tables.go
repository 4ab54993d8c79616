package planner

import (
	"fmt"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
	"fairwindow/planner/engine"
)

// table is one of the problem's, made once for each thing it is of.
func (k *sketch) table(of string, work func() []engine.Slot) int {
	if t, ok := k.tables[of]; ok {
		return t
	}
	k.tables[of] = len(k.Tables)
	k.Tables = append(k.Tables, work())
	return k.tables[of]
}

// rests is a leg of a hull that has long stood in a place: a boat's own or, where that
// is not worked out yet, that of another hull that is. Colours and skins differ by
// less than a proposal needs.
func (k *sketch) rests(boat, part, place, mode int) *leg {
	own := k.boats[boat].hull
	a := k.out.airs[place]
	h := own
	for _, other := range k.boats {
		t := a.tracks[mode]
		kind := other.hull.kind
		if a.stand.Sun == 0 {
			kind = other.hull.plain
		}
		if len(other.hull.facets[part]) > 0 && kind < len(t.surfaces) && t.surfaces[kind][part] != nil {
			h = other.hull
			break
		}
	}
	l := leg{air: place, mode: mode, hull: h}
	l.parts[part].surface = k.out.surface(place, mode, h, part)
	return &l
}

// like names the tables of a part of a hull in a place.
func (k *sketch) like(part, place int) string {
	return fmt.Sprint(part, " in ", k.places[place].like)
}

// every is how far apart the starts are that a table judges; those between go with the
// one before them.
const every = perHour

// allowed turns a judgement into a table of starts: at each slot the first from it on
// that is allowed.
func (k *sketch) allowed(ok func(t engine.Slot) bool) []engine.Slot {
	t := make([]engine.Slot, k.Slots)
	next := engine.None
	first := (k.Slots - 1) / every * every
	for s := first; s >= 0; s -= every {
		yes := ok(s)
		for i := min(s+every, k.Slots) - 1; i >= s; i-- {
			if t[i] = next; yes {
				t[i] = i
			}
		}
		if yes {
			next = s
		}
	}
	return t
}

// starts is when a coat may start in a place.
func (k *sketch) starts(boat int, j *job, place int) int {
	of := fmt.Sprint("starts ", j.card.Name, j.slots, k.like(j.part, place), j.stage.Name, *k.rulesOf(j, place))
	return k.table(of, func() []engine.Slot {
		wet, cure := k.rests(boat, j.part, place, spraying), k.rests(boat, j.part, place, curing)
		rules, after := *k.rulesOf(j, place), k.yard.ProtectRules(j.card.Card, k.places[place].Place)
		sprays, keeps := k.runs(wet, j.part, rules, true), k.runs(cure, j.part, after, false)
		protected := k.reached(j.card, conditions.Protected, j.part, cure)
		return k.allowed(func(t engine.Slot) bool {
			end := t + j.slots
			return end < k.Slots && sprays[t] >= end && keeps[end] >= min(protected[end], k.Slots)
		})
	})
}

// works is when people may work at a stage in a place.
func (k *sketch) works(boat int, j *job, place int) int {
	rules, dry := *k.rulesOf(j, place), j.mustBeDry()
	if len(rules) == 0 && !dry {
		return -1
	}
	return k.table(fmt.Sprint("works ", dry, k.like(j.part, place), rules), func() []engine.Slot {
		holds := k.runs(k.rests(boat, j.part, place, idle), j.part, rules, dry)
		return k.allowed(func(t engine.Slot) bool { return holds[t] > t })
	})
}

// runs is, for each slot, the end of the run in which every limit holds that it stands
// in, on a dry hull if it must be; the slot itself where one does not.
func (k *sketch) runs(l *leg, part int, rules conditions.Rules, dry bool) []engine.Slot {
	t := make([]engine.Slot, k.Slots)
	end := k.Slots
	for s := (k.Slots - 1) / every * every; s >= 0; s -= every {
		ok := !dry || !k.wet(l, s, part)
		if ok && len(rules) > 0 {
			now := k.out.there(l, s, part)
			z, _ := conditions.Score(&now, rules)
			ok = z >= k.enough(now.Sure)
		}
		if !ok {
			end = s
		}
		for i := s; i < min(s+every, k.Slots); i++ {
			if t[i] = end; !ok {
				t[i] = i
			}
		}
	}
	return t
}

// reached is, for each slot at which a coat is on, when it comes to a milestone.
func (k *sketch) reached(c *card, m conditions.Milestone, part int, l *leg) []engine.Slot {
	r := c.rates[c.instead(m)]
	return k.cumulated(func(s engine.Slot) float64 {
		if r == nil {
			return 1
		}
		cold, _ := l.on(s, part)
		return r.slow(cold)
	})
}

// cumulated is, for each slot, when what is gained a slot has come to a whole.
func (k *sketch) cumulated(gain func(engine.Slot) float64) []engine.Slot {
	t := make([]engine.Slot, k.Slots)
	sum, to, g := 0.0, engine.Slot(0), 0.0
	gains := make([]float64, k.Slots)
	for s := range gains {
		if engine.Slot(s)%every == 0 {
			g = gain(engine.Slot(s))
		}
		gains[s] = g
	}
	for s := range t {
		for to < k.Slots && sum < whole {
			sum += gains[to]
			to++
		}
		if t[s] = to; sum < whole {
			t[s] = k.Slots
		}
		sum -= gains[s]
	}
	return t
}

func (k *sketch) dustFree(boat int, j *job, place int) int {
	if j.card.rates[j.card.instead(conditions.DustFree)] == nil {
		return -1
	}
	of := fmt.Sprint("dust ", j.slots, j.card.Name, k.like(j.part, place))
	return k.table(of, func() []engine.Slot {
		dry := k.reached(j.card, conditions.DustFree, j.part, k.rests(boat, j.part, place, curing))
		t := make([]engine.Slot, k.Slots)
		for s := range t { // by start, as the engine asks
			t[s] = dry[min(engine.Slot(s)+j.slots, k.Slots-1)]
		}
		return t
	})
}

// keeps is when a boat with a fresh coat may be moved.
func (k *sketch) keeps(boat int, j *job, place int) int {
	return k.table(fmt.Sprint("keeps ", j.card.Name, k.like(j.part, place)), func() []engine.Slot {
		l := k.rests(boat, j.part, place, curing)
		t := k.reached(j.card, conditions.Protected, j.part, l)
		if j.card.instead("movable") != "" {
			for s, movable := range k.reached(j.card, "movable", j.part, l) {
				t[s] = max(t[s], movable)
			}
		}
		return t
	})
}

// opens is when a milestone of a coat is reached where the boat stands, by the slot at
// which it is on.
func (k *sketch) opens(coat *job, m conditions.Milestone, place int) int {
	if place < 0 {
		return -1
	}
	boat := k.areas[coat.area].boat
	return k.table(fmt.Sprint("opens ", m, coat.card.Name, k.like(coat.part, place)), func() []engine.Slot {
		return k.reached(coat.card, m, coat.part, k.rests(boat, coat.part, place, curing))
	})
}

// closes is the last start that may still overcoat a coat as it is.
func (k *sketch) closes(coat *job, place int) int {
	if place < 0 {
		return -1
	}
	boat := k.areas[coat.area].boat
	return k.table(fmt.Sprint("closes ", coat.card.Name, k.like(coat.part, place)), func() []engine.Slot {
		l := k.rests(boat, coat.part, place, curing)
		r := coat.card.rates[conditions.LastRecoat]
		t := k.cumulated(func(s engine.Slot) float64 {
			_, warm := l.on(s, coat.part)
			return r.fast(unit.Temperature(warm))
		})
		for s := range t {
			t[s] = max(t[s]-1, engine.Slot(s))
		}
		return t
	})
}
