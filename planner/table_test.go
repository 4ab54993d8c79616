package planner

import (
	"testing"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
	"fairwindow/planner/engine"
)

// What is worked out once is what looking at every slot gives: the judgement of a
// coat, and the slot at which a cure is reached, on a boat that goes from a slip into
// a booth and out to a standing.
func TestTable(t *testing.T) {
	p := problem(fleet(1)...)
	// A cure by the air's temperature, which no slot shares with the next.
	cards := p.Yard.Cards
	for i := range cards {
		cards[i].Cure.Launch = conditions.Table{{At: celsius(-20), Takes: hours(600)}, {At: celsius(60), Takes: hours(20)}}
		cards[i].Cure.LastRecoat = cards[i].Cure.Launch
	}
	d, err := Open(p)
	if err != nil {
		t.Fatal(err)
	}
	m := d.m
	var j *job
	for _, one := range m.areas[0].jobs {
		if one.coats() {
			j = one
		}
	}
	booth, slip, standing := m.placeNamed("booth 1"), m.placeNamed("slip"), m.placeNamed("standing")
	w := m.out.begin(m.boats[0].hull, slip, idle, m.boats[0].surface)
	w = m.out.then(w, 100, booth, idle)
	var judgedTwice int
	for at := engine.Slot(100); at < 2000; at += 37 {
		first, again := m.coating(j, booth, w, at), m.coating(j, booth, w, at)
		wet := m.out.meet(w, at, booth, spraying, j.part)
		afresh := m.judge(j, booth, &wet, nil)
		for _, o := range []outcome{first, again} {
			if o.ok != afresh.ok || o.z != afresh.z || o.protect != afresh.protect || o.dustFree != afresh.dustFree || o.at != afresh.at {
				t.Errorf("a coat at %d: %+v, afresh %+v", at, o, afresh)
			}
		}
		judgedTwice++
	}
	if len(m.starts) != judgedTwice {
		t.Errorf("%d starts are kept of %d", len(m.starts), judgedTwice)
	}
	for at := engine.Slot(110); at < 1200; at += 61 {
		f := &film{card: j.card, key: j.key, part: j.part, coated: at}
		out := m.out.then(m.out.then(m.out.then(w, at-5, booth, spraying), at, booth, curing), at+150, standing, idle)
		for _, c := range []struct {
			got  engine.Slot
			of   conditions.Milestone
			rate func(*rates, unit.Temperature, unit.Temperature) float64
		}{
			{m.out.opens(f, conditions.Launch, out), conditions.Launch, func(r *rates, cold, _ unit.Temperature) float64 { return r.slow(cold) }},
			{m.out.closes(f, out), conditions.LastRecoat, func(r *rates, _, warm unit.Temperature) float64 { return r.fast(warm) }},
		} {
			want, sum := at, 0.0
			for ; sum < whole && want < m.grid.Slots; want++ {
				l := out.at(want)
				cold, warm := l.on(want, f.part)
				sum += c.rate(f.card.rates[c.of], cold, warm)
			}
			if sum < whole {
				want = never
			}
			if c.got != want {
				t.Errorf("a coat of %d comes to %s at %d, want %d", at, c.of, c.got, want)
			}
		}
	}
}
