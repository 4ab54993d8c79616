package config

import (
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"
)

func TestEvidenceIsKept(t *testing.T) {
	at := func(text string) time.Time {
		v, err := time.Parse(time.RFC3339, text)
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
	launched := at("2026-05-06T09:00:00Z")
	for _, c := range []struct {
		name, own string
		yard      Lasting
		launched  time.Time
		until     string // empty: no day is known
		by        KeptBy
	}{
		{"the yard's years", "", Lasting(days(1095)), launched, "2029-05-05T09:00:00Z", ByYard},
		{"not launched", "", Lasting(days(1095)), time.Time{}, "", TillLater},
		{"the yard's forever", "", Forever, launched, "", ByYard},
		{"the yard says nothing", "", 0, launched, "", ByYard},
		// Lisbon is an hour before UTC in summer: the day ends there at 23:00 UTC.
		{"its own day, to its end", "2031-06-30", Lasting(days(1095)), launched, "2031-06-30T23:00:00Z", ByBoat},
		{"its own, shorter than the yard's", "2027-01-31", Lasting(days(1095)), launched, "2027-02-01T00:00:00Z", ByBoat},
		{"its own beside the yard's forever", "2027-01-31", Forever, launched, "2027-02-01T00:00:00Z", ByBoat},
		{"its own, but not launched", "2027-01-31", Lasting(days(1)), time.Time{}, "", TillLater},
		{"its own passed before a late launch", "2026-05-01", Lasting(days(1095)), launched, "2026-05-06T09:00:00Z", ByBoat},
		{"its own forever", "forever", Lasting(days(1)), launched, "", ByBoat},
		{"its own can't be read", "two years", Lasting(days(1)), launched, "", ByBoat},
	} {
		y := Yard{Zone: "Europe/Lisbon", Keep: Keep{Warranty: c.yard}}
		got := y.Keeps(Boat{Warranty: c.own}, c.launched)
		var until time.Time
		if c.until != "" {
			until = at(c.until)
		}
		if !got.Until.Equal(until) || got.By != c.by {
			t.Errorf("%s: until %s by %q, want %s by %q", c.name, got.Until, got.By, until, c.by)
		}
		if got.Over(until.Add(-time.Millisecond)) || !until.IsZero() && !got.Over(until) || until.IsZero() && got.Over(launched.AddDate(500, 0, 0)) {
			t.Errorf("%s: it is over at the wrong time", c.name)
		}
	}
}

// However a warranty is written, evidence never goes before the launch, nor before the last
// day that the boat's own names is over, anywhere on earth.
func TestEvidenceIsNeverKeptTooShort(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		y := Yard{Zone: rapid.SampledFrom([]string{"Europe/Lisbon", "Pacific/Auckland", "America/St_Johns", "Pacific/Apia"}).Draw(r, "zone")}
		y.Keep.Warranty = Lasting(rapid.Int64Range(-5, 5000).Draw(r, "yard's") * int64(time.Hour))
		launched := time.Date(2026, 1, 1, 0, rapid.IntRange(0, 5e6).Draw(r, "launched"), 0, 0, time.UTC)
		last := launched.AddDate(0, 0, rapid.IntRange(-400, 4000).Draw(r, "last day")).Format(dayLayout)
		own := rapid.SampledFrom([]string{"", last, ForGood, last + "x"}).Draw(r, "own")
		k := y.Keeps(Boat{Warranty: own}, launched)
		now := launched.Add(time.Duration(rapid.Int64Range(-1e6, 1e8).Draw(r, "now")) * time.Second)
		if y.Keeps(Boat{Warranty: own}, time.Time{}).Over(now) {
			r.Fatal("it may go before the boat is launched")
		}
		if !k.Over(now) {
			return
		}
		zone, err := y.Location()
		if err != nil {
			r.Fatal(err)
		}
		switch {
		case now.Before(launched), own == ForGood, own == last+"x":
			r.Fatalf("it may go at %s", now)
		case own == last && now.In(zone).Format(dayLayout) <= last:
			r.Fatalf("it may go on %s, its last day is %s", now.In(zone), last)
		case own == "" && now.Sub(launched) < time.Duration(y.Keep.Warranty):
			r.Fatalf("it may go after %s", now.Sub(launched))
		}
	})
}

func TestLasting(t *testing.T) {
	for _, c := range []struct{ text, back string }{{"forever", "forever"}, {" 1095 d ", "1095 d"}, {"36 h", "36 h"}} {
		var l Lasting
		if err := l.UnmarshalText([]byte(c.text)); err != nil || l.String() != c.back {
			t.Errorf("%q is %q, %v", c.text, l, err)
		}
	}
	var l Lasting
	if err := l.UnmarshalText([]byte("for ever")); err == nil || !strings.Contains(err.Error(), "or forever") {
		t.Errorf("got %v", err)
	}
}
