package planner

import (
	"encoding/json"
	"math"
	"testing"
	"time"

	"pgregory.net/rapid"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
	"fairwindow/config"
)

// anyProblem draws a small yard with everything that bites: cards that cure by
// temperature, short lives and recoat windows, one or two booths, shared air,
// cold and wet spells, boats that are here or come, presses, told starts; searched for
// shorter or longer, for what is kept to holds of every schedule.
func anyProblem(t *rapid.T) Problem {
	boats := rapid.IntRange(1, 4).Draw(t, "boats")
	p := problem(fleet(boats)...)
	p.At = monday.Add(time.Duration(rapid.IntRange(0, 7*24*60).Draw(t, "minute")) * time.Minute)
	p.Horizon = 18 * 24 * time.Hour
	p.Outdoors = anyWeather(t, p.At.Add(-2*time.Hour).Truncate(time.Hour), 18*24+8)
	if rapid.Bool().Draw(t, "two booths") {
		second := p.Yard.Places[0]
		second.Name = "booth 2"
		p.Yard.Places = append(p.Yard.Places, second)
	}
	if rapid.Bool().Draw(t, "shared air") {
		for i := range p.Yard.Places {
			if p.Yard.Places[i].Kind == config.Booth || p.Yard.Places[i].Kind == config.Shed {
				p.Yard.Places[i].Air = "hall"
			}
		}
	}
	for i := range p.Yard.Cards {
		anyCard(t, &p.Yard.Cards[i])
	}
	if rapid.Bool().Draw(t, "paint outdoors") {
		for i := range p.Yard.Systems[0].Stages {
			if s := &p.Yard.Systems[0].Stages[i]; s.Block != "" {
				s.Places = []config.PlaceKind{config.Booth, config.Shed, config.Slip}
			}
		}
	}
	for i := range p.Boats {
		anyBoat(t, &p, i)
	}
	p.Rounds = rapid.SampledFrom([]int{0, 1, 8, 40}).Draw(t, "rounds") // 0 leaves it to the planner
	return p
}

func anyWeather(t *rapid.T, from time.Time, n int) []conditions.Weather {
	air, swing := rapid.Float64Range(8, 22).Draw(t, "air"), rapid.Float64Range(2, 12).Draw(t, "swing")
	depression := rapid.Float64Range(2, 10).Draw(t, "dew depression")
	all := fair(from, n)
	for i := range all {
		h := float64(i)
		all[i].Air = unit.Temperature(air + swing/2*math.Sin(2*math.Pi*(h-9)/24) + 3*math.Sin(h/37))
		all[i].DewPoint = min(all[i].Air, unit.Temperature(air-depression+2*math.Sin(h/23)))
	}
	return all
}

func anyCard(t *rapid.T, c *config.Card) {
	table := func(h float64) conditions.Table {
		return conditions.Table{{At: celsius(5), Takes: hours(3 * h)}, {At: celsius(20), Takes: hours(h)}, {At: celsius(35), Takes: hours(h / 2.5)}}
	}
	k := rapid.Float64Range(0.5, 2).Draw(t, "cure")
	c.Cure = conditions.Cure{
		DustFree: table(0.7 * k), Protected: table(5 * k), Taped: table(8 * k), Recoat: table(6 * k), Sandable: table(14 * k),
		Movable: table(12 * k), LastRecoat: table(rapid.Float64Range(10, 60).Draw(t, "last")), Launch: table(60 * k),
	}
	if rapid.Bool().Draw(t, "reactivates") {
		c.Cure.Reactivate = table(rapid.Float64Range(60, 90).Draw(t, "reactivate"))
	}
	if rapid.IntRange(0, 3).Draw(t, "bands") == 0 {
		c.Cure.Bands = []conditions.Band{
			{From: celsius(5), To: celsius(15), Opens: hours(12), Closes: hours(60)},
			{From: celsius(16), To: celsius(21), Opens: hours(8), Closes: hours(48)},
			{From: celsius(22), To: celsius(35), Opens: hours(6), Closes: hours(36)},
		}
	}
	c.Limits = config.Limits{Margin: least(rapid.Float64Range(1, 3).Draw(t, "margin")), SurfaceMin: degrees(8)}
}

func anyBoat(t *rapid.T, p *Problem, i int) {
	b := &p.Boats[i]
	b.Arrives = p.At.Add(time.Duration(rapid.IntRange(-3, 5).Draw(t, "arrives")) * 24 * time.Hour).Format("2006-01-02")
	if rapid.Bool().Draw(t, "two areas") {
		deck := b.Areas[0]
		deck.Name, deck.Size = "deck", unit.Of(unit.Area(25))
		if rapid.Bool().Draw(t, "after") {
			deck.After = "topsides"
		}
		b.Areas = append(b.Areas, deck)
	}
	if rapid.Bool().Draw(t, "here") {
		place := []string{"shed", "standing", "booth 1"}[rapid.IntRange(0, 2).Draw(t, "where")]
		if place == "booth 1" && i > 0 || place == "shed" && i > 1 {
			place = "standing"
		}
		p.Presses = append(p.Presses, Press{Kind: Arrived, Key: Key{Boat: b.Name}, Place: place, Happened: p.At.Add(-100 * time.Hour)})
		anyDone(t, p, b, place)
	}
	if rapid.IntRange(0, 3).Draw(t, "told") == 0 {
		start := p.At.Add(time.Duration(rapid.IntRange(-5, 100).Draw(t, "told in")) * time.Hour).Truncate(step)
		told := Told{Key: Key{b.Name, "topsides", "mask"}, Start: start, Place: "booth 1"}
		p.Told, p.First = append(p.Told, told), append(p.First, told)
	}
}

// anyDone reports the first stages of a boat done, the next perhaps running.
func anyDone(t *rapid.T, p *Problem, b *config.Boat, place string) {
	done := rapid.IntRange(0, 5).Draw(t, "done")
	if place != "booth 1" {
		done = min(done, 1)
	}
	key := func(i int) Key { return Key{b.Name, "topsides", p.Yard.Systems[0].Stages[i].Name} }
	at := p.At.Add(-time.Duration(rapid.IntRange(12, 90).Draw(t, "hours ago")) * time.Hour)
	for i := range done {
		p.Presses = append(p.Presses, Press{Kind: Finished, Key: key(i), Happened: at.Add(time.Duration(i) * time.Hour), By: "one"})
	}
	coat := done - 1
	for coat >= 0 && p.Yard.Systems[0].Stages[coat].Kind != config.Coat {
		coat--
	}
	if coat >= 0 && rapid.Bool().Draw(t, "clock") {
		anyClock(t, p, key(coat), p.Yard.Systems[0].Stages[coat].Card, at.Add(time.Duration(coat)*time.Hour))
	}
	if rapid.IntRange(0, 3).Draw(t, "runs") == 0 && (place == "booth 1" || done == 0 && place == "shed") {
		p.Presses = append(p.Presses, Press{Kind: Started, Key: key(done), Happened: p.At.Add(-20 * time.Minute), By: "one"})
	}
}

// anyClock is a coat's, last read at the plan's time or before it; or after it, for the
// machine's clock may have been set back since.
func anyClock(t *rapid.T, p *Problem, k Key, card string, coated time.Time) {
	c, _ := p.Yard.Card(card)
	read := p.At
	if rapid.Bool().Draw(t, "the clock was set") {
		read = p.At.Add(time.Duration(rapid.IntRange(-30*60, 40*60).Draw(t, "clock read")) * time.Minute)
	}
	stood := unit.Temperature(rapid.Float64Range(4, 30).Draw(t, "stood at"))
	p.Coats = append(p.Coats, CoatNow{Key: k, Clock: c.Cure.Run(c.Cure.Start(coated), read, conditions.Exposure{Coldest: stood, Warmest: stood, Humidity: 50})})
	if rapid.Bool().Draw(t, "measured") {
		now := unit.Temperature(rapid.Float64Range(2, 30).Draw(t, "hull"))
		p.Hulls = append(p.Hulls, HullNow{Boat: k.Boat, Moment: conditions.Moment{At: p.At, Air: now, DewPoint: now - 5, Coldest: now, Warmest: now, Sure: conditions.Measured}})
	}
}

func TestEveryPlanChecks(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		p := anyProblem(t)
		plan, err := Solve(p)
		if err != nil {
			t.Fatal(err)
		}
		for _, b := range Check(p, plan) {
			t.Errorf("%v: %s: %s", b.Key, b.Rule, b.What)
		}
		ledgersAddUp(t, p, plan)
		cost := int64(0)
		for _, term := range plan.Cost {
			cost += term.Amount
		}
		if plan.Bound > cost+int64(len(plan.Cost)) { // each term is rounded by itself
			t.Errorf("bound %d over a plan of %d", plan.Bound, cost)
		}
		for _, l := range plan.Launches { // less luck never launches sooner
			if !l.Cautious.IsZero() && (l.Likely.IsZero() || l.Cautious.Before(l.Likely)) {
				t.Errorf("%s: likely %v, cautiously %v", l.Boat, l.Likely, l.Cautious)
			}
		}
	})
}

// ledgersAddUp: the waits before a stage is ready lie between the start it was
// first given and then, the others fill the time from then to its start, and none
// of either meet.
func ledgersAddUp(t interface{ Errorf(string, ...any) }, p Problem, plan Plan) {
	first := keyed(p.First)
	for _, s := range plan.Stages {
		if s.State == Unplaced || s.State == Running {
			continue
		}
		if s.Ready.After(s.Start) {
			t.Errorf("%v: ready %v after its start %v", s.Key, s.Ready, s.Start)
		}
		at, before := s.Ready, time.Time{}
		for _, w := range s.Waits {
			if !w.From.Before(w.To) {
				t.Errorf("%v: an empty wait %+v", s.Key, w)
			}
			if !w.To.After(s.Ready) { // of the first ledger
				promised, ok := first[s.Key]
				if !ok || w.From.Before(promised.Start) || w.From.Before(before) {
					t.Errorf("%v: the wait %v to %v begins before it was promised or before the last one ended", s.Key, w.From, w.To)
				}
				before = w.To
				continue
			}
			if !w.From.Equal(at) {
				t.Errorf("%v: nobody answers for %v to %v", s.Key, at, w.From)
			}
			at = w.To
		}
		if !at.Equal(s.Start) {
			t.Errorf("%v: the waits from %v end %v, the start is %v", s.Key, s.Ready, at, s.Start)
		}
	}
}

func TestSolvingTwiceIsTheSame(t *testing.T) {
	t.Parallel()
	for seed := range seeds(25) {
		p := rapid.Custom(anyProblem).Example(seed)
		a, err := Solve(p)
		if err != nil {
			t.Fatal(err)
		}
		b, _ := Solve(p)
		one, errA := json.Marshal(a)
		two, errB := json.Marshal(b)
		if errA != nil || errB != nil || string(one) != string(two) {
			t.Fatalf("two plans of one problem differ (%v, %v)", errA, errB)
		}
	}
}

// seeds is how many drawn yards a test tries: fewer where tests are asked to be short,
// as under the race detector, which in a pure package has little to find.
func seeds(all int) int {
	if testing.Short() {
		return max(1, all/6)
	}
	return all
}
