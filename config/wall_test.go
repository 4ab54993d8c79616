package config

import (
	"testing"
	"time"

	"pgregory.net/rapid"
)

// Zones with every kind of clock change: an hour in both hemispheres, at
// midnight, by half an hour, off by parts of an hour, and none.
var zones = []string{
	"Europe/Lisbon", "America/New_York", "Australia/Lord_Howe", "Africa/Cairo",
	"America/St_Johns", "America/Santiago", "Asia/Kathmandu", "Pacific/Chatham",
}

func zoneNamed(t interface{ Fatal(...any) }, name string) *time.Location {
	zone, err := time.LoadLocation(name)
	if err != nil {
		t.Fatal(err)
	}
	return zone
}

func TestAtWall(t *testing.T) {
	for _, c := range []struct{ why, zone, wall, want string }{
		{"winter", "Europe/Lisbon", "2026-01-15 08:00", "2026-01-15T08:00:00Z"},
		{"summer", "Europe/Lisbon", "2026-07-15 08:00", "2026-07-15T07:00:00Z"},
		{"in the gap: its end", "Europe/Lisbon", "2026-03-29 01:30", "2026-03-29T01:00:00Z"},
		{"shown twice: the first", "Europe/Lisbon", "2026-10-25 01:30", "2026-10-25T00:30:00Z"},
		{"in a gap of half an hour", "Australia/Lord_Howe", "2026-10-04 02:15", "2026-10-03T15:30:00Z"},
		{"shown twice for half an hour", "Australia/Lord_Howe", "2026-04-05 01:45", "2026-04-04T14:45:00Z"},
		{"a midnight that is not", "Africa/Cairo", "2026-04-24 00:00", "2026-04-23T22:00:00Z"},
		{"the last day of a leap year far ahead", "Europe/Lisbon", "2040-12-31 12:00", "2040-12-31T12:00:00Z"},
		{"the same, in summer", "Australia/Lord_Howe", "2040-12-31 12:00", "2040-12-31T01:00:00Z"},
		{"a day that is not", "Pacific/Apia", "2011-12-30 12:00", "2011-12-30T10:00:00Z"},
	} {
		naive, _, err := parseWall(c.wall)
		if err != nil {
			t.Fatal(err)
		}
		if got := atWall(naive, zoneNamed(t, c.zone)).Format(time.RFC3339); got != c.want {
			t.Errorf("%s: %s in %s is %s, want %s", c.why, c.wall, c.zone, got, c.want)
		}
	}
}

// Whatever the zone and the time: the wall clock shows what was asked for, or
// it jumps over that, to the instant given.
func TestAtWallShowsWhatWasAsked(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		zone := zoneNamed(r, rapid.SampledFrom(zones).Draw(r, "zone"))
		naive := time.Unix(60*rapid.Int64Range(0, 80*525600).Draw(r, "minute"), 0).UTC()
		got := atWall(naive, zone)
		local := got.In(zone)
		shown := time.Date(local.Year(), local.Month(), local.Day(), local.Hour(), local.Minute(), local.Second(), 0, time.UTC)
		if shown.Equal(naive) {
			// The first of two: an hour and a half before, it was not shown yet.
			for _, back := range []time.Duration{30 * time.Minute, time.Hour} {
				before := got.Add(-back).In(zone)
				if before.Format(minuteLayout) == naive.Format(minuteLayout) {
					r.Fatalf("%v was shown already at %v", naive, before)
				}
			}
			return
		}
		just := got.Add(-time.Second).In(zone)
		if !shown.After(naive) || just.Format("2006-01-02 15:04:05") >= naive.Format("2006-01-02 15:04:05") {
			r.Fatalf("%v became %v, which is no end of a jump over it", naive, local)
		}
	})
}

func TestYardTime(t *testing.T) {
	y := Yard{Zone: "America/St_Johns"}
	for text, want := range map[string]string{
		"2026-04-03":       "2026-04-03T02:30:00Z",
		"2026-04-03 08:00": "2026-04-03T10:30:00Z",
	} {
		got, err := y.Time(text)
		if err != nil || got.Format(time.RFC3339) != want {
			t.Errorf("%s: got %v, %v, want %s", text, got, err, want)
		}
	}
	for _, text := range []string{"", "3.4.2026", "2026-02-30", "2026-04-03T08:00", "2026-04-03 25:00"} {
		if got, err := y.Time(text); err == nil {
			t.Errorf("%q was read as %v", text, got)
		}
	}
	if _, err := (Yard{Zone: "Local"}).Time("2026-04-03"); err == nil {
		t.Error("a zone that is another on every machine was accepted")
	}
}
