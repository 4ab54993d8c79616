package waits

import (
	"cmp"
	"math"
	"slices"
	"time"

	"fairwindow/conditions"
	"fairwindow/config"
	"fairwindow/planner"
)

// Not is why a day does not count as lost.
type Not string

// Why a day does not count.
const (
	TooShort   Not = "too short"    // less of the shift was lost than the rule asks for
	Unmeasured Not = "not measured" // the forecast alone is no evidence of what the weather was
	NotFixing  Not = "not fixing"   // the launch did not hang on the stage
	NotLogged  Not = "not logged"   // nobody wrote down what the crew did
	HadWork    Not = "had work"     // so much other work that less than the rule's part was lost
)

// LostDay is a day on which the weather kept a crew from a boat, and whether it counts by
// the yard's rule.
type LostDay struct {
	Boat  string      `json:"boat"`
	Day   string      `json:"day"` // 2026-04-07
	Key   planner.Key `json:"key"` // the stage that was put off
	Place string      `json:"place"`
	Crew  string      `json:"crew"`
	Plan  int64       `json:"plan"` // that put it off
	Told  time.Time   `json:"told"` // when
	// Then is the weather as known when it was put off.
	Then planner.Evidence `json:"then"`
	// Shift is the crew's day, PutOff what of it was put off for the weather, Lost what of that
	// was outside the limit as measured; hours. An hour is outside too if a coat begun in it
	// would have met a measured hour outside where the forecast had said so.
	Shift  float64 `json:"shift_h"`
	PutOff float64 `json:"put_off_h"`
	Lost   float64 `json:"lost_h"`
	// Least and Greatest are what was measured within what was put off, Measured for how many
	// hours there is a value.
	Least    float64 `json:"least,omitempty"`
	Greatest float64 `json:"greatest,omitempty"`
	Measured float64 `json:"measured_h"`
	Fixes    bool    `json:"fixes_launch"`
	Worked   float64 `json:"worked_h"` // by the log
	Logged   bool    `json:"logged"`
	Not      []Not   `json:"not,omitempty"` // why it does not count; none: it counts
}

// Counts reports whether the day counts as lost.
func (d LostDay) Counts() bool { return len(d.Not) == 0 }

// Asked is what a statement of lost days is made from.
type Asked struct {
	Yard     config.Yard
	Zone     *time.Location
	From, To time.Time // days that begin within; what is still to come is left out
	Now      time.Time
	Log      []Logged
	// Measured are the moments of a place and of a boat in it between two times, in order; a gap
	// is a gap.
	Measured func(boat, place string, from, to time.Time) ([]conditions.Moment, error)
}

// LostDays are the days on which a boat's stage was put off for the weather within its crew's
// shift, one for each boat and day: of several stages the one that counts, else the one that
// lost most. Without a rule in the yard file there are none.
func LostDays(all []Entry, a Asked) ([]LostDay, error) {
	if a.Yard.LostDay == nil {
		return nil, nil
	}
	best := map[[2]string]LostDay{}
	for i := range all {
		e := &all[i]
		for _, w := range e.Spans {
			if w.Cause != planner.OutOfLimits {
				continue
			}
			for day := midnight(w.From, a.Zone); day.Before(w.To) && day.Before(a.To) && day.Before(a.Now); day = day.AddDate(0, 0, 1) {
				if day.Before(midnight(a.From, a.Zone)) {
					continue
				}
				d, ok, err := a.day(e, w, day)
				if err != nil {
					return nil, err
				}
				id := [2]string{d.Boat, d.Day}
				if was, known := best[id]; ok && (!known || better(d, was)) {
					best[id] = d
				}
			}
		}
	}
	days := make([]LostDay, 0, len(best))
	for _, d := range best {
		days = append(days, d)
	}
	slices.SortFunc(days, func(x, y LostDay) int { return cmp.Or(cmp.Compare(x.Day, y.Day), cmp.Compare(x.Boat, y.Boat)) })
	return days, nil
}

func better(d, was LostDay) bool {
	if d.Counts() != was.Counts() {
		return d.Counts()
	}
	return d.Lost > was.Lost || d.Lost == was.Lost && d.PutOff > was.PutOff
}

func midnight(t time.Time, zone *time.Location) time.Time {
	t = t.In(zone)
	return time.Date(t.Year(), t.Month(), t.Day(), 0, 0, 0, 0, zone)
}

// day judges one day of one stage; false if its crew had no shift that was put off.
func (a Asked) day(e *Entry, first planner.Wait, day time.Time) (LostDay, bool, error) {
	d := LostDay{
		Boat: e.Key.Boat, Day: day.Format(time.DateOnly), Key: e.Key, Place: e.Place, Crew: e.Crew, Plan: e.Plan, Told: e.At,
		Then: first.Evidence, Fixes: e.Fixes, Least: math.Inf(1), Greatest: math.Inf(-1),
	}
	shifts, err := a.Yard.ShiftsOf(e.Crew, day, day.AddDate(0, 0, 1))
	if err != nil {
		return d, false, nil // the crew is no longer in the yard file: nobody knows its hours
	}
	var off []planner.Span
	for _, s := range shifts {
		d.Shift += s.To.Sub(s.From).Hours()
		for _, w := range e.Spans {
			if w.Cause != planner.OutOfLimits {
				continue
			}
			if x, ok := within(planner.Span{From: w.From, To: w.To}, s.From, earlier(s.To, a.Now)); ok {
				off = append(off, x)
				d.PutOff += x.To.Sub(x.From).Hours()
			}
		}
	}
	if len(off) == 0 {
		return d, false, nil
	}
	if err := a.measure(&d, off); err != nil {
		return d, false, err
	}
	for _, l := range a.Log {
		if l.Crew == d.Crew && l.Day == d.Day && l.Stands() {
			d.Logged, d.Worked = true, d.Worked+l.Hours
		}
	}
	d.judge(*a.Yard.LostDay)
	return d, true, nil
}

// lasts is how long a measured moment speaks for what comes after it.
const lasts = time.Hour

// measure sets what was measured beside what was foretold.
func (a Asked) measure(d *LostDay, off []planner.Span) error {
	b := d.Then.Bound
	if b.Of == "" { // conditions nobody knew: there is no value to hold against
		d.Least, d.Greatest = 0, 0
		return nil
	}
	from, to := off[0].From, off[len(off)-1].To
	if w := d.Then.When; w.After(to) && w.Before(from.Add(48*time.Hour)) {
		to = w.Add(lasts)
	}
	moments, err := a.Measured(d.Boat, d.Place, from.Add(-lasts), earlier(to, a.Now))
	if err != nil {
		return err
	}
	outside := func(m conditions.Moment) (value float64, out, known bool) {
		v := conditions.Judge(m, conditions.Rules{b}).Margins[0]
		return v.Value, v.By < 0, !math.IsNaN(v.Value)
	}
	// What the forecast had warned of, measured when it had said.
	came := false
	for _, m := range moments {
		if w := d.Then.When; w.Sub(m.At).Abs() <= lasts && !w.Before(off[0].From) {
			_, out, known := outside(m)
			came = came || known && out
		}
	}
	for i, m := range moments {
		until := m.At.Add(lasts)
		if i+1 < len(moments) {
			until = earlier(until, moments[i+1].At)
		}
		value, out, known := outside(m)
		if !known {
			continue
		}
		for _, s := range off {
			if x, ok := within(planner.Span{From: m.At, To: until}, s.From, s.To); ok {
				hours := x.To.Sub(x.From).Hours()
				d.Measured += hours
				d.Least, d.Greatest = math.Min(d.Least, value), math.Max(d.Greatest, value)
				if out || came && m.At.Before(d.Then.When) {
					d.Lost += hours
				}
			}
		}
	}
	if d.Measured == 0 {
		d.Least, d.Greatest = 0, 0
	}
	return nil
}

// judge holds a day against the yard's rule, and names all that fails.
func (d *LostDay) judge(rule config.LostDay) {
	least := rule.Least()*d.Shift - 1e-9 // rounding of hours
	switch {
	case d.Measured == 0:
		d.Not = append(d.Not, Unmeasured)
	case d.Lost < least:
		d.Not = append(d.Not, TooShort)
	}
	if !rule.AnyStage && !d.Fixes {
		d.Not = append(d.Not, NotFixing)
	}
	if rule.OtherWork {
		return
	}
	switch {
	case !d.Logged:
		d.Not = append(d.Not, NotLogged)
	case d.Shift-d.Worked < least:
		d.Not = append(d.Not, HadWork)
	}
}
