package demo

import (
	"strings"
	"testing"
	"time"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
	"fairwindow/config"
	"fairwindow/planner"
)

// steady is a sky that stays as it is.
func steady(h Hour, hours int) []Hour {
	var sky []Hour
	for i := range hours {
		h.At = spring.Add(time.Duration(i) * time.Hour)
		sky = append(sky, h)
	}
	return sky
}

// sprayOn lays one pass of half an hour on a boat in a place and waits a day.
func sprayOn(place string, sky []Hour, limits config.Limits) Outcome {
	yard := yardOf()
	yard.Cards[0].Limits = limits
	w := newWorld(4, yard, sky, spring)
	s := &scorer{yard: yard}
	w.arrive(4, boatOf("Heron", "2026-04-06"), place)
	c := w.begin("Heron", "topsides", yard.Cards[0])
	s.begin(w, planner.Key{Boat: "Heron", Area: "topsides", Stage: "finish coat"}, 1, c)
	for i := 1; i <= 24*12; i++ {
		w.advance(spring.Add(time.Duration(i) * 5 * time.Minute))
		if i == 6 {
			c.ended = w.now
		}
		s.sample(w)
	}
	return s.outcomes()[0]
}

func TestScore(t *testing.T) {
	fair := Hour{Air: 16, DewPoint: 8, Wind: 3, Gust: 5, Cloud: 1}
	wet := steady(fair, 30)
	wet[5].Rain = 2 // falls from 4 to 5 h, long after the pass
	damp := steady(fair, 30)
	for i := 4; i < 30; i++ {
		damp[i].DewPoint = 15
	}
	margin := config.Limits{Margin: written[unit.TempDiff](3)}
	for _, c := range []struct {
		name   string
		place  string
		sky    []Hour
		limits config.Limits
		broken conditions.Quantity
	}{
		{"all held", "slip", steady(fair, 30), margin, ""},
		{"rain before it is protected", "slip", wet, margin, conditions.OfRain},
		{"rain on the roof", "booth", wet, margin, ""},
		{"dew before it is protected", "slip", damp, margin, conditions.OfMargin},
		{"wind while it is laid", "slip", steady(fair, 30), config.Limits{WindMax: written[unit.Speed](4)}, conditions.OfWind},
		{"too humid", "slip", steady(fair, 30), config.Limits{HumidityMax: written[unit.Humidity](50)}, conditions.OfHumidity},
		{"humid only after it is laid, which no limit speaks of", "slip", damp, config.Limits{HumidityMax: written[unit.Humidity](70)}, ""},
		{"too cold", "slip", steady(fair, 30), config.Limits{SurfaceMin: written[unit.Temperature](20)}, conditions.OfSurface},
	} {
		o := sprayOn(c.place, c.sky, c.limits)
		if o.Limit != c.broken || o.Held != (c.broken == "") || o.To.IsZero() {
			t.Errorf("%s: %+v", c.name, o)
		}
	}
	// The card says 10 h at 10 °C and 5 h at 20 °C, so about 6.6 h at 16 °C.
	if o := sprayOn("slip", steady(fair, 30), margin); o.To.Sub(spring) < 6*time.Hour || o.To.Sub(spring) > 8*time.Hour {
		t.Errorf("protected after %s", o.To.Sub(spring))
	}
}

// A silent card takes its profile's limits, and the yard's where those are narrower.
func TestLimitsInForce(t *testing.T) {
	yard := yardOf()
	yard.Profile = "document"
	yard.Profiles = []config.Profile{{Name: "document", Limits: config.Limits{Margin: written[unit.TempDiff](5), AirMin: written[unit.Temperature](12)}}}
	yard.Limits = config.Limits{HumidityMax: written[unit.Humidity](80)}
	got := (&scorer{yard: yard}).inForce(yard.Cards[0], "booth")
	if got.Margin.SI != 3 || got.AirMin.SI != 12 || got.HumidityMax.SI != 80 || got.AirMax != nil {
		t.Errorf("%+v", boundsOf(got))
	}
}

func TestSummaryText(t *testing.T) {
	at := time.Date(2026, 4, 8, 9, 0, 0, 0, time.UTC)
	s := Summary{
		Seed: 1, From: spring, To: spring.AddDate(0, 0, 14), Stages: 12, Coats: 2, Passes: 3, Presses: 40, Late: 2,
		Boats: []BoatEnd{{Boat: "Heron", Arrived: true, Launched: at, Promised: at, Finished: 9}, {Boat: "Egret"}},
		Outcomes: []Outcome{
			{Held: true, To: at}, {Held: true},
			{Key: planner.Key{Boat: "Heron", Area: "topsides", Stage: "finish coat"}, Pass: 2, Place: "slip", Limit: conditions.OfMargin, Bound: 3, Worst: 1.24, At: at, To: at},
		},
		Waited:  map[planner.Cause]float64{planner.NoShift: 1.5, planner.OutOfLimits: 20},
		Notices: map[string]int{"window_opens": 4, "measure_now": 1},
	}
	want := strings.TrimPrefix(`
played                 2026-04-06 00:00 to 2026-04-20 00:00, seed 1
heard                  0 messages (0 did not come), 0 forecasts
reported               40 presses, 2 of them late
done                   12 stages, 2 coats in 3 passes, 0 coats stopped early, 0 moves
went wrong             0 rejected, 0 for want of people
passes in truth        1 held to the end of protection, 1 did not, 1 still wanted it
                       Heron, topsides, finish coat, pass 2 in slip: margin was 1.2, limit 3.0, at 2026-04-08 09:00
Heron                  9 stages done, launched 2026-04-08 09:00, promised for 2026-04-08
Egret                  not come yet, no launch promised
waited                    20.0 h conditions
waited                     1.5 h no shift
notices                      1 measure now
notices                      4 window opens
`, "\n")
	if got := s.String(); got != want {
		t.Errorf("got\n%s\nwant\n%s", got, want)
	}
}
