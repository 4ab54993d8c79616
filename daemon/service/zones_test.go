package service

import (
	"strings"
	"testing"
	"time"

	"fairwindow/notify"
	"fairwindow/planner"
)

// changes are the moments of a year at which a zone's clocks are changed, by the IANA
// time zone database.
func changes(t *testing.T, zone *time.Location, year int) []time.Time {
	t.Helper()
	var all []time.Time
	for at := time.Date(year, 1, 1, 0, 0, 0, 0, zone); ; {
		_, at = at.ZoneBounds()
		if at.IsZero() || at.In(zone).Year() > year {
			break
		}
		all = append(all, at.In(zone))
	}
	if len(all) != 2 {
		t.Fatalf("%s changes its clocks %d times in %d", zone, len(all), year)
	}
	return all
}

// TestClocksChange: across each change of the clocks of eight zones, by an hour or by
// half of one, at night or at midnight, a window opens with the shift at seven by the
// clock on the wall, once on each day, and a forecast is old after hours that passed.
func TestClocksChange(t *testing.T) {
	t.Parallel()
	for _, name := range []string{
		"Europe/Berlin", "Europe/Lisbon", "America/New_York", "America/St_Johns",
		"Australia/Lord_Howe", "Africa/Cairo", "America/Santiago", "Pacific/Auckland",
	} {
		if testing.Short() && name != "Australia/Lord_Howe" && name != "Africa/Cairo" {
			continue // those two are the odd ones: by half an hour, and at midnight
		}
		zone, err := time.LoadLocation(name)
		if err != nil {
			t.Fatal(err)
		}
		for _, change := range changes(t, zone, 2026) {
			t.Run(name+" "+change.Format(time.DateOnly), func(t *testing.T) {
				t.Parallel()
				acrossChange(t, zone, change)
			})
		}
	}
}

// acrossChange plays from the last morning before a change to nine hours after it.
func acrossChange(t *testing.T, zone *time.Location, change time.Time) {
	before := change.Add(-time.Minute).In(zone)
	day := func(n, hour int) time.Time {
		return time.Date(before.Year(), before.Month(), before.Day()+n, hour, 0, 0, 0, zone)
	}
	// The first morning is the last before the change.
	n := 0
	if day(0, 7).After(change) {
		n = -1
	}
	r := newRig(t, strings.NewReplacer("Atlantic/Reykjavik", zone.String(), "* * 1-5", "* * *", "    every: 10 min\n", "").Replace(yardText))
	r.clock.Advance(day(n, 5).Sub(r.clock.Now()))
	r.tick = time.Hour
	if _, offset := change.Zone(); offset%3600 != 0 || strings.Contains(zone.String(), "Lord_Howe") {
		r.tick = 30 * time.Minute
	}
	r.start()
	r.enter(strings.NewReplacer("2026-05-04", day(n, 0).Format(time.DateOnly), "2026-05-20", day(n+16, 0).Format(time.DateOnly)).
		Replace(boatText("two coats")))
	r.press(arrival())
	tick, issued := r.tick, change.Add(-9*time.Hour) // old 18 h after that, nine hours after the change
	r.forecast("a.csv", day(n, 4), dry)
	r.hourly(day(n, 8))
	r.tick = 3 * time.Hour // nothing is looked at so closely in between
	r.hourly(issued)
	r.forecast("b.csv", issued, dry)
	r.hourly(day(n+1, 5))
	r.tick = tick
	r.hourly(change.Add(9*time.Hour + 2*tick))

	var opened, old []string
	for _, notice := range r.notices(notify.WindowOpens) {
		if notice.Revision == 1 {
			opened = append(opened, notice.At.In(zone).Format("2006-01-02 15:04"))
		}
	}
	var want []string
	for i := range 2 {
		want = append(want, day(n+i, 7).Format("2006-01-02 15:04"))
	}
	if strings.Join(opened, ", ") != strings.Join(want, ", ") {
		t.Errorf("the change is at %s; opened at %v, want %v", change, opened, want)
	}
	for _, notice := range r.notices(notify.ForecastOld) {
		if after := notice.At.Sub(change.Add(9 * time.Hour)); after < 0 || after > r.tick {
			t.Errorf("the forecast is called old %s after it was 18 h old", after)
		}
		old = append(old, notice.At.String())
	}
	if len(old) != 1 {
		t.Errorf("called old %v", old)
	}
	r.wantTold()
	worded(t, r, change)
}

// worded: a time that the clocks show twice is told with its zone, and both are told apart.
func worded(t *testing.T, r *rig, change time.Time) {
	t.Helper()
	style := r.svc.facts.style()
	said := func(until time.Time) string {
		return notify.Sentence(notify.Notice{
			Kind: notify.WindowOpens, Boat: "Boat One", Area: "topsides", Stage: "first", Place: "booth",
			At: change.Add(-3 * time.Hour), From: change.Add(-3 * time.Hour), Until: until,
		}, style)
	}
	first, second := change.Add(-10*time.Minute), change.Add(10*time.Minute)
	_, was := first.In(style.Zone).Zone()
	_, is := second.In(style.Zone).Zone()
	if is > was { // forward: no time comes twice
		letters := second.In(style.Zone).Format(" MST")
		if says := said(second); strings.Contains(says, letters) {
			t.Errorf("%q names its zone though it comes once", says)
		}
		return
	}
	again := first.Add(time.Duration(was-is) * time.Second) // the clocks show the same as at first
	one, two := said(first), said(again)
	for at, says := range map[time.Time]string{first: one, again: two} {
		clock := at.In(style.Zone).Format("15:04 MST")
		if !strings.Contains(says, clock) {
			t.Errorf("%q does not say %q", says, clock)
		}
	}
	if one == two {
		t.Errorf("both are told as %q", one)
	}
}

func arrival() planner.Press {
	return planner.Press{Kind: planner.Arrived, Key: planner.Key{Boat: "Boat One"}, Place: "booth"}
}

// hourly plays the clock up to a time with a good reading at every tick, which wavers
// from hour to hour.
func (r *rig) hourly(end time.Time) {
	r.t.Helper()
	read := func() {
		waver := 0.04 * float64(r.clock.Now().Unix()/1800%3)
		r.measure(booth{good.air + waver, good.humidity + waver, good.surface + waver})
	}
	read()
	r.during(end, func() {
		if r.clock.Now().Before(end) {
			read()
		}
	})
}
