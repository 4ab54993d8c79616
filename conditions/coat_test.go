package conditions

import (
	"testing"
	"time"

	"fairwindow/conditions/unit"
	"pgregory.net/rapid"
)

// steady are spells of hours and temperatures from monday on, in pairs.
func steady(pairs ...float64) []Spell {
	var spells []Spell
	hours := 0.0
	for i := 0; i < len(pairs); i += 2 {
		hours += pairs[i]
		temp := unit.Temperature(pairs[i+1])
		spells = append(spells, Spell{after(hours), spots(temp, temp)})
	}
	return spells
}

// TestWhen: by tables and by bands, across spells and at their ends, on the
// trade's cases 10, 11 and 26.
func TestWhen(t *testing.T) {
	bands := ufgs(t)
	at75F := float64(written[unit.Temperature](t, "75 F"))
	primer := Cure{Recoat: at(at75F, 5), LastRecoat: at(at75F, 8), Reactivate: at(at75F, 24)}
	slow := Cure{Launch: at(10, 14*24, 20, 7*24, 30, 3.5*24)}
	for _, c := range []struct {
		name  string
		cure  Cure
		m     Milestone
		ahead []Spell
		want  float64 // hours; below 0 never
		slack time.Duration
	}{
		{"10 opens", bands, Recoat, steady(60, 20), 8, 0},
		{"10 closes", bands, LastRecoat, steady(60, 20), 48, 0},
		{"10 hot, opens", bands, Recoat, steady(4, 20, 2, 29, 60, 20), 8, 0},
		{"10 hot, closes", bands, LastRecoat, steady(4, 20, 2, 29, 60, 20), 36, 0},
		{"11 opens", primer, Recoat, steady(10, at75F, 30, at75F), 5, 0},
		{"11 closes", primer, LastRecoat, steady(10, at75F, 30, at75F), 8, 0},
		{"12 revives until", primer, Reactivate, steady(10, at75F, 30, at75F), 24, 0},
		// The notes give 8.0 days for 7 × 2^0.2 = 8.04 by doubling with 10 °C; Arrhenius
		// between the same points differs from it by less than 1 %.
		{"26 launch", slow, Launch, steady(400, 18), 24 * 8.04, 2 * time.Hour},
		{"half at each", Cure{Sandable: at(10, 20, 20, 10)}, Sandable, steady(5, 20, 20, 10), 5 + 10, 0},
		{"not in this time", Cure{Sandable: at(10, 20, 20, 10)}, Sandable, steady(5, 20, 9, 10), -1, 0},
		{"at the end", Cure{Sandable: at(10, 20, 20, 10)}, Sandable, steady(5, 20, 10, 10, 5, 10), 15, 0},
		{"beyond the table", Cure{Sandable: at(10, 20, 20, 10)}, Sandable, steady(5, 20, 50, 9, 10, 10), 65, 0},
		{"of which the card is silent", bands, Sandable, steady(100, 20), -1, 0},
	} {
		when, ok := c.cure.When(c.cure.Start(monday), c.m, c.ahead)
		if ok != (c.want >= 0) {
			t.Errorf("%s: %v, %t", c.name, when, ok)
			continue
		}
		if late := when.Sub(after(c.want)).Abs(); ok && late > c.slack+time.Second {
			t.Errorf("%s: %v, want %v", c.name, when, after(c.want))
		}
	}
	done := steps(primer, 6, at75F)
	if when, ok := primer.When(done, Recoat, nil); !ok || !when.Equal(done.At) {
		t.Errorf("what is reached: %v, %t", when, ok)
	}
	if when, ok := primer.When(done, LastRecoat, steady(3, at75F, 3, at75F)); ok {
		t.Errorf("spells that are over count again: %v", when)
	}
}

// TestWhenIsReached there and not a second before, over any spells.
func TestWhenIsReached(t *testing.T) {
	c := card(t)
	rapid.Check(t, func(t *rapid.T) {
		ahead := facet(t, rapid.IntRange(1, 20).Draw(t, "spells"), 52)
		m := rapid.SampledFrom([]Milestone{DustFree, Recoat, Sandable, Movable, LastRecoat, Reactivate, Launch}).Draw(t, "milestone")
		when, ok := c.When(c.Start(monday), m, ahead)
		run := func(until time.Time) Clock {
			k := c.Start(monday)
			for _, s := range ahead {
				if s.Until.After(until) {
					s.Until = until
				}
				k = c.Run(k, s.Until, s.Exposure)
			}
			return k
		}
		if !ok {
			if c.Reached(run(ahead[len(ahead)-1].Until), m) {
				t.Fatal("reached, but never when")
			}
			return
		}
		if !c.Reached(run(when), m) || c.Reached(run(when.Add(-time.Second)), m) {
			t.Fatalf("%s is not first reached at %v", m, when)
		}
	})
}

// facet draws hourly or longer spells up to a temperature.
func facet(t *rapid.T, n int, hottest float64) []Spell {
	spells := make([]Spell, n)
	for i := range spells {
		temp := unit.Temperature(rapid.Float64Range(0, hottest).Draw(t, "temperature"))
		spells[i] = Spell{after(float64(2 * (i + 1))), spots(temp, temp)}
	}
	return spells
}

// onFacets is a coat of monday, each facet after its spells.
func onFacets(c Cure, facets ...[]Spell) Coat {
	var coat Coat
	for _, spells := range facets {
		k := c.Start(monday)
		for _, s := range spells {
			k = c.Run(k, s.Until, s.Exposure)
		}
		coat.Clocks = append(coat.Clocks, k)
	}
	return coat
}

// TestEnvelope: one clock on the coldest and warmest of several facets opens no
// earlier than the slowest facet and closes no later than the fastest, with no
// facet above the card's tables (40 °C here, the bands 49).
func TestEnvelope(t *testing.T) {
	c := card(t)
	c.DustFree, c.Sandable = at(10, 2, 40, 0.5), at(10, 48, 20, 24, 40, 12)
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 15).Draw(t, "spells")
		var facets [][]Spell
		for range rapid.IntRange(1, 4).Draw(t, "facets") {
			facets = append(facets, facet(t, n, 40))
		}
		coat := onFacets(c, facets...)
		envelope := c.Start(monday)
		for i := range n {
			cold, warm := facets[0][i].Coldest, facets[0][i].Warmest
			for _, f := range facets {
				cold, warm = min(cold, f[i].Coldest), max(warm, f[i].Warmest)
			}
			envelope = c.Run(envelope, facets[0][i].Until, spots(cold, warm))
		}
		for _, m := range milestones() {
			slowest, fastest := coat.Slowest(m), coat.Fastest(m)
			if m.Closes() && envelope.Fast[m] < fastest.Fast[m]-1e-9 {
				t.Fatalf("%s closes at %v by the envelope, %v by the fastest facet", m, envelope.Fast[m], fastest.Fast[m])
			}
			if !m.Closes() && envelope.Slow[m] > slowest.Slow[m]+1e-9 {
				t.Fatalf("%s opens at %v by the envelope, %v by the slowest facet", m, envelope.Slow[m], slowest.Slow[m])
			}
			for _, k := range coat.Clocks {
				if k.Progress(m) < slowest.Progress(m) || k.Progress(m) > fastest.Progress(m) {
					t.Fatalf("%s: %v lies outside %v and %v", m, k.Progress(m), slowest.Progress(m), fastest.Progress(m))
				}
			}
		}
	})
	if k := (Coat{}).Slowest(Recoat); c.Reached(k, Recoat) {
		t.Error("a coat on nothing is cured")
	}
}

// TestFacetsAreKeptApart: two facets that are cold by turns are each half cured
// when their envelope has not begun, and a deck too hot for the table stands
// still though the envelope would go on.
func TestFacetsAreKeptApart(t *testing.T) {
	c := Cure{Recoat: at(10, 20, 30, 5)}
	coat := onFacets(c, steady(5, 5, 5, 20), steady(5, 20, 5, 5))
	envelope := steps(c, 10, 5)
	rate, _ := c.Recoat.Rate(20)
	near(t, "by turns", coat.Slowest(Recoat).Slow[Recoat], 5*rate, 1e-12)
	if envelope.Slow[Recoat] != 0 {
		t.Errorf("envelope: %v", envelope.Slow[Recoat])
	}
	hot := onFacets(c, steady(5, 20), steady(5, 31))
	if k := hot.Slowest(Recoat); k.Slow[Recoat] != 0 || k.Silent != 5*time.Hour {
		t.Errorf("the hot deck: %+v", k)
	}
}
