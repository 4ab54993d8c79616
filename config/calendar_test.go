package config

import (
	"fmt"
	"testing"
	"time"

	"pgregory.net/rapid"

	"fairwindow/conditions/unit"
)

// A shift that starts daily starts once on each day of the yard's calendar,
// at the asked time or at the end of the jump over it, in any zone and across
// every change of its clock.
func TestOneStartADay(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		zone := zoneNamed(r, rapid.SampledFrom(zones).Draw(r, "zone"))
		hour, minute := rapid.IntRange(0, 23).Draw(r, "hour"), rapid.IntRange(0, 59).Draw(r, "minute")
		year := rapid.IntRange(2000, 2040).Draw(r, "year")
		expr := fmt.Sprintf("%d %d * * *", minute, hour)
		from := atWall(time.Date(year, 1, 1, 0, 0, 0, 0, time.UTC), zone)
		to := atWall(time.Date(year+1, 1, 1, 0, 0, 0, 0, time.UTC), zone)
		spans, err := occurrences(expr, time.Minute, zone, from, to)
		if err != nil {
			r.Fatal(err)
		}
		day := time.Date(year, 1, 1, 0, 0, 0, 0, time.UTC)
		for _, s := range spans {
			local := s.From.In(zone)
			if local.Format(dayLayout) != day.Format(dayLayout) {
				r.Fatalf("%s in %s: the start of %s is %v", expr, zone, day.Format(dayLayout), local)
			}
			if asked := day.Add(time.Duration(hour)*time.Hour + time.Duration(minute)*time.Minute).Format(minuteLayout); local.Format(minuteLayout) < asked {
				r.Fatalf("%s in %s starts at %v, before it was asked to", expr, zone, local)
			}
			day = day.AddDate(0, 0, 1)
		}
		if day.Year() != year+1 {
			r.Fatalf("%s in %s: the starts of %d end before %v", expr, zone, year, day)
		}
	})
}

// The rules above hold in particular at the changes that make the cron library
// itself skip a day, double it or give a time that does not match.
func TestOccurrencesAcrossClockChanges(t *testing.T) {
	for _, c := range []struct{ zone, expr, from, to, want string }{
		{"Europe/Berlin", "30 2 * * *", "2026-03-28", "2026-03-31", "[28 02:30] [29 03:00] [30 02:30]"},
		{"Europe/Berlin", "30 2 * * *", "2026-10-24", "2026-10-27", "[24 02:30] [25 02:30] [26 02:30]"},
		{"Africa/Cairo", "0 0 * * *", "2026-04-23", "2026-04-26", "[23 00:00] [24 01:00] [25 00:00]"},
		{"Australia/Lord_Howe", "30 1 * * *", "2026-10-03", "2026-10-06", "[03 01:30] [04 01:30] [05 01:30]"},
		{"Australia/Lord_Howe", "30 1 * * *", "2026-04-04", "2026-04-07", "[04 01:30] [05 01:30] [06 01:30]"},
		{"Europe/Berlin", "*/30 2 29 3 *", "2026-03-28", "2026-03-31", "[29 03:00]"}, // two in the gap are one
	} {
		y := Yard{Zone: c.zone}
		from, _ := y.Time(c.from)
		to, _ := y.Time(c.to)
		zone := zoneNamed(t, c.zone)
		spans, err := occurrences(c.expr, time.Hour, zone, from, to)
		if err != nil {
			t.Fatal(err)
		}
		got := ""
		for _, s := range spans {
			got += s.From.In(zone).Format(" [02 15:04]")
			if s.From.Location() != time.UTC {
				t.Errorf("%v is not in UTC", s.From)
			}
		}
		if got != " "+c.want {
			t.Errorf("%s in %s: got%s, want %s", c.expr, c.zone, got, c.want)
		}
	}
}

func TestOccurrencesTouchTheSpanAskedFor(t *testing.T) {
	from := time.Date(2026, 4, 6, 10, 0, 0, 0, time.UTC)
	at := func(expr string, to time.Time) int {
		spans, err := occurrences(expr, 3*time.Hour, time.UTC, from, to)
		if err != nil {
			t.Fatal(err)
		}
		return len(spans)
	}
	if n := at("0 8 * * *", from.Add(time.Hour)); n != 1 {
		t.Errorf("a shift that runs at the beginning: got %d, want 1", n)
	}
	if n := at("0 7 * * *", from.Add(time.Hour)); n != 0 {
		t.Errorf("a shift that ends as the span begins: got %d, want 0", n)
	}
	if n := at("0 11 * * *", from.Add(time.Hour)); n != 0 {
		t.Errorf("a shift that starts as the span ends: got %d, want 0", n)
	}
	if n := at("0 11 * * *", from); n != 0 {
		t.Errorf("an empty span: got %d, want 0", n)
	}
}

func TestOccurrencesRefuses(t *testing.T) {
	from := time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC)
	for _, expr := range []string{
		"", "7", "CRON_TZ=Europe/Rome", "TZ=", "TZ=UTC 0 7 * * *", "@daily", "@every -1h", "0 0 31 2 *", "0 0 30 2 *",
		"0 7 * * 7", "0 7 * * MON-SUNDAY", "60 7 * * *", "0 7 * *", "0 0 7 * * *", "0 7 */0 * *", "0 7 ? * L",
	} {
		if spans, err := occurrences(expr, time.Hour, time.UTC, from, from.AddDate(0, 1, 0)); err == nil {
			t.Errorf("%q gave %d spans and no error", expr, len(spans))
		}
	}
	for _, length := range []time.Duration{0, -time.Hour, longest + 1} {
		if _, err := occurrences("0 7 * * *", length, time.UTC, from, from.AddDate(0, 1, 0)); err == nil {
			t.Errorf("a shift of %v was accepted", length)
		}
	}
	if spans, err := occurrences("0 0 29 2 *", time.Hour, time.UTC, from, from.AddDate(3, 0, 0)); err != nil || len(spans) != 1 {
		t.Errorf("29 February within three years: %v, %v", spans, err)
	}
}

func FuzzOccurrences(f *testing.F) {
	for _, seed := range []string{"0 7 * * 1-5", "CRON_TZ=Europe/Rome", "TZ=x y", "@every 1h", "*/7 */3 1,15 1-6 *", "0 0 31 2 *"} {
		f.Add(seed)
	}
	from := time.Date(2026, 3, 27, 0, 0, 0, 0, time.UTC)
	zone := zoneNamed(f, "Europe/Lisbon")
	f.Fuzz(func(t *testing.T, expr string) {
		spans, err := occurrences(expr, time.Hour, zone, from, from.AddDate(0, 0, 7))
		for i := range spans {
			if err != nil || (i > 0 && !spans[i-1].From.Before(spans[i].From)) {
				t.Fatalf("%q: %v, %v", expr, spans, err)
			}
		}
	})
}

// crewYard has a crew that works from 07:00 to 15:00, Monday to Friday, in Lisbon.
func crewYard(closures ...Closure) Yard {
	return Yard{
		Zone:     "Europe/Lisbon",
		Places:   []Place{{Name: "booth"}, {Name: "shed"}},
		Crews:    []Crew{{Name: "hands", Shifts: []Shift{{Starts: "0 7 * * 1-5", Length: hours(8)}}}, {Name: "night", Shifts: []Shift{{Starts: "0 22 * * *", Length: hours(4)}, {Starts: "0 2 * * *", Length: hours(4)}}}},
		Closures: closures,
	}
}

func week(t *testing.T, y Yard) (from, to time.Time) {
	t.Helper()
	from, err := y.Time("2026-04-06") // a Monday, summer time
	if err != nil {
		t.Fatal(err)
	}
	return from, from.AddDate(0, 0, 7)
}

func total(spans []Span) (sum time.Duration) {
	for _, s := range spans {
		sum += s.To.Sub(s.From)
	}
	return sum
}

func TestShiftsOf(t *testing.T) {
	for _, c := range []struct {
		why      string
		crew     string
		closures []Closure
		spans    int
		hours    float64
	}{
		{"a plain week", "hands", nil, 5, 40},
		{"a holiday of the yard", "hands", []Closure{{From: "2026-04-07", Why: "holiday"}}, 4, 32},
		{"two days, both included", "hands", []Closure{{From: "2026-04-07", To: "2026-04-08", Why: "x"}}, 3, 24},
		{"an hour at noon", "hands", []Closure{{From: "2026-04-07 12:00", To: "2026-04-07 13:00", Why: "x"}}, 6, 39},
		{"this crew's closure", "hands", []Closure{{Crew: "hands", From: "2026-04-07", Why: "x"}}, 4, 32},
		{"another crew's closure", "hands", []Closure{{Crew: "night", From: "2026-04-07", Why: "x"}}, 5, 40},
		{"a place's closure", "hands", []Closure{{Place: "booth", From: "2026-04-07", Why: "x"}}, 5, 40},
		{"a closure by rule", "hands", []Closure{{Starts: "0 12 * * 1-5", Length: hours(1), Why: "dinner"}}, 10, 35},
		{"closures that overlap", "hands", []Closure{{From: "2026-04-07", To: "2026-04-09", Why: "x"}, {From: "2026-04-08", Why: "y"}}, 2, 16},
		{"shifts that meet are one", "night", nil, 8, 6 + 6*8 + 2},
	} {
		y := crewYard(c.closures...)
		from, to := week(t, y)
		spans, err := y.ShiftsOf(c.crew, from, to)
		if err != nil {
			t.Fatal(err)
		}
		if len(spans) != c.spans || total(spans).Hours() != c.hours {
			t.Errorf("%s: got %d spans of %v, want %d of %v h", c.why, len(spans), total(spans), c.spans, c.hours)
		}
	}
	if _, err := crewYard().ShiftsOf("nobody", time.Time{}, time.Time{}); err == nil {
		t.Error("a crew that is not there has shifts")
	}
}

// A shift is elapsed time (case 30): across the change of clocks it is as
// long as ever, and ends at another time by the wall.
func TestShiftAcrossClockChangeIsElapsed(t *testing.T) {
	y := Yard{Zone: "Europe/Lisbon", Crews: []Crew{{Name: "night", Shifts: []Shift{{Starts: "0 22 * * 6", Length: hours(8)}}}}}
	from, _ := y.Time("2026-03-28")
	spans, err := y.ShiftsOf("night", from, from.AddDate(0, 0, 2))
	if err != nil || len(spans) != 1 || total(spans) != 8*time.Hour {
		t.Fatalf("got %v, %v, want one span of 8 h", spans, err)
	}
	if ends := spans[0].To.In(zoneNamed(t, y.Zone)).Format(minuteLayout); ends != "2026-03-29 07:00" {
		t.Errorf("it ends at %s, want 2026-03-29 07:00", ends)
	}
}

func TestOpenHours(t *testing.T) {
	y := crewYard(
		Closure{Place: "booth", From: "2026-04-07 07:00", To: "2026-04-07 12:00", Why: "filters"},
		Closure{From: "2026-04-08", Why: "holiday"},
	)
	from, to := week(t, y)
	booth, err := y.OpenHours("booth", from, to)
	if err != nil || len(booth) != 2 || total(booth) != 7*24*time.Hour-5*time.Hour {
		t.Errorf("booth: got %v, %v; a holiday of the yard shuts no place", booth, err)
	}
	shed, err := y.OpenHours("shed", from, to)
	if err != nil || len(shed) != 1 || total(shed) != 7*24*time.Hour {
		t.Errorf("shed: got %v, %v", shed, err)
	}
	if none, err := y.OpenHours("shed", to, from); err != nil || none != nil {
		t.Errorf("backwards: got %v, %v", none, err)
	}
	if _, err := y.OpenHours("dock", from, to); err == nil {
		t.Error("a place that is not there is open")
	}
}

// Closing hours and asking for the rest never gains or loses a minute.
func TestSubtractIsTheRest(t *testing.T) {
	spans := rapid.Custom(func(r *rapid.T) []Span {
		var all []Span
		for range rapid.IntRange(0, 8).Draw(r, "n") {
			start := rapid.IntRange(0, 100).Draw(r, "start")
			end := start + rapid.IntRange(1, 30).Draw(r, "length")
			all = append(all, Span{time.Unix(int64(start), 0), time.Unix(int64(end), 0)})
		}
		return all
	})
	rapid.Check(t, func(r *rapid.T) {
		worked, closed := spans.Draw(r, "worked"), spans.Draw(r, "closed")
		left := subtract(union(worked), union(closed))
		inside := func(all []Span, at int64) bool {
			for _, s := range all {
				if s.From.Unix() <= at && at < s.To.Unix() {
					return true
				}
			}
			return false
		}
		for at := range int64(131) {
			if inside(left, at) != (inside(worked, at) && !inside(closed, at)) {
				r.Fatalf("second %d: worked %v, closed %v, left %v", at, worked, closed, left)
			}
		}
	})
}

func TestOnceClosureEndsAfterItStarts(t *testing.T) {
	y := crewYard(Closure{From: "2026-04-08", To: "2026-04-07", Why: "x"})
	from, to := week(t, y)
	if _, err := y.ShiftsOf("hands", from, to); err == nil {
		t.Error("a closure that ends before it starts was accepted")
	}
}

// Equipment is there in its hours, less its own closures and no others; a closure of
// it shuts neither place nor crew.
func TestEquipmentHours(t *testing.T) {
	y := Yard{
		Zone:      "Europe/Lisbon",
		Places:    []Place{{Name: "booth"}},
		Crews:     []Crew{{Name: "hands", Shifts: []Shift{{Starts: "0 7 * * *", Length: unit.Duration(8 * time.Hour)}}}},
		Equipment: []Equipment{{Name: "lift", Count: 1, Hours: []Shift{{Starts: "0 8 * * 1-5", Length: unit.Duration(4 * time.Hour)}}}, {Name: "compressor", Count: 2}},
		Closures: []Closure{
			{Equipment: "lift", From: "2026-05-05 09:00", To: "2026-05-05 10:00", Why: "new slings"},
			{Crew: "hands", From: "2026-05-04", Why: "training"},
			{From: "2026-05-06", Why: "holiday"},
		},
	}
	at := func(text string) time.Time {
		when, err := y.Time(text)
		if err != nil {
			t.Fatal(err)
		}
		return when
	}
	from, to := at("2026-05-04"), at("2026-05-07")
	hours := func(of func(string, time.Time, time.Time) ([]Span, error), name string) (text string) {
		spans, err := of(name, from, to)
		if err != nil {
			t.Fatal(err)
		}
		zone, _ := y.Location()
		for _, s := range spans {
			text += s.From.In(zone).Format(" 02 15:04-") + s.To.In(zone).Format("15:04")
		}
		return text
	}
	for _, c := range []struct{ what, got, want string }{
		{"lift", hours(y.EquipmentHours, "lift"), " 04 08:00-12:00 05 08:00-09:00 05 10:00-12:00 06 08:00-12:00"},
		{"compressor", hours(y.EquipmentHours, "compressor"), " 04 00:00-00:00"},
		{"hands", hours(y.ShiftsOf, "hands"), " 05 07:00-15:00"},
		{"booth", hours(y.OpenHours, "booth"), " 04 00:00-00:00"},
		{"why out", y.WhyOut("lift", at("2026-05-05 09:30")), "new slings"},
		{"why not out", y.WhyOut("lift", at("2026-05-05 10:00")), ""},
	} {
		if c.got != c.want {
			t.Errorf("%s: got %q, want %q", c.what, c.got, c.want)
		}
	}
	if _, err := y.EquipmentHours("crane", from, to); err == nil {
		t.Error("nobody has a crane")
	}
}
