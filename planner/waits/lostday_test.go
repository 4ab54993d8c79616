package waits

import (
	"slices"
	"testing"
	"time"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
	"fairwindow/config"
	"fairwindow/planner"
)

// dayYard has one crew from 07:00 to 15:30, as in the trade's worked case.
func dayYard(rule config.LostDay) config.Yard {
	return config.Yard{
		Name: "Sample Yard", Zone: "UTC", LostDay: &rule,
		Crews: []config.Crew{{Name: "paint", People: 2, Shifts: []config.Shift{{Starts: "0 7 * * 1-5", Length: unit.Duration(8*time.Hour + 30*time.Minute)}}}},
	}
}

// damp is air at which the hull is 1.5 K over the dew point until a time, and 5 K after.
func damp(until float64) func(string, string, time.Time, time.Time) ([]conditions.Moment, error) {
	return func(_, _ string, from, to time.Time) ([]conditions.Moment, error) {
		var all []conditions.Moment
		for t := from.Truncate(15 * time.Minute); !t.After(to); t = t.Add(15 * time.Minute) {
			m := conditions.Moment{At: t, Air: 18, DewPoint: 15, Coldest: 20, Warmest: 20, Sure: conditions.Measured}
			if t.Before(at(until)) {
				m.Coldest = 16.5
			}
			all = append(all, m)
		}
		return all, nil
	}
}

func silent(string, string, time.Time, time.Time) ([]conditions.Moment, error) { return nil, nil }

var marginOfThree = conditions.Bound{Of: conditions.OfMargin, Least: true, At: 3, Written: "3 K", Owner: "card Gloss topcoat rev 3"}

// putOff is a coat told for Monday 07:00 and put off for the weather to an hour of the week.
func putOff(to float64, fixes bool) Entry {
	e := planner.Evidence{Bound: marginOfThree, Value: 1.5, Sure: conditions.Foretold, When: at(8), Issued: at(-6)}
	w := planner.Wait{From: at(7), To: at(to), Cause: planner.OutOfLimits, Evidence: e}
	return Entry{Move: Move{Plan: 41, Key: key("Kestrel", "gloss"), Crew: "paint", Place: "shed", From: at(7), To: at(to), Fixes: fixes}, Cause: w.Cause, Wait: w, Spans: []planner.Wait{w}}
}

func logged(hours float64) []Logged {
	return []Logged{{Crew: "paint", Day: "2026-04-06", Hours: hours, By: "Ines"}, {Crew: "prep", Day: "2026-04-06", Hours: 8, By: "Ines"}}
}

// The first case is the trade's own (shift 07:00 to 15:30, under 3 K until 11:30: 4.5 of
// 8.5 h are 53 %, a coat on the critical path, no other work): it counts under a half-day
// rule, and not if the crew was sent to sand instead. Half a day, the critical path and the
// crew's other work are asked by ER 415-1-15 (1989; the half day from memory) and by
// published contract clauses; that the weather itself is measured, and recorded day by
// day, is asked by such clauses too ("contemporaneous, verified daily").
func TestLostDayCases(t *testing.T) {
	struck := logged(8)
	struck[0].Struck = at(20)
	for _, c := range []struct {
		name     string
		rule     config.LostDay
		entry    Entry
		measured func(string, string, time.Time, time.Time) ([]conditions.Moment, error)
		log      []Logged
		now      float64
		lost     float64
		not      []Not
	}{
		{"the trade's case", config.LostDay{}, putOff(32, true), damp(11.5), logged(0), 40, 4.5, nil},
		{"sent to sand", config.LostDay{}, putOff(32, true), damp(11.5), logged(8), 40, 4.5, []Not{HadWork}},
		{"sent to sand for an hour", config.LostDay{}, putOff(32, true), damp(11.5), logged(1), 40, 4.5, nil},
		{"sent to sand, which the rule lets pass", config.LostDay{OtherWork: true}, putOff(32, true), damp(11.5), logged(8), 40, 4.5, nil},
		{"the line of the log struck through", config.LostDay{}, putOff(32, true), damp(11.5), struck, 40, 4.5, []Not{NotLogged}},
		{"nothing logged", config.LostDay{}, putOff(32, true), damp(11.5), nil, 40, 4.5, []Not{NotLogged}},
		{"four hours of eight and a half", config.LostDay{}, putOff(32, true), damp(11), logged(0), 40, 4, []Not{TooShort}},
		{"as measured it was dry", config.LostDay{}, putOff(32, true), damp(0), logged(0), 40, 0, []Not{TooShort}},
		{"the forecast alone", config.LostDay{}, putOff(32, true), silent, logged(0), 40, 0, []Not{Unmeasured}},
		{"the launch hangs on another", config.LostDay{}, putOff(32, false), damp(11.5), logged(0), 40, 4.5, []Not{NotFixing}},
		{"the launch hangs on another, which the rule lets pass", config.LostDay{AnyStage: true}, putOff(32, false), damp(11.5), logged(0), 40, 4.5, nil},
		{"put off by three hours", config.LostDay{}, putOff(10, true), damp(11.5), logged(0), 40, 3, []Not{TooShort}},
		{"a quarter is enough", config.LostDay{Part: unit.Written[unit.Share]{SI: .25, Value: 25, Unit: "%"}}, putOff(10, true), damp(11.5), logged(0), 40, 3, nil},
		{"all that fails is said", config.LostDay{}, putOff(32, false), silent, logged(8), 40, 0, []Not{Unmeasured, NotFixing, HadWork}},
		{"what is still to come is not lost", config.LostDay{}, putOff(32, true), damp(11.5), logged(0), 9, 2, []Not{TooShort}},
	} {
		days, err := LostDays([]Entry{c.entry}, Asked{
			Yard: dayYard(c.rule), Zone: time.UTC, From: at(0), To: at(24), Now: at(c.now), Log: c.log, Measured: c.measured,
		})
		if err != nil || len(days) != 1 {
			t.Errorf("%s: %d days (%v), want 1", c.name, len(days), err)
			continue
		}
		d := days[0]
		if !slices.Equal(d.Not, c.not) || d.Counts() != (len(c.not) == 0) {
			t.Errorf("%s: does not count for %v, want %v", c.name, d.Not, c.not)
		}
		if d.Lost != c.lost || d.Shift != 8.5 {
			t.Errorf("%s: lost %v of %v h, want %v of 8.5", c.name, d.Lost, d.Shift, c.lost)
		}
	}
}

// A coat that may start in the dry but would meet the night's dew is lost to it, if the
// night did bring it.
func TestTheNightAfterCounts(t *testing.T) {
	e := putOff(32, true)
	e.Spans[0].Evidence.When = at(29) // 05:00 on Tuesday
	night := func(from, to float64) func(string, string, time.Time, time.Time) ([]conditions.Moment, error) {
		return func(boat, place string, a, b time.Time) ([]conditions.Moment, error) {
			all, _ := damp(0)(boat, place, a, b)
			for i := range all {
				if !all[i].At.Before(at(from)) && all[i].At.Before(at(to)) {
					all[i].Coldest = 16
				}
			}
			return all, nil
		}
	}
	for _, c := range []struct {
		name     string
		from, to float64
		counts   bool
	}{{"dew at five", 28.5, 30, true}, {"a dry night", 0, 0, false}, {"dew at midnight only", 23, 24, false}} {
		days, err := LostDays([]Entry{e}, Asked{Yard: dayYard(config.LostDay{}), Zone: time.UTC, From: at(0), To: at(24), Now: at(40), Log: logged(0), Measured: night(c.from, c.to)})
		if err != nil || len(days) != 1 || days[0].Counts() != c.counts {
			t.Errorf("%s: %+v (%v)", c.name, days, err)
		}
	}
}

// One line for each boat and day; no rule, no statement; a weekend has no shift.
func TestLostDaysEachOnce(t *testing.T) {
	two := []Entry{putOff(8*24, true), putOff(8*24, false)}
	two[1].Key.Area = "house"
	ask := Asked{Yard: dayYard(config.LostDay{}), Zone: time.UTC, From: at(0), To: at(8 * 24), Now: at(9 * 24), Log: logged(0), Measured: damp(300)}
	days, err := LostDays(two, ask)
	if err != nil || len(days) != 6 { // Monday to Friday, and the Monday after
		t.Fatalf("%d days, want 6 (%v)", len(days), err)
	}
	if d := days[0]; !d.Counts() || d.Key.Area != "topsides" || d.Day != "2026-04-06" || d.Least != 1.5 || d.Greatest != 1.5 {
		t.Errorf("Monday is %+v", d)
	}
	if days[5].Day != "2026-04-13" {
		t.Errorf("the last day is %s", days[5].Day)
	}
	ask.Yard.LostDay = nil
	if days, err := LostDays(two, ask); err != nil || days != nil {
		t.Errorf("without a rule: %v, %v", days, err)
	}
}
