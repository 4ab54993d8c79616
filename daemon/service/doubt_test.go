package service

import (
	"context"
	"fmt"
	"math"
	"net/http"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/jonboulle/clockwork"
	"pgregory.net/rapid"

	"fairwindow/conditions"
	"fairwindow/conditions/unit"
	"fairwindow/daemon/store"
	"fairwindow/notify"
	"fairwindow/notify/bus"
	"fairwindow/sensors"
)

// TestDoubtNeverOpens: with all else ready for a window, one doubtful reading is
// kept, flagged, named on the pages, and opens nothing.
func TestDoubtNeverOpens(t *testing.T) {
	t.Parallel()
	const fine = `"air": 20, "humidity": 40, "surface": 20`
	for _, c := range []struct {
		name  string
		entry string // after the source
		fault sensors.Fault
	}{
		{"null", `"values": {"air": null, "humidity": 40, "surface": 20}`, sensors.Missing},
		{"200 °C", `"values": {"air": 200, "humidity": 40, "surface": 20}`, sensors.OutOfRange},
		{"power-on 85 °C", `"values": {"air": 20, "humidity": 40, "surface": 85}`, sensors.PowerOn},
		{"unplugged", `"values": {"air": -127, "humidity": 40, "surface": 20}`, sensors.OutOfRange},
		{"humidity 104 %", `"values": {"air": 20, "humidity": 104, "surface": 20}`, sensors.OutOfRange},
		{"humidity 0 %", `"values": {"air": 20, "humidity": 0, "surface": 20}`, sensors.OutOfRange},
		{"wet bulb over dry", `"values": {"air": 20, "wet_bulb": 23, "surface": 20}`, sensors.Contradiction},
		{"five hours old", `"time": "2026-05-04T02:30:00Z", "values": {` + fine + `}`, sensors.Old},
		{"a wrong zone ahead", `"time": "2026-05-04T07:30:00-05:00", "values": {` + fine + `}`, sensors.FromFuture},
		{"a wrong zone behind", `"time": "2026-05-04T07:30:00+05:00", "values": {` + fine + `}`, sensors.Old},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			r := play(t, "two coats")
			r.forecast("a.csv", monday, dry)
			r.until(at(0, 7, 30))
			code, answer := r.send(`{"source": "air", ` + c.entry + `}`)
			if code != http.StatusAccepted {
				t.Fatalf("%d %s", code, answer)
			}
			r.until(at(0, 7, 45))
			r.wantSaid("", ofWindows...)
			kept, err := r.svc.store.Readings(t.Context(), store.Query{From: monday.Add(-24 * time.Hour)})
			if err != nil || len(kept) != 1 {
				t.Fatalf("%d readings kept, %v", len(kept), err)
			}
			if !slices.ContainsFunc(kept[0].Flags, func(f sensors.Flag) bool { return f.Fault == c.fault }) {
				t.Errorf("flags %v, want %q", kept[0].Flags, c.fault)
			}
			if kept[0].Raw == "" {
				t.Error("the reading as it came was not kept")
			}
			r.healthSays("booth: doubtful readings in the last hour, kept and not used: 1")
			if c.fault != sensors.PowerOn { // the air is known, the surface is not
				r.healthSays("booth is unknown")
			}
		})
	}
}

// TestDoubtByMessage: what a device publishes that is no measurement is kept as
// it came and opens nothing.
func TestDoubtByMessage(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		payload string
		fault   sensors.Fault
	}{
		{`{"air": nan, "humidity": 40, "surface": 20}`, sensors.NotANumber},
		{`{"air": 1e999, "humidity": 40, "surface": 20}`, sensors.NotANumber},
		{`{"humidity": 40, "surface": 20}`, sensors.Missing},
		{`{"air": 20, "humidity": 40, "surf`, sensors.Unreadable},
		{``, sensors.Unreadable},
		{"\xff\xfe", sensors.Unreadable},
	} {
		r := play(t, "two coats", "every: 10 min", "every: 10 min\n    topic: yard/booth")
		r.forecast("a.csv", monday, dry)
		r.until(at(0, 7, 30))
		message := bus.Arrival{Topic: "yard/booth", Payload: []byte(c.payload), Stored: r.clock.Now()}
		if err := r.svc.takeMessages(t.Context(), []bus.Arrival{message}); err != nil {
			t.Errorf("%q: %v", c.payload, err)
		}
		r.until(at(0, 7, 40))
		r.wantSaid("", ofWindows...)
		kept, err := r.svc.store.Readings(t.Context(), store.Query{From: monday})
		if err != nil || len(kept) != 1 || !slices.ContainsFunc(kept[0].Flags, func(f sensors.Flag) bool { return f.Fault == c.fault }) {
			t.Errorf("%q: kept %+v, %v, want it with %q", c.payload, kept, err, c.fault)
		}
	}
}

// TestDoubtStuck: an instrument that says the same for hours is believed no
// longer, and what it opened is shut.
func TestDoubtStuck(t *testing.T) {
	t.Parallel()
	r := play(t, "two coats")
	r.forecast("a.csv", monday, dry)
	same := `"air": 20.00, "humidity": 40.00, "surface": 20`
	r.post(same)
	r.during(at(0, 13, 0), func() { r.post(same) })
	r.wantSaid(`
		Mon 07:00 window_opens first
		Mon 12:00 window_closed first`, ofWindows...)
	r.healthSays("booth is unknown: no good air temperature from air just now: stuck")
}

// TestMeasuredCountsAtOnce: what was just measured is what a place's page shows,
// although the clock has gone on between the page's look at it and the service's.
func TestMeasuredCountsAtOnce(t *testing.T) {
	t.Parallel()
	r := play(t, "two coats")
	r.until(at(0, 7, 2))
	if past, err := r.svc.Past(t.Context(), "booth", at(0, 6, 0), r.clock.Now()); err != nil || len(past) != 0 {
		t.Errorf("nothing was heard yet: %+v, %v", past, err)
	}
	r.post(`"air": 20, "humidity": 40, "surface": 19`)
	for _, c := range []struct {
		after time.Duration
		shown int
	}{{0, 1}, {time.Second, 1}, {time.Hour, 0}} {
		asked := r.clock.Now()
		r.clock.Advance(c.after)
		past, err := r.svc.Past(t.Context(), "booth", at(0, 6, 0), asked)
		if err != nil || len(past) != c.shown {
			t.Errorf("%v after the page looked at the clock: %+v, %v, want %d moments", c.after, past, err, c.shown)
		} else if c.shown > 0 && past[0].Coldest != 19 {
			t.Errorf("%v after the page looked at the clock the hull is at %v, want 19", c.after, past[0].Coldest)
		}
	}
}

// TestPostedTwice: an entry with its own time counts once however often it comes;
// one without is kept and marked as a possible repeat. What cannot be read is
// refused by name, and the rest of the batch is taken in.
func TestPostedTwice(t *testing.T) {
	t.Parallel()
	r := play(t, "two coats")
	timed := `{"source": "air", "time": "2026-05-04T06:00:00Z", "values": {"air": 20}}`
	for range 3 {
		if code, answer := r.send(timed); code != http.StatusAccepted {
			t.Fatalf("%d %s", code, answer)
		}
	}
	r.clock.Advance(time.Minute)
	for range 2 {
		if code, answer := r.send(`{"source": "air", "values": {"air": 21}}`); code != http.StatusAccepted {
			t.Fatalf("%d %s", code, answer)
		}
		r.clock.Advance(time.Second)
	}
	code, answer := r.send(`[{"source": "air", "time": "2026-05-04T06:02:00", "values": {"air": 20}}, {"source": "air", "values": {"air": 22}}]`)
	if code != http.StatusAccepted || !strings.Contains(answer, `"accepted":1`) || !strings.Contains(answer, `"field":"time"`) {
		t.Errorf("%d %s", code, answer)
	}
	kept, err := r.svc.store.Readings(t.Context(), store.Query{From: monday.Add(-time.Hour)})
	if err != nil || len(kept) != 4 {
		t.Fatalf("%d readings kept, want 4; %v", len(kept), err)
	}
	if f := kept[2].Flags; len(f) != 1 || f[0].Fault != sensors.Repeated {
		t.Errorf("the second of two equal ones is flagged %v", f)
	}
}

// TestGarbageNeverOpens: whatever an instrument sends, a window opens only when
// its last word on each value is good and within the card, judged here from the
// numbers that were sent.
func TestGarbageNeverOpens(t *testing.T) {
	t.Parallel()
	r := play(t, "two coats")
	r.forecast("a.csv", monday, dry)
	r.until(at(0, 6, 10))
	r.halt() // played by hand from here: nothing runs beside
	r = reopened(t, r)
	svc := r.svc
	opened := 0
	rapid.Check(t, func(rt *rapid.T) {
		clock := clockwork.NewFakeClockAt(at(0, 7, 5))
		svc.clock = clock
		svc.watch = watches{by: map[string]*watch{}, fresh: map[string]bool{}}
		svc.facts.readings = nil
		last := map[conditions.Variable]float64{}
		for range rapid.IntRange(1, 12).Draw(rt, "readings") {
			clock.Advance(time.Duration(rapid.IntRange(1, 10).Draw(rt, "minutes")) * time.Minute)
			now := clock.Now()
			reading := sensors.Reading{Source: "air", Place: "booth", Received: now, At: now, Values: map[conditions.Variable]float64{}}
			for v, in := range map[conditions.Variable][2]float64{
				conditions.AirTemperature: {8, 30}, conditions.RelHumidity: {20, 90}, conditions.Surface: {8, 30},
			} {
				switch rapid.SampledFrom([]string{"good", "good", "good", "missing", "garbage"}).Draw(rt, string(v)) {
				case "good":
					reading.Values[v] = math.Round(rapid.Float64Range(in[0], in[1]).Draw(rt, "value")*10) / 10
				case "garbage":
					reading.Values[v] = rapid.SampledFrom([]float64{math.NaN(), math.Inf(1), -127, 85, 200, 104, 1e300}).Draw(rt, "garbage")
				}
			}
			offset := rapid.SampledFrom([]time.Duration{0, 0, 0, -5 * time.Hour, time.Hour}).Draw(rt, "clock off")
			reading.At, reading.FromDevice = now.Add(offset), offset != 0
			reading.Key = sensors.Key(reading, fmt.Sprint(now.UnixNano(), opened, rt.Name()))
			if offset == 0 {
				for v, x := range reading.Values {
					last[v] = x
				}
			}
			svc.cycle.asked = time.Time{} // nobody is going to plan
			before := len(svc.watch.by[string(ofWindow)+" "+first.String()].known())
			if err := svc.TakeReadings(t.Context(), []sensors.Reading{reading}); err != nil {
				rt.Fatal(err)
			}
			if now := len(svc.watch.by[string(ofWindow)+" "+first.String()].known()); now == 0 || before > 0 {
				continue
			}
			opened++
			if why := shut(last); why != "" {
				rt.Fatalf("a window opened although %s: %v", why, last)
			}
		}
	})
	if opened == 0 {
		t.Error("no window ever opened: the test shows nothing")
	}
}

// known is what people know of a watch; nothing of none.
func (w *watch) known() map[string]notify.Known {
	if w == nil || !w.Gate.Open {
		return nil
	}
	return w.Known
}

// shut tells what of the test card's limits the values break, by other code than
// the guard's.
func shut(v map[conditions.Variable]float64) string {
	air, hasAir := v[conditions.AirTemperature]
	humidity, hasHumidity := v[conditions.RelHumidity]
	surface, hasSurface := v[conditions.Surface]
	switch {
	case !hasAir || !hasHumidity || !hasSurface:
		return "something was never measured"
	case !(air >= 10 && air <= 60):
		return "the air"
	case !(humidity >= 1 && humidity <= 80):
		return "the humidity"
	case !(surface >= 12 && surface <= 28):
		return "the surface"
	case surface-float64(conditions.DewPoint(unit.Temperature(air), unit.Humidity(humidity))) < 3-1e-6:
		return "the margin"
	}
	return ""
}

// reopened is the rig's service opened again and not run, with its guard ready.
func reopened(t *testing.T, r *rig) *rig {
	t.Helper()
	svc, err := New(t.Context(), r.options())
	if err != nil {
		t.Fatal(err)
	}
	r.svc = svc
	t.Cleanup(func() {
		if err := svc.Close(context.Background()); err != nil {
			t.Error(err)
		}
	})
	if err := svc.plan(t.Context()); err != nil {
		t.Fatal(err)
	}
	return r
}
