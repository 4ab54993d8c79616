package conditions

import (
	"encoding/json"
	"maps"
	"math"
	"reflect"
	"testing"
	"time"

	"fairwindow/conditions/unit"
	"pgregory.net/rapid"
)

var monday = time.Date(2026, 5, 4, 9, 0, 0, 0, time.UTC)

func after(hours float64) time.Time {
	return monday.Add(time.Duration(math.Round(hours * float64(time.Hour))))
}

// spots is a surface in air of which nobody knows the humidity.
func spots(coldest, warmest unit.Temperature) Exposure {
	return Exposure{Coldest: coldest, Warmest: warmest, Humidity: unit.NaN[unit.Humidity]()}
}

// ufgs is the polyurethane's bands of UFGS 09971.
func ufgs(t testing.TB) Cure {
	var c Cure
	for _, r := range table(t, "recoat_bands.csv") {
		hours := func(name string) unit.Duration { return unit.Duration(number(t, r[name]) * float64(time.Hour)) }
		c.Bands = append(c.Bands, Band{
			From: unit.Of(unit.Temperature(number(t, r["from_C"]))), To: unit.Of(unit.Temperature(number(t, r["to_C"]))),
			Opens: hours("opens_h"), Closes: hours("closes_h"),
		})
	}
	return c
}

// steps runs a clock over spells of hours and steady temperatures, in pairs.
func steps(c Cure, pairs ...float64) Clock {
	k := c.Start(monday)
	for i := 0; i < len(pairs); i += 2 {
		temp := unit.Temperature(pairs[i+1])
		k = c.Run(k, k.At.Add(time.Duration(math.Round(pairs[i]*float64(time.Hour)))), spots(temp, temp))
	}
	return k
}

// TestEquivalentAge: [6 h at 12, 6 h at 8, 12 h at 15, 24 h at 22 °C] is worth
// 41.8594 h at 20 °C with E 50, 41.4431 with 57, 41.2908 with 60; a day of 14 ±
// 6 °C 16.3150 h with E 50, where its mean would give 15.6335 (computed from the
// formula).
func TestEquivalentAge(t *testing.T) {
	for energy, want := range map[float64]float64{50000: 41.8594, 57000: 41.4431, 60000: 41.2908} {
		c := Cure{Launch: arrhenius(energy, 100)}
		k := steps(c, 6, 12, 6, 8, 12, 15, 24, 22)
		near(t, "equivalent age", k.Slow[Launch]*100, want, 1e-3)
	}
	c := Cure{Launch: arrhenius(50000, 100)}
	k := c.Start(monday)
	for minute := range 24 * 60 {
		temp := unit.Temperature(14 + 6*math.Sin(2*math.Pi*(float64(minute)+0.5)/(24*60)))
		k = c.Run(k, monday.Add(time.Duration(minute+1)*time.Minute), spots(temp, temp))
	}
	near(t, "a day of 14 ± 6", k.Slow[Launch]*100, 16.3150, 1e-3)
	near(t, "a day of 14", steps(c, 24, 14).Slow[Launch]*100, 15.6335, 1e-3)
}

// TestBandsAsPublished: in each column of UFGS 09971 a steady temperature opens
// and closes as printed, to the minute.
func TestBandsAsPublished(t *testing.T) {
	c := ufgs(t)
	for _, b := range c.Bands {
		for _, temp := range []unit.Temperature{b.From.SI, (b.From.SI + b.To.SI) / 2, b.To.SI} {
			k := c.Run(c.Start(monday), after(1), spots(temp, temp))
			opens, closes, ok := c.Window(k)
			if !ok || opens != b.Opens.Std() || closes != b.Closes.Std() {
				t.Errorf("%v °C: %v to %v, %t", temp, opens, closes, ok)
			}
			for milestone, when := range map[Milestone]time.Duration{Recoat: opens, LastRecoat: closes} {
				before := c.Run(k, monday.Add(when-time.Minute), spots(temp, temp))
				there := c.Run(k, monday.Add(when), spots(temp, temp))
				if when > time.Hour && c.Reached(before, milestone) || !c.Reached(there, milestone) {
					t.Errorf("%v °C: %s not at %v", temp, milestone, when)
				}
			}
		}
	}
}

// TestCase10: coat Monday 09:00 at 20 °C opens Monday 17:00 and closes Wednesday
// 09:00; a hull at 29 °C from 13:00 to 15:00 closes it Tuesday 21:00, and it
// still opens by the colder column at 17:00.
func TestCase10(t *testing.T) {
	c := ufgs(t)
	for _, day := range []struct {
		k             Clock
		opens, closes time.Time
	}{
		{steps(c, 8, 20), after(8), after(48)},
		{steps(c, 4, 20, 2, 29, 2, 20), after(8), after(36)},
	} {
		opens, closes, ok := c.Window(day.k)
		if !ok || !monday.Add(opens).Equal(day.opens) || !monday.Add(closes).Equal(day.closes) {
			t.Errorf("%v to %v, %t; want %v to %v", monday.Add(opens), monday.Add(closes), ok, day.opens, day.closes)
		}
	}
	// Announced at once: right after the hot hour the shorter end is known.
	if _, closes, _ := c.Window(steps(c, 4, 20, 1, 29)); closes != 36*time.Hour {
		t.Errorf("after one hot hour it closes after %v", closes)
	}
	if _, closes, _ := c.Window(steps(c, 4, 20, 0.75, 29, 1, 20)); closes != 48*time.Hour {
		t.Errorf("three quarters of a hot hour close it after %v", closes)
	}
	// A shadow in the middle breaks the hour.
	if _, closes, _ := c.Window(steps(c, 4, 20, 0.75, 29, 0.25, 20, 0.75, 29)); closes != 48*time.Hour {
		t.Errorf("a broken hot hour closes it after %v", closes)
	}
}

// TestBandsAtTheEdges: between two columns the slower opens and the faster
// closes; below the first the opening waits, above the last it is shut.
func TestBandsAtTheEdges(t *testing.T) {
	c := ufgs(t)
	opens, closes, ok := c.Window(steps(c, 2, 27.5))
	if !ok || opens != 6*time.Hour || closes != 36*time.Hour {
		t.Errorf("27.5 °C: %v to %v, %t", opens, closes, ok)
	}
	night := steps(c, 4, 20, 3, 14, 1, 20)
	if opens, closes, ok = c.Window(night); !ok || opens != 11*time.Hour || closes != 48*time.Hour || night.Silent != 3*time.Hour {
		t.Errorf("a night at 14 °C: %v to %v, %t, silent %v", opens, closes, ok, night.Silent)
	}
	hot := steps(c, 4, 20, 1, 50)
	if _, closes, ok = c.Window(hot); ok || closes != 0 || !c.Reached(hot, LastRecoat) {
		t.Errorf("an hour at 50 °C: closes %v, %t", closes, ok)
	}
	if _, _, ok = c.Window(c.Start(monday)); ok {
		t.Error("a window before any temperature")
	}
	if _, _, ok = (Cure{}).Window(steps(c, 2, 20)); ok {
		t.Error("a window without bands")
	}
	dark := c.Run(steps(c, 4, 20), after(5), spots(noTemp, noTemp))
	if opens, closes, ok = c.Window(dark); !ok || opens != 9*time.Hour || closes != 2*time.Hour || dark.Silent != time.Hour {
		t.Errorf("an unknown hour: %v to %v, %t, silent %v", opens, closes, ok, dark.Silent)
	}
	// An opening that has come stays, whatever the night.
	open := steps(c, 7, 25, 5, 14)
	if opens, _, ok = c.Window(open); !c.Reached(open, Recoat) || !ok || opens > 12*time.Hour {
		t.Errorf("opened and shut again: %v", opens)
	}
}

// TestEpoxyPrimer, cases 11 and 12: epoxy primer at 75 °F (TO 1-1-8, 5.6.2) is
// dry at 5 h, to be topcoated by 8 h, reactivated by 24 h, scuffed after that.
func TestEpoxyPrimer(t *testing.T) {
	temp := written[unit.Temperature](t, "75 F")
	one := func(hours float64) Table { return at(float64(temp), hours) }
	c := Cure{Recoat: one(5), LastRecoat: one(8), Reactivate: one(24)}
	for hours, want := range map[float64][3]bool{
		4: {false, false, false}, 6: {true, false, false}, 10: {true, true, false}, 30: {true, true, true},
	} {
		k := c.Run(c.Start(monday), after(hours), spots(temp, temp))
		if got := [3]bool{c.Reached(k, Recoat), c.Reached(k, LastRecoat), c.Reached(k, Reactivate)}; got != want {
			t.Errorf("%v h: %v, want %v", hours, got, want)
		}
	}
}

// TestCase26: 7 days at 20 °C, doubling with each 10 °C less, are 8.0 days at
// 18 °C: a coat of Friday 16:00 is cured Saturday week 16:00, not before
// Wednesday's launch. Nights at 10 °C would make it 14.
func TestCase26(t *testing.T) {
	c := Cure{Launch: at(10, 14*24, 20, 7*24, 30, 3.5*24)}
	friday := time.Date(2026, 5, 8, 16, 0, 0, 0, time.UTC)
	k := c.Run(c.Start(friday), friday.AddDate(0, 0, 5).Add(-8*time.Hour), spots(18, 18))
	if c.Reached(k, Launch) {
		t.Error("launched after 4.7 days")
	}
	rate, _ := c.Launch.Rate(18)
	near(t, "days at 18 °C", 1/rate/24, 8.0, 0.05)
	rate, _ = c.Launch.Rate(10)
	near(t, "days at 10 °C", 1/rate/24, 14, 1e-9)
	if k = c.Run(k, friday.AddDate(0, 0, 8).Add(time.Hour), spots(18, 18)); !c.Reached(k, Launch) {
		t.Error("not cured Saturday 17:00")
	}
}

// TestCase28: a boat curing at 12 instead of 22 °C takes 12.2 instead of 6.1
// days by the rule of case 26.
func TestCase28(t *testing.T) {
	c := Cure{Movable: at(10, 14*24, 20, 7*24, 30, 3.5*24)}
	for temp, want := range map[unit.Temperature]float64{12: 12.2, 22: 6.1} {
		rate, ok := c.Movable.Rate(temp)
		if !ok {
			t.Fatal("silent")
		}
		near(t, "days", 1/rate/24, want, 0.1)
	}
}

// TestBeyondTheTable: openings stand still and it is said; closings go on.
func TestBeyondTheTable(t *testing.T) {
	c := Cure{Recoat: at(10, 16, 30, 4), LastRecoat: at(10, 96, 30, 24)}
	cold := c.Run(c.Start(monday), after(8), spots(5, 8))
	if cold.Slow[Recoat] != 0 || cold.Silent != 8*time.Hour {
		t.Errorf("below: %+v", cold)
	}
	near(t, "closing below", cold.Fast[LastRecoat], 8.0/96, 1e-12)
	unknown := c.Run(c.Start(monday), after(8), spots(noTemp, noTemp))
	if unknown.Slow[Recoat] != 0 || unknown.Silent != 8*time.Hour {
		t.Errorf("unknown: %+v", unknown)
	}
	near(t, "closing unknown", unknown.Fast[LastRecoat], 8.0/24, 1e-12)
	// What has been reached is silent about nothing.
	done := c.Run(steps(c, 20, 20), after(30), spots(5, 5))
	if done.Silent != 0 || !c.Reached(done, Recoat) {
		t.Errorf("done: %+v", done)
	}
	if c.Reached(done, Sandable) {
		t.Error("a milestone of which the card says nothing is reached")
	}
}

// card is one with every kind of rule.
func card(t testing.TB) Cure {
	c := ufgs(t)
	c.DustFree, c.Sandable = at(10, 2, 30, 0.5), at(10, 48, 20, 24, 30, 12)
	c.Movable, c.Reactivate, c.Launch = at(5, 96, 40, 8), at(10, 200, 40, 20), arrhenius(55000, 168)
	return c
}

// TestCureNeverGoesBack, a later coat is never cured earlier, and a clock given
// is left as it was.
func TestCureNeverGoesBack(t *testing.T) {
	c := card(t)
	rapid.Check(t, func(t *rapid.T) {
		early, late := c.Start(monday), c.Start(monday)
		started := false
		for range rapid.IntRange(1, 30).Draw(t, "spells") {
			until := early.At.Add(time.Duration(rapid.IntRange(1, 5*60).Draw(t, "minutes")) * time.Minute)
			cold := unit.Temperature(rapid.Float64Range(0, 52).Draw(t, "coldest"))
			warm := cold + unit.Temperature(rapid.Float64Range(0, 8).Draw(t, "wider"))
			if rapid.IntRange(0, 19).Draw(t, "gap") == 0 {
				cold, warm = noTemp, noTemp
			}
			before := early
			slow, fast, hour := maps.Clone(early.Slow), maps.Clone(early.Fast), append([]unit.Temperature{}, early.Hour...)
			next := c.Run(early, until, spots(cold, warm))
			if !maps.Equal(before.Slow, slow) || !maps.Equal(before.Fast, fast) || len(before.Hour) != len(hour) || len(hour) > 0 && !reflect.DeepEqual(before.Hour, hour) {
				t.Fatal("the clock given was changed")
			}
			for _, m := range milestones() {
				if next.Slow[m] < early.Slow[m] || next.Fast[m] < early.Fast[m] {
					t.Fatalf("%s went back from %+v to %+v", m, early, next)
				}
				if c.Reached(early, m) && !c.Reached(next, m) {
					t.Fatalf("%s was reached and is not", m)
				}
			}
			switch {
			case started:
				late = c.Run(late, until, spots(cold, warm))
			case rapid.Bool().Draw(t, "now"):
				late, started = c.Start(until), true
			}
			early = next
			if started {
				for _, m := range milestones() {
					// By bands it can be: a cold hour that only the earlier coat met puts
					// it in a slower column.
					if !m.Closes() && m != Recoat && c.Reached(late, m) && !c.Reached(early, m) {
						t.Fatalf("%s: the later coat is cured earlier: %+v, %+v", m, early, late)
					}
				}
			}
		}
		same := c.Run(early, early.At.Add(-time.Hour), spots(20, 20))
		if !same.At.Equal(early.At) || !maps.Equal(same.Slow, early.Slow) {
			t.Fatal("time ran back")
		}
	})
}

// TestCureInPieces: a spell in one run or in many is the same.
func TestCureInPieces(t *testing.T) {
	c := card(t)
	rapid.Check(t, func(t *rapid.T) {
		temp := unit.Temperature(rapid.Float64Range(0, 52).Draw(t, "temperature"))
		minutes := rapid.IntRange(70, 4000).Draw(t, "minutes")
		cut := rapid.IntRange(1, minutes-1).Draw(t, "cut")
		whole := c.Run(c.Start(monday), monday.Add(time.Duration(minutes)*time.Minute), spots(temp, temp))
		pieces := c.Run(c.Start(monday), monday.Add(time.Duration(cut)*time.Minute), spots(temp, temp))
		pieces = c.Run(pieces, whole.At, spots(temp, temp))
		for _, m := range milestones() {
			if math.Abs(whole.Slow[m]-pieces.Slow[m]) > 1e-9 || math.Abs(whole.Fast[m]-pieces.Fast[m]) > 1e-9 {
				t.Fatalf("%s: whole %+v, pieces %+v", m, whole, pieces)
			}
		}
		if whole.Hottest != pieces.Hottest || whole.Coolest != pieces.Coolest {
			t.Fatalf("whole %+v, pieces %+v", whole, pieces)
		}
	})
}

// TestClockJSON: a clock that has met no temperature yet, and one that has, come
// back as they were.
func TestClockJSON(t *testing.T) {
	c := card(t)
	for _, k := range []Clock{c.Start(monday), steps(c, 3, 20, 2, 30)} {
		text, err := json.Marshal(k)
		if err != nil {
			t.Fatal(err)
		}
		var back Clock
		if err := json.Unmarshal(text, &back); err != nil {
			t.Fatal(err)
		}
		a, b := c.Run(k, k.At.Add(5*time.Hour), spots(19, 24)), c.Run(back, k.At.Add(5*time.Hour), spots(19, 24))
		if !maps.Equal(a.Slow, b.Slow) || !maps.Equal(a.Fast, b.Fast) || a.Hottest != b.Hottest || a.Coolest != b.Coolest {
			t.Errorf("%s runs on differently: %+v, %+v", text, a, b)
		}
	}
}

func BenchmarkRun(b *testing.B) {
	c := card(b)
	k := steps(c, 3, 20)
	b.ReportAllocs()
	for b.Loop() {
		c.Run(k, k.At.Add(time.Hour), spots(20, 22))
	}
}
