package conditions

import (
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"reflect"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"fairwindow/conditions/unit"
	"pgregory.net/rapid"
)

// foretells is a source's pairs over so many days up to monday: issued every 6 h, every
// 3 h to 48 h, wrong by what err says of each hour and lead.
func foretells(source string, days int, err func(at time.Time, lead time.Duration) (air, dew unit.TempDiff)) []Pair {
	var pairs []Pair
	for i := range 4 * days {
		issued := monday.Add(time.Duration(i-4*days) * 6 * time.Hour)
		for lead := time.Duration(0); lead <= 48*time.Hour; lead += 3 * time.Hour {
			at := issued.Add(lead)
			air, dew := err(at, lead)
			p := pair(issued, at, 0, 0, 5)
			p.Source, p.Place = source, "outdoors"
			p.Forecast.Air, p.Forecast.DewPoint = p.Observed.Air.Plus(air), p.Observed.DewPoint.Plus(dew)
			if !at.After(monday) {
				pairs = append(pairs, p)
			}
		}
	}
	return pairs
}

// luck is an error that is drawn for each hour, the same for all leads.
func luck(seed uint64, of float64) func(time.Time, time.Duration) (air, dew unit.TempDiff) {
	return func(at time.Time, _ time.Duration) (air, dew unit.TempDiff) {
		r := rand.New(rand.NewPCG(seed, uint64(at.Unix())))
		return unit.TempDiff(of * r.NormFloat64()), unit.TempDiff(of * r.NormFloat64())
	}
}

func exact(time.Time, time.Duration) (air, dew unit.TempDiff) { return 0, 0 }

// TestErrors by hand: three issues that nothing was learned before.
func TestErrors(t *testing.T) {
	var pairs []Pair
	for i, e := range []struct {
		lead     time.Duration
		air, dew unit.TempDiff
		wind     unit.Speed
	}{{6 * time.Hour, 3, -1, 7}, {3 * time.Hour, -1, -1, unit.NaN[unit.Speed]()}, {7 * time.Hour, 2, 0, 5}, {80 * time.Hour, 9, 9, 5}} {
		p := pair(monday.Add(-e.lead-time.Duration(i)*time.Minute), monday.Add(-time.Duration(i)*time.Minute), e.air, e.dew, e.wind)
		p.Source = "a"
		pairs = append(pairs, p)
	}
	got := Rank(pairs, []string{"a"}, "", monday).Skills[0].Leads
	near(t, "air", got[0].Air, math.Sqrt((9.0+1)/2), 1e-12)
	near(t, "dew point", got[0].DewPoint, 1, 1e-12)
	near(t, "margin", got[0].Margin, math.Sqrt((16.0+0)/2), 1e-12)
	near(t, "wind", got[0].Wind, 2, 1e-12)
	sixth, _, sixthMargin := Spread(6 * time.Hour)
	third, _, thirdMargin := Spread(3 * time.Hour)
	near(t, "CRPS of air", got[0].AirCRPS, (ranked(3, 0, float64(sixth))+ranked(-1, 0, float64(third)))/2, 1e-12)
	near(t, "CRPS of margin", got[0].MarginCRPS, (ranked(4, 0, float64(sixthMargin))+ranked(0, 0, float64(thirdMargin)))/2, 1e-12)
	if got[0].Pairs != 2 || got[0].WindPairs != 1 || got[1].Pairs != 1 || got[1].Air != 2 || got[2] != (Errors{}) {
		t.Errorf("%+v", got)
	}
	near(t, "a value without doubt", ranked(3, 1, 0), 2, 0)
}

// TestScoredByTheDaysBefore: a bias that was learned by then is out, and one that was not
// is in: nothing is scored by what it taught itself.
func TestScoredByTheDaysBefore(t *testing.T) {
	wrong := func(time.Time, time.Duration) (air, dew unit.TempDiff) { return 2, 0 }
	long := Rank(foretells("a", 60, wrong), []string{"a"}, "", monday).Skills[0].Leads[1]
	day := Rank(foretells("a", 1, wrong), []string{"a"}, "", monday.Add(-time.Minute)).Skills[0].Leads[1]
	if !(long.Air < 0.3) || math.Abs(day.Air-2) > 1e-9 {
		t.Errorf("after two months it errs by %v, on its first day by %v", long.Air, day.Air)
	}
}

// TestTheBetterLeads: one that is more right takes the lead; a tie and too little leave it.
func TestTheBetterLeads(t *testing.T) {
	bad, fair := luck(1, 2), luck(2, 1)
	dewOnly := func(at time.Time, lead time.Duration) (air, dew unit.TempDiff) {
		_, dew = bad(at, lead)
		return 0, dew
	}
	two := []string{"bad", "fair"}
	for name, c := range map[string]struct {
		pairs   []Pair
		sources []string
		leader  string
		want    string
	}{
		"nothing known":               {nil, two, "", "bad fair"},
		"nothing known, one leads":    {nil, two, "fair", "fair bad"},
		"a leader that is gone":       {nil, two, "gone", "bad fair"},
		"nobody":                      {nil, nil, "gone", ""},
		"the better":                  {append(foretells("bad", 20, bad), foretells("fair", 20, fair)...), two, "bad", "fair bad"},
		"the better stays":            {append(foretells("bad", 20, bad), foretells("fair", 20, fair)...), two, "fair", "fair bad"},
		"three days are too few":      {append(foretells("bad", 20, bad), foretells("fair", 3, exact)...), two, "bad", "bad fair"},
		"by the margin alone":         {append(foretells("bad", 20, dewOnly), foretells("fair", 20, exact)...), two, "bad", "fair bad"},
		"the same":                    {append(foretells("bad", 20, bad), foretells("fair", 20, bad)...), two, "bad", "bad fair"},
		"only the other foretold":     {foretells("fair", 4, fair), two, "bad", "fair bad"},
		"no hour that both foretold":  {append(foretells("bad", 20, bad), later(foretells("fair", 20, fair))...), two, "bad", "bad fair"},
		"three, by how near they are": {append(append(foretells("bad", 20, bad), foretells("fair", 20, fair)...), foretells("good", 20, exact)...), []string{"bad", "none", "fair", "good"}, "", "good fair bad none"},
	} {
		r := Rank(c.pairs, c.sources, c.leader, monday)
		var order []string
		for _, s := range r.Skills {
			order = append(order, s.Source)
		}
		if got := strings.Join(order, " "); got != c.want || len(order) > 0 && r.Leader != order[0] {
			t.Errorf("%s: %s leads, %s; want %s", name, r.Leader, got, c.want)
		}
	}
}

// later moves pairs between the hours that others are of.
func later(pairs []Pair) []Pair {
	for i := range pairs {
		pairs[i].At = pairs[i].At.Add(-time.Hour)
	}
	return pairs
}

// TestFairHours: a source that foretells only quiet hours is compared by those alone.
func TestFairHours(t *testing.T) {
	quiet := func(at time.Time) bool { return at.Hour() < 12 }
	stormy := func(at time.Time, lead time.Duration) (air, dew unit.TempDiff) {
		if quiet(at) {
			return luck(1, 1)(at, lead)
		}
		return luck(1, 5)(at, lead)
	}
	fussy := foretells("fussy", 20, luck(2, 1.5))
	fussy = slices.DeleteFunc(fussy, func(p Pair) bool { return !quiet(p.At) })
	r := Rank(append(foretells("all", 20, stormy), fussy...), []string{"all", "fussy"}, "all", monday)
	all, other := r.Skills[0], r.Skills[1]
	if r.Leader != "all" || !(other.Behind.Gain < 0) || !(other.Leads[1].Air < all.Leads[1].Air) {
		t.Errorf("%s leads, %+v; it errs by %v, all by %v", r.Leader, other.Behind, other.Leads[1].Air, all.Leads[1].Air)
	}
}

// TestNoTakingTurns: two that are equally right, each with its own luck, night after
// night: the lead changes seldom, where the mere score would change it often.
func TestNoTakingTurns(t *testing.T) {
	pairs := append(foretells("a", 35, luck(3, 1.5)), foretells("b", 35, luck(4, 1.5))...)
	slices.SortStableFunc(pairs, func(a, b Pair) int { return a.At.Compare(b.At) })
	leader, turns, mere := "a", 0, 0
	before := false
	for ago := 20; ago >= 0; ago-- {
		now := monday.Add(-time.Duration(ago) * day)
		r := Rank(pairs[until(pairs, now.Add(-judged*day)):], []string{"a", "b"}, leader, now)
		if r.Leader != leader {
			turns++
		}
		leader = r.Leader
		ahead := r.Skills[1].Behind.Gain > 0 == (leader == "a")
		if ahead != before {
			mere++
		}
		before = ahead
	}
	t.Logf("%d changes in 21 nights; the mere score: %d", turns, mere)
	if turns > 1 || mere < 2 {
		t.Errorf("%d changes, the mere score: %d", turns, mere)
	}
}

// TestRankHolds: whatever pairs there are, the leader and every source are there once,
// names and the order of the pairs do not matter, two ways of asking agree, an exact
// source leads sooner or later and no other takes over from it.
func TestRankHolds(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		names := []string{"a", "b", "c"}[:rapid.IntRange(1, 3).Draw(t, "sources")]
		var pairs []Pair
		for i, name := range names {
			days := rapid.IntRange(0, 8).Draw(t, "days")
			err := luck(rapid.Uint64().Draw(t, "seed"), rapid.Float64Range(0.5, 4).Draw(t, "error"))
			if i == 0 && rapid.Bool().Draw(t, "exact") {
				days, err = 8, exact
			}
			pairs = append(pairs, foretells(name, days, err)...)
		}
		isExact := len(pairs) > 0 && pairs[0].Source == "a" && pairs[0].Forecast.Air == pairs[0].Observed.Air
		leader := rapid.SampledFrom(append(names, "gone", "")).Draw(t, "leader")
		r := Rank(pairs, names, leader, monday)
		var all []string
		for _, s := range r.Skills {
			all = append(all, s.Source)
			if isExact && r.Leader == "a" && s.Behind.Gain > 0 {
				t.Fatalf("%s is more right than what is exactly right: %+v", s.Source, s.Behind)
			}
			if s.Behind.Hours > 0 && isExact && r.Leader != "a" && s.Source == "a" && s.Behind.Days >= leastDays {
				t.Fatalf("%s leads before what is exactly right: %+v", r.Leader, s.Behind)
			}
		}
		if all[0] != r.Leader {
			t.Fatalf("%s leads, %v", r.Leader, all)
		}
		if slices.Sort(all); !slices.Equal(all, names) {
			t.Fatalf("%v of %v", all, names)
		}
		if text, err := json.Marshal(r); err != nil || !reflect.DeepEqual(reread(t, text), r) {
			t.Fatalf("%s, %v", text, err)
		}
		renamed := map[string]string{"a": "z", "b": "y", "c": "x", "gone": "away", "": ""}
		var others []Pair
		for _, p := range pairs {
			p.Source = renamed[p.Source]
			others = append(others, p)
		}
		rand.New(rand.NewPCG(1, 2)).Shuffle(len(others), func(i, j int) { others[i], others[j] = others[j], others[i] })
		var those []string
		for _, n := range names {
			those = append(those, renamed[n])
		}
		again := Rank(others, those, renamed[leader], monday)
		for i := range r.Skills {
			r.Skills[i].Source = renamed[r.Skills[i].Source]
		}
		if r.Leader = renamed[r.Leader]; !reflect.DeepEqual(again, r) {
			t.Fatalf("renamed\n%+v\nwas\n%+v", again, r)
		}
	})
}

func reread(t *rapid.T, text []byte) (r Ranking) {
	if err := json.Unmarshal(text, &r); err != nil {
		t.Fatal(err)
	}
	return r
}

// TestRankOfLowland holds the real pairs of one day of a Nordic model, as if all its
// stations were one site's places, against the persistence of what was measured, the
// usual reference of verification: the model is more right, and more so at long leads.
func TestRankOfLowland(t *testing.T) {
	pairs := lowland(t)
	type spot struct {
		place string
		at    int64
	}
	was := map[spot]Weather{}
	for _, p := range pairs {
		was[spot{p.Place, p.At.Unix()}] = p.Observed
	}
	var both []Pair
	last := time.Time{}
	for _, p := range pairs {
		held, ok := was[spot{p.Place, p.Issued.Unix()}]
		if !ok {
			continue
		}
		p.Source = "model"
		other := p
		other.Source = "persistence"
		other.Forecast.Air, other.Forecast.DewPoint, other.Forecast.Wind = held.Air, held.DewPoint, held.Wind
		both = append(both, p, other)
		if p.At.After(last) {
			last = p.At
		}
	}
	r := Rank(both, []string{"model", "persistence"}, "model", last)
	model, persistence := r.Skills[0], r.Skills[1]
	var said []string
	for i := range leadGroups {
		m, p := model.Leads[i], persistence.Leads[i]
		said = append(said, fmt.Sprintf("to %v: %s pairs, air %.2f and %.2f K", leadGroups[i], strconv.Itoa(m.Pairs), m.Air, p.Air))
		if m.Pairs != p.Pairs || m.Pairs == 0 {
			t.Errorf("%d and %d pairs", m.Pairs, p.Pairs)
		}
		if i > 0 && !(m.MarginCRPS < p.MarginCRPS && m.Air < p.Air) {
			t.Errorf("to %v the model errs by %+v, persistence by %+v", leadGroups[i], m, p)
		}
	}
	t.Logf("%s; %+v", strings.Join(said, "; "), persistence.Behind)
	if !(persistence.Behind.Gain < 0) {
		t.Errorf("%+v", persistence.Behind)
	}
}

func BenchmarkRank(b *testing.B) {
	pairs := append(foretells("a", 60, luck(3, 1.5)), foretells("b", 60, luck(4, 1.5))...)
	for b.Loop() {
		Rank(pairs, []string{"a", "b"}, "a", monday)
	}
}
