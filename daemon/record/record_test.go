package record

import (
	"bytes"
	"encoding/json"
	"math"
	"reflect"
	"testing"
	"time"

	"pgregory.net/rapid"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
	"fairwindow/config"
	"fairwindow/planner"
)

// Yard, boat and card are invented, and only for these tests.

func at(day, hour, minute int) time.Time {
	return time.Date(2026, 5, 3+day, hour, minute, 0, 0, time.UTC)
}

func must[T ~float64](text string) unit.Written[T] {
	w, err := unit.Parse[T](text)
	if err != nil {
		panic(err)
	}
	return w
}

func steady(hours float64) conditions.Table {
	takes := unit.Duration(hours * float64(time.Hour))
	return conditions.Table{{At: must[unit.Temperature]("5 C"), Takes: takes}, {At: must[unit.Temperature]("35 C"), Takes: takes}}
}

func testYard() config.Yard {
	margin, humid := must[unit.TempDiff]("3 K"), must[unit.Humidity]("80 %")
	return config.Yard{
		Name: "Test Yard", Zone: "UTC",
		Places: []config.Place{{Name: "booth", Kind: config.Booth}, {Name: "row", Kind: config.Standing}},
		Cards: []config.Card{{
			Name: "Gloss", Revision: 2, Illustrative: true, Material: "polyurethane", Limits: config.Limits{Margin: &margin, HumidityMax: &humid},
			Cure:     conditions.Cure{Recoat: steady(8), LastRecoat: steady(30), Sandable: steady(16)},
			FlashOff: config.Interval{Least: unit.Duration(30 * time.Minute), Greatest: unit.Duration(time.Hour)},
			Spread:   config.Spread{Dry: must[unit.Film]("40 um")},
		}},
		Systems: []config.System{{Name: "two coats", Stages: []config.Stage{
			{Name: "first", Kind: config.Coat, Card: "Gloss", Passes: 2, Skill: "paint"},
			{Name: "rub down", Kind: config.Sand, Grit: 400, Skill: "sand"},
			{Name: "second", Kind: config.Coat, Card: "Gloss", Passes: 1, Skill: "paint"},
			{Name: "look", Kind: config.Inspect},
		}}},
		Sensors: []config.Sensor{{Name: "probe 1", Place: "booth", Due: "2027-04-01"}},
		People:  []config.Person{{Name: "Ines", Crews: []string{"paint"}}},
	}
}

func testBoat() config.Boat {
	return config.Boat{
		Name: "Alder", Length: must[unit.Length]("14 m"), Beam: must[unit.Length]("4 m"), Arrives: "2026-05-04",
		Areas: []config.Area{{Name: "topsides", System: "two coats", Size: must[unit.Area]("40 m2")}},
	}
}

type script []planner.Press

func (s *script) add(kind planner.PressKind, stage string, when time.Time, change ...func(*planner.Press)) int64 {
	p := planner.Press{ID: int64(len(*s) + 1), Kind: kind, Key: planner.Key{Boat: "Alder", Area: "topsides", Stage: stage}, Happened: when, Entered: when.Add(time.Minute), By: "Ines"}
	for _, c := range change {
		c(&p)
	}
	*s = append(*s, p)
	return p.ID
}

func pass(n int) func(*planner.Press)          { return func(p *planner.Press) { p.Pass = n } }
func note(text string) func(*planner.Press)    { return func(p *planner.Press) { p.Note = text } }
func entered(t time.Time) func(*planner.Press) { return func(p *planner.Press) { p.Entered = t } }

func (s *script) boat(kind planner.PressKind, place string, when time.Time) {
	s.add(kind, "", when, func(p *planner.Press) { p.Key.Area, p.Place = "", place })
}

func (s *script) strike(id int64, why string, when time.Time) {
	s.add(planner.Struck, "", when, func(p *planner.Press) { p.Strikes, p.Note, p.By = id, why, "Rui" })
}

// painted is a first coat of two passes, and a second a day later.
func painted() *script {
	s := &script{}
	s.boat(planner.Arrived, "booth", at(1, 7, 0))
	s.add(planner.Started, "first", at(1, 8, 0))
	s.add(planner.PassDone, "first", at(1, 8, 50), pass(1), entered(at(1, 11, 0)))
	s.add(planner.PassDone, "first", at(1, 9, 40), pass(2))
	s.add(planner.Started, "second", at(2, 8, 0))
	s.add(planner.Finished, "second", at(2, 9, 0))
	return s
}

// measured answers what a record asks for with one air, but where nothing was measured.
func measured(f Facts, air func(t time.Time) (conditions.Moment, bool)) Facts {
	for _, w := range Wants(f) {
		for _, t := range w.At {
			if m, ok := air(t); ok {
				m.At = t
				f.Air = append(f.Air, Air{Place: w.Place, Moment: m, By: []string{"probe 1"}})
			}
		}
	}
	return f
}

func fair(time.Time) (conditions.Moment, bool) {
	return conditions.Moment{Air: 20, DewPoint: 12, Coldest: 18, Warmest: 19, Sure: conditions.Measured}, true
}

func facts(s *script) Facts {
	return Facts{Yard: testYard(), Boat: testBoat(), Presses: *s}
}

func TestRecordOfACoat(t *testing.T) {
	f := measured(facts(painted()), func(t time.Time) (conditions.Moment, bool) {
		m, _ := fair(t)
		if t.Equal(at(1, 8, 30)) {
			m.DewPoint = 15.5 // 2.5 K below the hull
		}
		return m, !t.Equal(at(1, 9, 0)) && !t.Equal(at(1, 9, 30))
	})
	r := Of(f)
	if len(r.Coats) != 2 {
		t.Fatalf("%d coats", len(r.Coats))
	}
	c := r.Coats[0]
	if c.Card != "Gloss" || c.Revision != 2 || !c.Illustrative || !c.Later || c.Place != "booth" || c.DryCard != 40 || !reflect.DeepEqual(c.Crews, []string{"paint"}) {
		t.Errorf("%+v", c)
	}
	if len(c.Passes) != 2 || !c.Passes[0].Late || c.Passes[1].Late || c.Passes[1].Flash != 50 || c.Passes[1].Short || c.Passes[1].Greatest != 60 {
		t.Errorf("passes %+v", c.Passes)
	}
	var times []time.Time
	for _, s := range c.Air {
		times = append(times, s.At)
	}
	if want := []time.Time{at(1, 8, 0), at(1, 8, 30), at(1, 9, 0), at(1, 9, 30), at(1, 9, 40)}; !reflect.DeepEqual(times, want) {
		t.Errorf("conditions at %v", times)
	}
	if want := []Gap{{at(1, 9, 0), at(1, 9, 40), "air and hull"}}; !reflect.DeepEqual(c.Gaps, want) {
		t.Errorf("gaps %+v", c.Gaps)
	}
	// 60.0 % at 20 °C over a dew point of 12 °C, by the vapour pressures of Magnus over
	// water (WMO-No. 8): 14.02 and 23.37 hPa.
	if s := c.Air[0]; s.Humidity == nil || math.Abs(*s.Humidity-60) > .2 || *s.Margin != 6 {
		t.Errorf("%+v", s)
	}
	margin := c.Limits[0]
	if margin.Of == 0 || margin.Bound.Of != conditions.OfMargin || *margin.Worst != 2.5 || *margin.Margin != -.5 || !margin.When.Equal(at(1, 8, 30)) || margin.Kept() != conditions.No || margin.Missed != 2 {
		t.Errorf("margin %+v", margin)
	}
	if humid := c.Limits[1]; humid.Kept() != conditions.Undecided || *humid.Margin <= 0 {
		t.Errorf("humidity %+v: not measured throughout is not within", humid)
	}
	if w := r.Coats[1].Recoat; w == nil || w.Kept != Within || w.Over != "first" || math.Abs(*w.Fast-(22+1.0/3)/30) > .001 || w.Uncounted != 0 {
		t.Errorf("recoat %+v", w)
	}
	if want := []Instrument{{"probe 1", "2027-04-01"}}; !reflect.DeepEqual(r.Instruments, want) {
		t.Errorf("%+v", r.Instruments)
	}
}

func TestRecoatIsKeptByTheClock(t *testing.T) {
	for name, c := range map[string]struct {
		second time.Time
		air    func(time.Time) (conditions.Moment, bool)
		more   func(*script)
		kept   RecoatKept
	}{
		"within":    {at(2, 8, 0), fair, nil, Within},
		"too early": {at(1, 14, 0), fair, nil, TooEarly},
		"too late":  {at(3, 8, 0), fair, nil, TooLate},
		"early, with a silence": {at(1, 14, 0), func(t time.Time) (conditions.Moment, bool) {
			m, _ := fair(t)
			return m, t.Before(at(1, 11, 0)) || t.After(at(1, 12, 0))
		}, nil, NotKnown},
		"late enough, with a silence": {at(2, 8, 0), func(t time.Time) (conditions.Moment, bool) {
			m, _ := fair(t)
			return m, t.Before(at(1, 20, 0)) || t.After(at(1, 21, 0))
		}, nil, Within},
		"never measured": {at(2, 8, 0), func(time.Time) (conditions.Moment, bool) { return conditions.Moment{}, false }, nil, NotKnown},
		"sanded": {at(3, 8, 0), fair, func(s *script) {
			s.add(planner.Started, "rub down", at(2, 14, 0))
			s.add(planner.Finished, "rub down", at(2, 16, 0))
		}, Sanded},
	} {
		t.Run(name, func(t *testing.T) {
			s := &script{}
			s.boat(planner.Arrived, "booth", at(1, 7, 0))
			s.add(planner.Started, "first", at(1, 8, 0))
			s.add(planner.PassDone, "first", at(1, 8, 50), pass(1))
			s.add(planner.PassDone, "first", at(1, 9, 0), pass(2))
			if c.more != nil {
				c.more(s)
			}
			s.add(planner.Override, "second", c.second, note("by my decision"))
			r := Of(measured(facts(s), c.air))
			w := r.Coats[1].Recoat
			if w == nil || w.Kept != c.kept {
				t.Errorf("%+v, want %s", w, c.kept)
			}
			if c.kept == Sanded && (len(r.Coats[1].Sandings) != 1 || r.Coats[1].Sandings[0].Grit != 400) {
				t.Errorf("%+v", r.Coats[1].Sandings)
			}
			if !r.Coats[0].Passes[1].Short {
				t.Error("10 minutes from end to end are no flash-off of 30")
			}
		})
	}
}

// A coat that was rejected keeps its record, and the one that replaced it has its own.
func TestARejectedCoatStays(t *testing.T) {
	s := painted()
	s.add(planner.Rejected, "second", at(2, 12, 0), note("runs at the bow"))
	s.add(planner.Started, "abrade for second", at(3, 8, 0))
	s.add(planner.Finished, "abrade for second", at(3, 9, 0))
	s.add(planner.Started, "second", at(3, 10, 0))
	f := facts(s)
	k := planner.Key{Boat: "Alder", Area: "topsides", Stage: "second"}
	f.Entries = []Entry{
		{ID: 1, Key: k, At: at(2, 8, 30), By: "Ines", Wet: []float64{200}, Instrument: "comb"},
		{ID: 2, Key: k, At: at(3, 10, 30), By: "Ines", Wet: []float64{100, 110}, Instrument: "comb"},
	}
	r := Of(measured(f, fair))
	if len(r.Coats) != 3 || r.Coats[1].Rejected != "runs at the bow" || r.Coats[2].Rejected != "" || r.Coats[2].Done {
		t.Fatalf("%+v", r.Coats)
	}
	if r.Coats[1].Wet.Mean != 200 || r.Coats[2].Wet.Mean != 105 {
		t.Errorf("films %+v %+v: each attempt has its own", r.Coats[1].Wet, r.Coats[2].Wet)
	}
	if w := r.Coats[2].Recoat; w.Over != "first" || w.Kept != Sanded {
		t.Errorf("%+v: what was rejected lies under nothing", w)
	}
}

func TestStruckStaysAndCountsNoMore(t *testing.T) {
	s := painted()
	s.strike(6, "it was another boat", at(2, 9, 5))
	f := facts(s)
	k := planner.Key{Boat: "Alder", Area: "topsides", Stage: "first"}
	f.Entries = []Entry{
		{ID: 1, Key: k, At: at(1, 8, 30), By: "Ines", Wet: []float64{999}, Instrument: "comb"},
		{ID: 2, Key: k, At: at(1, 8, 40), Entered: at(1, 8, 40), By: "Rui", Strikes: 1, Note: "misread"},
	}
	r := Of(measured(f, fair))
	if c := r.Coats[1]; c.Done || !c.Ended.IsZero() {
		t.Errorf("the end that was struck still ends: %+v", c)
	}
	last := r.Work[len(r.Work)-1]
	if last.Kind != planner.Finished || last.Struck == nil || *last.Struck != (Strike{"Rui", at(2, 9, 6), "it was another boat"}) {
		t.Errorf("%+v", last)
	}
	if c := r.Coats[0]; c.Wet != nil || len(c.Entries) != 1 || c.Entries[0].Struck == nil || c.Entries[0].Struck.Why != "misread" {
		t.Errorf("%+v", c.Entries)
	}
}

// The card and the limits in force when a coat was reported stay its own, whatever the
// yard file says later.
func TestTermsAreThoseOfTheDay(t *testing.T) {
	s := painted()
	was := testYard().Cards[0]
	was.Revision = 1
	(*s)[1].Terms = "abc"
	f := facts(s)
	f.Terms = map[string]Terms{"abc": {Card: was, Rules: conditions.Rules{{Of: conditions.OfMargin, Least: true, At: 7, Owner: "card Gloss rev 1"}}}}
	c := Of(measured(f, fair)).Coats
	if c[0].Revision != 1 || c[0].Later || len(c[0].Limits) != 1 || c[0].Limits[0].Kept() != conditions.No || c[1].Revision != 2 || !c[1].Later {
		t.Errorf("%+v", c)
	}
}

// A boat that is moved in the minute in which a coat ends was coated where it stood.
func TestAMoveAtTheEndIsAfterIt(t *testing.T) {
	s := painted()
	want := Of(measured(facts(s), fair)).Of(planner.Key{Boat: "Alder", Area: "topsides", Stage: "second"})
	s.boat(planner.Moved, "row", at(2, 9, 0))
	if got := Of(measured(facts(s), fair)).Of(planner.Key{Boat: "Alder", Area: "topsides", Stage: "second"}); !reflect.DeepEqual(got, want) {
		t.Errorf("%+v\nwant %+v", got, want)
	}
}

// The same facts, however they come in, give the same bytes, and what is read back too.
func TestCanonicalIsStable(t *testing.T) {
	s := painted()
	s.strike(3, "a slip", at(1, 12, 0))
	want, err := Of(measured(facts(s), fair)).Canonical()
	if err != nil {
		t.Fatal(err)
	}
	rapid.Check(t, func(t *rapid.T) {
		f := measured(facts(s), fair)
		f.Presses = rapid.Permutation([]planner.Press(*s)).Draw(t, "presses")
		f.Air = rapid.Permutation(f.Air).Draw(t, "air")
		f.Signatures = []Signature{{ID: 1, Key: planner.Key{Boat: "Alder"}, Act: Signed, By: "Rui", Digest: "x"}}
		r := Of(f)
		got, err := r.Canonical()
		if err != nil || !bytes.Equal(got, want) {
			t.Fatalf("other bytes, %v", err)
		}
		var back Record
		if err := json.Unmarshal(got, &back); err != nil {
			t.Fatal(err)
		}
		if again, _ := back.Canonical(); !bytes.Equal(again, want) {
			t.Fatalf("read back and written again:\n%s", again)
		}
	})
}

func TestLocked(t *testing.T) {
	whole := planner.Key{Boat: "Alder"}
	first := planner.Key{Boat: "Alder", Area: "topsides", Stage: "first"}
	second := planner.Key{Boat: "Alder", Area: "topsides", Stage: "second"}
	sign := func(k planner.Key, act Act) Signature { return Signature{Key: k, Act: act} }
	for name, c := range map[string]struct {
		signed                []Signature
		whole, first, another bool
	}{
		"nothing signed":     {nil, false, false, false},
		"a coat":             {[]Signature{sign(first, Signed)}, false, true, false},
		"the whole":          {[]Signature{sign(whole, Signed)}, true, true, true},
		"the whole reopened": {[]Signature{sign(whole, Signed), sign(whole, Reopened)}, false, false, false},
		"signed once more":   {[]Signature{sign(whole, Signed), sign(whole, Reopened), sign(whole, Signed)}, true, true, true},
		"another boat":       {[]Signature{sign(planner.Key{Boat: "Birch"}, Signed)}, false, false, false},
		"a coat, the whole reopened": {[]Signature{sign(first, Signed), sign(whole, Signed), sign(whole, Reopened)},
			false, true, false},
	} {
		for key, want := range map[planner.Key]bool{whole: c.whole, first: c.first, second: c.another} {
			if _, got := Locked(c.signed, key); got != want {
				t.Errorf("%s: %v locked %v", name, key, got)
			}
		}
	}
}
