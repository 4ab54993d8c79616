package pages

import (
	"math"
	"net/http"
	"regexp"
	"strings"
	"testing"
	"time"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
	"fairwindow/config"
	"fairwindow/planner"
	"fairwindow/sensors"
)

// sprayed is the fake with Kestrel's second pass to come: the first ended at 9:40, an hour
// is the least flash-off and three the greatest, and what is laid is protected from 17:40
// on. The fan runs and the booth sprays.
func sprayed() *fake {
	f := newFake()
	card := &f.yard.Cards[0]
	card.FlashOff = config.Interval{Least: h, Greatest: 3 * h}
	card.Cure = conditions.Cure{DustFree: evenly(2), Protected: evenly(8), Recoat: evenly(40)}
	card.ProtectUntil = conditions.Protected
	f.coats = map[string]curing{"topsides": {clock: card.Cure.Start(at(7, 9, 40)), surface: exposed(17, 18)}}
	f.seen(now, map[conditions.Variable]float64{conditions.Fan: 1, conditions.BoothMode: 1})
	return f
}

func (f *fake) seen(at time.Time, values map[conditions.Variable]float64) {
	f.readings = append(f.readings, sensors.Reading{Source: "booth panel", Place: "Booth 1", At: at, Received: at, Values: values})
}

// onTheWall is a board's text without its tags.
func onTheWall(t *testing.T, f *fake, path string) string {
	t.Helper()
	answer, body := get(t, f, path)
	if answer.StatusCode != http.StatusOK {
		t.Fatalf("status %d", answer.StatusCode)
	}
	if strings.Contains(body, "<nav") || strings.Contains(body, "app.js") {
		t.Error("a board has nothing to press and is not reloaded")
	}
	_, body, _ = strings.Cut(body, "<main")
	return strings.Join(strings.Fields(regexp.MustCompile(`<[^>]*>`).ReplaceAllString(body, " ")), " ")
}

func TestBoardOfACoat(t *testing.T) {
	f := sprayed()
	f.presses = append(f.presses, planner.Press{ID: 300, Kind: planner.Mixed, Key: planner.Key{Boat: "Kestrel", Area: "topsides", Stage: "gloss coat"}, Happened: at(7, 9, 45)})
	body := onTheWall(t, f, "/board/Booth%201")
	has(t, body, "Booth 1", "Tue 7 Apr 10:20", "Kestrel topsides gloss coat · Ines", "2 of 3 pass", "✓ Within the limits of card Gloss topcoat rev 3.",
		"4.5 K margin, at least 3 K ▲ up", "Air 17.3 °C", "Hull 16.2 to 17.8 °C", "Dew point 11.6 °C", "Booth spraying", "Fan runs",
		"10:40 next pass from", "20 min flash-off, least", "12:40 next pass by",
		// 3 h at 20 °C, doubled for each 10 °C less: at the air's 17.26 °C 3 h 37 min 38 s.
		"3:02 h pot life ends 13:22",
		// The fake's hull is too near its dew point from midnight on.
		"closes 00:20, forecast", "! 30 min no entry, and so long after")
}

// A margin of more figures is written smaller, one that is not known has no unit, and its age
// is no wider for being doubtful.
func TestBoardFigures(t *testing.T) {
	f := sprayed()
	c := clock{now: now, zone: testZone(t)}
	for _, tt := range []struct {
		margin    unit.TempDiff
		sure      conditions.Sureness
		want, age string
		wide      bool
	}{
		{4.5, conditions.Measured, "4.5 K", "measured 5 min ago", false},
		{13.2, conditions.Measured, "13.2 K", "measured 5 min ago", true},
		{-4.5, conditions.Measured, "−4.5 K", "measured 5 min ago", true},
		{unit.TempDiff(math.NaN()), conditions.Unknown, "– ", "5 min ago, doubtful", false},
	} {
		m := f.moments[len(f.moments)-1]
		m.At, m.Sure, m.DewPoint, m.Coldest = now.Add(-5*time.Minute), tt.sure, 10, unit.Temperature(10+tt.margin)
		var v boardView
		v.air(boardScene{c: c, u: unitsOf("SI"), now: &m})
		if got := v.Margin + " " + v.Unit; got != tt.want || v.Wide != tt.wide || v.Age != tt.age {
			t.Errorf("%v: %q, wide: %v, %q; want %q, %v, %q", tt.margin, got, v.Wide, v.Age, tt.want, tt.wide, tt.age)
		}
	}
}

// A board says the gravest of what is so, on the whole screen where somebody must act.
func TestBoardSigns(t *testing.T) {
	damp := func(f *fake) {
		for i := range f.moments {
			f.moments[i].DewPoint = f.moments[i].Coldest - 2
		}
	}
	silent := func(f *fake) { f.moments = f.moments[:len(f.moments)-6] }
	unread := func(f *fake) {
		for i := range f.moments {
			f.moments[i].Coldest, f.moments[i].Warmest = unit.NaN[unit.Temperature](), unit.NaN[unit.Temperature]()
		}
	}
	ended := func(f *fake) {
		k := planner.Key{Boat: "Kestrel", Area: "topsides", Stage: "gloss coat"}
		for pass := 2; pass <= 3; pass++ {
			f.presses = append(f.presses, planner.Press{ID: int64(200 + pass), Kind: planner.PassDone, Key: k, Pass: pass, Happened: at(7, 9, 40+5*pass), By: "Ines"})
		}
		f.readings = nil
	}
	for _, c := range []struct {
		name  string
		set   func(*fake)
		place string
		whole bool
		says  string
	}{
		{"the fan stands", func(f *fake) { f.seen(now, map[conditions.Variable]float64{conditions.Fan: 0}) }, "Booth 1", true, "✕ Stop The fan stands, and a coat goes on."},
		{"outside while it goes on", damp, "Booth 1", true, "✕ Stop At a whole pass: surface over dew point 2.0 K, at least 3 K wanted."},
		{"silent while it goes on", silent, "Booth 1", true, "? Unknown Not measured since 09:20. Measure now."},
		{"never measured", func(f *fake) { f.moments = nil }, "Booth 1", true, "? Unknown Not measured. Measure now."},
		{"nobody reads wet paint", unread, "Booth 1", false, "? By the air Hull not measured: read a spot beside it."},
		{"too damp, and nobody reads wet paint", func(f *fake) {
			unread(f)
			for i := range f.moments {
				f.moments[i].DewPoint = f.moments[i].Air - 1
			}
		}, "Booth 1", true, "✕ Stop At a whole pass: relative humidity 93.8 %, at most 80 % wanted."},
		{"the flash-off is over", func(f *fake) { f.yard.Cards[0].FlashOff.Greatest = h / 2 }, "Booth 1", true, "✕ Flash-off over The next pass was to go on by 10:10: ask the foreman."},
		{"the pot is over", func(f *fake) {
			f.yard.Cards[0].PotLife.Lasts = h / 4
			f.presses = append(f.presses, planner.Press{ID: 300, Kind: planner.Mixed, Key: planner.Key{Boat: "Kestrel", Area: "topsides", Stage: "gloss coat"}, Happened: at(7, 9, 45)})
		}, "Booth 1", true, "✕ Pot over Mixed 09:45, over since 10:03: use no more of it."},
		{"the pot of a pass that is done", func(f *fake) {
			f.yard.Cards[0].PotLife.Lasts = h / 4
			f.presses = append(f.presses, planner.Press{ID: 300, Kind: planner.Mixed, Pass: 1, Key: planner.Key{Boat: "Kestrel", Area: "topsides", Stage: "gloss coat"}, Happened: at(7, 8, 45)})
		}, "Booth 1", false, "✓ Within"},
		{"wet and damp", func(f *fake) { ended(f); damp(f); f.coats["topsides"] = f.ended() }, "Booth 1", true, "✕ Wet coat at risk Kestrel topsides: surface over dew point 2.0 K"},
		{"wet and well", func(f *fake) { ended(f); f.coats["topsides"] = f.ended() }, "Booth 1", false, "✓ Within the limits of card Gloss topcoat rev 3."},
		{"shut, and nobody in it", damp, "North shed", false, "✕ Outside Surface over dew point 2.0 K, at least 3 K wanted."},
		{"unknown, and nobody in it", silent, "North shed", false, "? Unknown Not measured since 09:20."},
		{"no card", func(f *fake) { f.yard.Cards = nil }, "North shed", false, "? Unknown Nobody has set limits here."},
	} {
		f := sprayed()
		c.set(f)
		_, body := get(t, f, boardLink(c.place))
		if got := strings.Contains(body, ` whole" data-now`); got != c.whole {
			t.Errorf("%s: the whole screen %t, want %t", c.name, got, c.whole)
		}
		if got := onTheWall(t, f, boardLink(c.place)); !strings.Contains(got, c.says) {
			t.Errorf("%s: the board does not say %q:\n%s", c.name, c.says, got)
		}
		if c.whole && strings.Contains(body, "✓") {
			t.Errorf("%s: a stop beside a tick", c.name)
		}
	}
}

// ended is the clock of the coat whose last pass ended at 9:55.
func (f *fake) ended() curing {
	return curing{clock: f.yard.Cards[0].Cure.Start(at(7, 9, 55)), surface: exposed(17, 18)}
}

// A booth is closed for its clearance after the last pass or after it last sprayed,
// whichever is later; a coat is protected from eight hours on.
func TestBoardAfterACoat(t *testing.T) {
	f := sprayed()
	k := planner.Key{Boat: "Kestrel", Area: "topsides", Stage: "gloss coat"}
	f.presses = append(f.presses, planner.Press{ID: 200, Kind: planner.Finished, Key: k, Happened: at(7, 9, 55), By: "Ines"})
	f.coats["topsides"], f.readings = f.ended(), nil
	body := onTheWall(t, f, "/board/Booth%201")
	has(t, body, "! 5 min no entry before 10:25", "17:55 protect topsides until", "next: wash", "08:00 starts Wed 8 Apr", "21:40 h until it starts")
	f.seen(at(7, 10, 10), map[conditions.Variable]float64{conditions.BoothMode: 1})
	f.seen(at(7, 10, 15), map[conditions.Variable]float64{conditions.BoothMode: 2})
	has(t, onTheWall(t, f, "/board/Booth%201"), "! 20 min no entry before 10:40")
	f.yard.Places[0].Booth.Clearance = unit.Duration(5 * time.Minute)
	hasNot(t, onTheWall(t, f, "/board/Booth%201"), "no entry")
}

// An empty place says when the limits will be kept by the outlook.
func TestBoardForetells(t *testing.T) {
	// The fake's shed is too cold until seven and too damp after nine in the evening.
	has(t, onTheWall(t, newFake(), "/board/North%20shed"), "16:00 starts today", "11:00 h closes 21:20, forecast")
	f := newFake()
	for i := range f.moments {
		f.moments[i].DewPoint = f.moments[i].Coldest - 2
	}
	has(t, onTheWall(t, f, "/board/North%20shed"), "10:20 within again, forecast")
	f.yard.Cards[0].Limits.AirMin = ref[unit.Temperature]("40 C")
	has(t, onTheWall(t, f, "/board/North%20shed"), "2 days not within, by the forecast, for")
}

func TestCounted(t *testing.T) {
	for d, want := range map[time.Duration]string{
		-time.Hour: "0 min", 59 * time.Second: "0 min", 59 * time.Minute: "59 min", time.Hour: "1:00 h", 47*time.Hour + 9*time.Minute: "47:09 h", 50 * time.Hour: "2 days",
	} {
		if says, unit := counted(d); says+" "+unit != want {
			t.Errorf("%s: %s %s, want %s", d, says, unit, want)
		}
	}
}

func TestBoards(t *testing.T) {
	_, body := get(t, newFake(), "/board")
	has(t, body, `href="/board/Booth%201"`, `href="/board/Slip%202?light=dark"`)
	_, dark := get(t, newFake(), "/board/Slip%202?light=dark")
	has(t, dark, `class="wall dark"`, `http-equiv="refresh"`, "Take conditions as unknown.")
	if answer, _ := get(t, newFake(), "/board/nowhere"); answer.StatusCode != http.StatusNotFound {
		t.Errorf("status %d", answer.StatusCode)
	}
	_, place := get(t, newFake(), "/place/Booth%201")
	has(t, place, `href="/board/Booth%201"`)
}
