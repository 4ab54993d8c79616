package pages

import (
	"strings"
	"testing"
	"time"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
	"fairwindow/config"
	"fairwindow/planner"
)

// What must come first is said before anything about the weather or the clock.
func TestShiftTellsWhatComesFirst(t *testing.T) {
	f := beforeIt()
	for i := range f.presses {
		if f.presses[i].Key.Boat == gloss.Boat && f.presses[i].Key.Stage != "" {
			f.presses = f.presses[:i]
			break
		}
	}
	_, body := get(t, f, "/shift?crew=paint")
	has(t, body, "Not yet: wash is not reported finished.")
	f.presses = nil
	_, body = get(t, f, "/shift?crew=paint")
	has(t, body, "Not yet: Kestrel is not reported to be here.")
}

// A coat that goes on is told until when its limits hold by the outlook, and what runs ends
// as the newest plan has it, for people were told of it before it was begun.
func TestShiftTellsUntilWhen(t *testing.T) {
	c := clock{now: now, zone: time.UTC}
	rules := conditions.Rules{{Of: conditions.OfMargin, At: 3, Least: true}}
	var ahead []conditions.Moment
	for i, over := range []float64{5, 5, 4, 2, 5} {
		m := momentAt(now.Add(time.Duration(i)*time.Hour), conditions.Foretold)
		m.Coldest = m.DewPoint + unit.Temperature(over)
		ahead = append(ahead, m)
	}
	for _, of := range []struct {
		name       string
		ahead      []conditions.Moment
		left, fact string
	}{
		{"it closes", ahead, "3 h left", ""},
		{"not so soon", ahead[:3], "", "by the forecast the limits hold for 2 h and more"},
		{"it is closed", ahead[3:], "", "by the forecast the limits hold no longer: look at the margin"},
		{"no forecast", nil, "", "no forecast says how long the limits hold"},
	} {
		counts, facts := limitsHold(of.ahead, rules, c)
		left := ""
		if len(counts) == 1 && counts[0].Shuts {
			left = counts[0].Left
		}
		if left != of.left || strings.Join(facts, "") != of.fact {
			t.Errorf("%s: %+v %q", of.name, counts, facts)
		}
	}
	f := onShiftYard()
	for i := range f.draft.Stages {
		if f.draft.Stages[i].Key == gloss {
			f.draft.Stages[i].End = at(7, 16, 45)
		}
	}
	_, body := get(t, f, "/shift?crew=paint")
	has(t, body, "Planned until <b>16:45</b>", "limits hold")
}

// The passes that are left of a coat that was stopped are its crew's, though nobody was told
// of them yet.
func TestShiftShowsWhatIsLeftOfACoat(t *testing.T) {
	f := onShiftYard()
	rest := planner.Key{Boat: gloss.Boat, Area: gloss.Area, Stage: "rest of gloss coat"}
	f.presses = append(f.presses, planner.Press{ID: 91, Kind: planner.StoppedAt, Key: gloss, Pass: 1, Happened: at(7, 10, 15)})
	_, body := get(t, f, "/shift?crew=paint")
	hasNot(t, body, rest.Stage)
	f.draft.Stages = append(f.draft.Stages, planner.Planned{
		Key: rest, Kind: config.Coat, Place: "Booth 1", Crew: "paint", Start: at(7, 11, 0), End: at(7, 13, 0), State: planner.Firm,
	})
	_, body = get(t, f, "/shift?crew=paint")
	has(t, body, ">rest of gloss coat</a></h2>", "Ask the scheduler: it is planned anew, and not released.", `value="started"`)
	_, prep := get(t, f, "/shift?crew=prep")
	hasNot(t, prep, rest.Stage)
}
